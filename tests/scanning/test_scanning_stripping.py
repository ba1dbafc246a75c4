"""What is left of a photograph that is kept: its pixels, and how it is turned; nothing of place, time or camera."""

import io

import numpy as np
import pytest
from PIL import Image, ImageOps

from tracelabels.errors import PictureError
from tracelabels.scanning import strip_picture

SECRETS = (b"Harbour Lane 7", b"Pocket Camera 9", b"a comment about Odile", b"behind the end", b"ThumbThumbThumb")


def pixels(content: bytes) -> np.ndarray:
    with Image.open(io.BytesIO(content)) as image:
        return np.asarray(image)


def photograph(kind: str, *, orientation: int = 1, mode: str = "RGB", **options: object) -> bytes:
    rng = np.random.default_rng(7)
    grey = Image.fromarray(rng.integers(0, 255, (48, 64), dtype=np.uint8)).resize((192, 144))
    image = grey.convert(mode)
    exif = Image.Exif()
    exif[0x010E] = SECRETS[0].decode()
    exif[0x0110] = SECRETS[1].decode()
    exif[0x0112] = orientation
    exif.get_ifd(0x8825)[2] = (48.0, 12.0, 30.0)  # GPS latitude
    written = io.BytesIO()
    image.save(written, format=kind, exif=exif, **options)
    return written.getvalue()


@pytest.mark.parametrize("options", [{}, {"progressive": True}, {"restart_marker_blocks": 2}, {"mode": "CMYK"}])
@pytest.mark.parametrize("orientation", [1, 6])
def test_a_jpeg_keeps_every_pixel_and_its_turn_and_nothing_else(options, orientation):
    before = photograph("JPEG", orientation=orientation, comment=SECRETS[2], **options)
    thumbnail = b"JFXX\x00\x10" + SECRETS[4]
    before = before[:2] + b"\xff\xe0" + (len(thumbnail) + 2).to_bytes(2) + thumbnail + before[2:] + SECRETS[3]
    assert all(secret in before for secret in SECRETS)
    after = strip_picture(before, name="a.jpg")
    assert after.media_type == "image/jpeg"
    assert not [secret for secret in SECRETS if secret in after.content]
    assert np.array_equal(pixels(after.content), pixels(before))
    with Image.open(io.BytesIO(after.content)) as image:
        assert dict(image.getexif()) == ({} if orientation == 1 else {0x0112: orientation})


@pytest.mark.parametrize("kind", ["PNG", "WEBP", "TIFF"])
def test_other_kinds_become_upright_png_with_the_same_pixels(kind):
    before = photograph(kind, orientation=6, **({"lossless": True} if kind == "WEBP" else {}))
    after = strip_picture(before, name="a")
    assert after.media_type == "image/png"
    assert not [secret for secret in SECRETS if secret in after.content]
    with Image.open(io.BytesIO(before)) as image:
        assert np.array_equal(pixels(after.content), np.asarray(ImageOps.exif_transpose(image)))
    chunks, at = [], 8  # W3C PNG, 5.3: length, type, data, check
    while at < len(after.content):
        chunks.append(after.content[at + 4 : at + 8])
        at += 12 + int.from_bytes(after.content[at : at + 4])
    assert set(chunks) == {b"IHDR", b"IDAT", b"IEND"}


def test_a_picture_that_breaks_off_is_refused():
    whole = photograph("JPEG")
    for length in (len(whole) // 2, len(whole) - 2):
        with pytest.raises(PictureError, match="breaks off before its end"):
            strip_picture(whole[:length], name="a.jpg")


def test_what_is_no_photograph_or_several_is_refused():
    with pytest.raises(PictureError, match="is no photograph"):
        strip_picture(b"minute,temperature\n0,134", name="log.csv")
    frames = [Image.new("L", (8, 8), grey) for grey in (0, 99)]
    written = io.BytesIO()
    frames[0].save(written, format="TIFF", save_all=True, append_images=frames[1:])
    with pytest.raises(PictureError, match="holds several pictures"):
        strip_picture(written.getvalue(), name="a.tif")
