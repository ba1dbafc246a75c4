"""Every kind of file becomes the same upright grey picture; whatever is wrong is one sentence."""

import io
import struct
import sys
from pathlib import Path

import numpy as np
import pytest
from PIL import ExifTags, Image

from tracelabels.errors import PictureError
from tracelabels.lengths import Dots, Mm
from tracelabels.paper import Paper
from tracelabels.scanning import PictureLimits, load_pictures
from tracelabels.scanning.signatures import FileKind, find_kind

EXPECTED = "a photograph as JPEG, PNG, WebP, TIFF, GIF, BMP or HEIC, or a PDF page"
ANY = f"{EXPECTED}, or a clip as MP4, MOV, MKV, WebM or AVI"


def scene():
    """A picture without symmetry: a dark corner, a grey bar, on light."""
    grey = np.full((40, 64), 230, dtype=np.uint8)
    grey[4:16, 4:24] = 20
    grey[30:36, 10:60] = 120
    return grey


def saved(image, kind, **options):  # noqa: ANN003  whatever the encoder of that kind takes
    stream = io.BytesIO()
    image.save(stream, format=kind, **options)
    return stream.getvalue()


def load_one(content):
    [picture] = load_pictures(content)
    return picture


def nearly(grey, expected, tolerance):
    assert grey.shape == expected.shape
    assert np.abs(grey.astype(int) - expected).max() <= tolerance


@pytest.mark.parametrize(
    ("kind", "options", "tolerance"),
    [
        ("PNG", {}, 0),
        ("BMP", {}, 0),
        ("TIFF", {}, 0),
        ("GIF", {}, 0),
        ("WEBP", {"lossless": True}, 0),
        ("JPEG", {"quality": 95}, 12),
    ],
)
@pytest.mark.parametrize("mode", ["L", "RGB"])
def test_each_format(kind, options, tolerance, mode):
    content = saved(Image.fromarray(scene()).convert(mode), kind, **options)
    assert find_kind(content[:1024]) == FileKind(kind)
    nearly(load_one(content).grey, scene(), tolerance)


@pytest.mark.parametrize(
    ("mode", "kind", "tolerance"),
    [
        ("CMYK", "TIFF", 1),
        ("CMYK", "JPEG", 14),
        ("P", "PNG", 3),
        ("LA", "PNG", 0),
        ("RGBA", "PNG", 0),
        ("LAB", "TIFF", 2),
    ],
)
def test_each_colour_model(mode, kind, tolerance):
    rgb = Image.fromarray(scene()).convert("RGB")
    if mode == "LAB":  # L* of a grey of 8 bits: the band itself is what is kept
        lightness, neutral = Image.fromarray(scene()), Image.new("L", rgb.size, 128)
        image = Image.merge("LAB", [lightness, neutral, neutral])
    elif mode == "P":
        image = rgb.convert("P", palette=Image.Palette.ADAPTIVE)
    else:
        image = rgb.convert(mode)
    options = {"quality": 95} if kind == "JPEG" else {}
    nearly(load_one(saved(image, kind, **options)).grey, scene(), tolerance)


def test_black_and_white():
    grey = np.where(scene() > 128, 255, 0).astype(np.uint8)
    nearly(load_one(saved(Image.fromarray(grey).convert("1"), "PNG")).grey, grey, 0)


@pytest.mark.parametrize("kind", ["PNG", "TIFF"])
def test_sixteen_bits_are_scaled_to_the_lightest(kind):
    deep = scene().astype(np.uint16) * 16  # a camera of 12 bits
    expected = np.floor(scene() / 230 * 255)
    nearly(load_one(saved(Image.fromarray(deep), kind)).grey, expected, 1)


def test_tall_pictures_are_converted_to_their_end():
    tall = np.kron(scene(), np.ones((30, 1), dtype=np.uint8))  # 1,200 rows
    nearly(load_one(saved(Image.fromarray(tall.astype(np.uint16) * 256), "PNG")).grey, np.floor(tall / 230 * 255), 1)
    seen_through = Image.fromarray(tall).convert("RGBA")
    seen_through.putpixel((0, 0), (0, 0, 0, 0))
    tall[0, 0] = 255
    nearly(load_one(saved(seen_through, "PNG")).grey, tall, 0)


def test_transparent_parts_stand_on_white():
    colours = np.zeros((8, 8, 4), dtype=np.uint8)  # black, all transparent
    colours[2:6, 2:6, 3] = 255
    grey = load_one(saved(Image.fromarray(colours, "RGBA"), "PNG")).grey
    assert grey[0, 0] == 255
    assert grey[3, 3] == 0


@pytest.mark.parametrize(("kind", "tolerance"), [("PNG", 0), ("TIFF", 0), ("WEBP", 0), ("JPEG", 12)])
def test_exif_turns_the_picture_upright(orientation, stored_as, kind, tolerance):
    stored = stored_as(scene())
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = orientation
    options = {"JPEG": {"quality": 95}, "WEBP": {"lossless": True}}.get(kind, {})
    nearly(load_one(saved(Image.fromarray(stored), kind, exif=exif, **options)).grey, scene(), tolerance)


def test_broken_exif_does_not_cost_the_picture():
    exif = b"Exif\x00\x00II*\x00\xff\xff\xff\xff" + b"\x99" * 40
    nearly(load_one(saved(Image.fromarray(scene()), "JPEG", quality=95, exif=exif)).grey, scene(), 12)


@pytest.mark.parametrize("kind", ["TIFF", "GIF", "PNG", "WEBP"])
def test_each_page_and_frame(kind):
    frames = [np.full((40, 64), level, dtype=np.uint8) for level in (30, 130, 230)]
    first, *rest = [Image.fromarray(frame) for frame in frames]
    options = {"lossless": True} if kind == "WEBP" else {}
    content = saved(first, kind, save_all=True, append_images=rest, **options)
    pages = list(load_pictures(content))
    assert [page.page for page in pages] == [1, 2, 3]
    for page, frame in zip(pages, frames, strict=True):
        nearly(page.grey, frame, 1)


def test_each_page_of_a_pdf():
    paper = Paper(width=Mm(50.8), height=Mm(25.4), dpi=300, title="pages")
    for left in (60, 360):
        paper.begin_page()
        paper.symbol(np.ones((1, 1), dtype=bool), left=Dots(left), top=Dots(60), x=Dots(118))
    first, second = load_pictures(paper.finish(), limits=PictureLimits(pdf_dpi=150))
    assert (first.page, second.page) == (1, 2)
    assert first.grey.shape == second.grey.shape == (150, 300)
    assert first.grey[:, :150].min() < 128 <= first.grey[:, 150:].min()
    assert second.grey[:, 150:].min() < 128 <= second.grey[:, :150].min()


def test_heic_where_the_library_is_there():
    library = pytest.importorskip("pillow_heif")
    stream = io.BytesIO()
    library.from_pillow(Image.fromarray(np.kron(scene(), np.ones((4, 4), dtype=np.uint8)))).save(stream, quality=95)
    nearly(load_one(stream.getvalue()).grey[2::4, 2::4], scene(), 12)


def test_heic_where_the_library_is_not_there(monkeypatch):
    monkeypatch.setitem(sys.modules, "pillow_heif", None)
    assert sentence(b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic", name="IMG.HEIC") == (
        "IMG.HEIC is a HEIC picture, and the library that reads those is not installed; expected JPEG, PNG, WebP, "
        'TIFF, GIF, BMP or a PDF page; set the phone\'s camera to "most compatible" (JPEG), or install the "heic" extra'
    )


@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
def test_very_large_pictures_are_halved_and_say_so(kind):
    content = saved(Image.fromarray(np.kron(scene(), np.ones((2, 2), dtype=np.uint8))), kind)
    [picture] = load_pictures(content, limits=PictureLimits(halve_above=64 * 40 * 4 - 1))
    assert picture.reduction == 2
    nearly(picture.grey, scene(), 12)


def test_a_file_has_its_own_name(tmp_path):
    path = tmp_path / "pouch.png"
    path.write_bytes(saved(Image.fromarray(scene()), "PNG"))
    [picture] = load_pictures(path)
    assert picture.name == "pouch.png"


def test_standard_input(monkeypatch):
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(saved(Image.fromarray(scene()), "PNG"))))
    [picture] = load_pictures(Path("-"))
    assert picture.name == "standard input"
    nearly(picture.grey, scene(), 0)


def sentence(content, **options):  # noqa: ANN003  the loader's own
    with pytest.raises(PictureError) as caught:
        list(load_pictures(content, **options))
    return str(caught.value)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", f"list.png is empty (0 bytes); expected {EXPECTED}; save or send it again"),
        (b"product,item,lot\nRosehip,4711,R1\n", f"list.png is a text file; expected {ANY}; choose another file"),
        (
            b"\x00\x01\x02\x99" * 40,
            f"list.png is not a picture of a kind that can be read; expected {ANY}; choose another file",
        ),
        (b"\x89PNG\r\n\x1a\nrubbish", f"list.png is broken; expected {EXPECTED}; save or send it again"),
        (b"%PDF-1.7\nrubbish", None),
        (
            b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic",
            None,
        ),
    ],
)
def test_what_is_no_picture(content, words):
    told = sentence(content, name="list.png")
    assert told.startswith("list.png")
    assert words is None or told == words


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "TIFF", "GIF", "BMP"])
@pytest.mark.parametrize("share", [0.5, 0.9])
def test_a_truncated_picture_is_called_so(kind, share):
    rng = np.random.default_rng(7)
    content = saved(Image.fromarray(rng.integers(0, 256, (120, 160), dtype=np.uint8)), kind)
    told = sentence(content[: int(len(content) * share)], name="cut")
    assert told == "cut breaks off before its end (truncated); expected the whole file; copy or send it again"


def test_a_missing_file_and_a_folder(tmp_path):
    assert sentence(tmp_path / "none.jpg") == f"none.jpg is not there; expected {EXPECTED}; check the name"
    assert sentence(tmp_path) == f"{tmp_path.name} is a folder; expected {EXPECTED}; check the name"


def test_limits_are_told():
    content = saved(Image.fromarray(scene()), "PNG")
    assert sentence(content, name="big", limits=PictureLimits(pixels=1000)) == (
        "big has 0 million pixels and a side of 64; expected at most 0 million and no side above 32767; "
        "take or scan it at a lower resolution"
    )
    assert sentence(content, name="big", limits=PictureLimits(file_bytes=10)) == (
        "big is larger than 0 MB; expected at most 0 MB; take the photograph with a smaller setting"
    )
    pages = saved(Image.fromarray(scene()), "TIFF", save_all=True, append_images=[Image.fromarray(scene())] * 3)
    assert sentence(pages, name="film", limits=PictureLimits(pages=2)) == (
        "film has more than 2 pages; expected at most 2; split the file"
    )


@pytest.mark.parametrize("kind", ["TIFF", "GIF", "PDF"])
def test_pages_together_are_bounded(kind):
    if kind == "PDF":
        paper = Paper(width=Mm(25.4), height=Mm(25.4), dpi=300, title="pages")
        for _ in range(3):
            paper.begin_page()
        content, pixels = paper.finish(), 300 * 300
    else:
        frames = [Image.fromarray(np.full((40, 64), level, dtype=np.uint8)) for level in (30, 130, 230)]
        content, pixels = saved(frames[0], kind, save_all=True, append_images=frames[1:]), 40 * 64
    pages = load_pictures(content, name="film", limits=PictureLimits(file_pixels=2 * pixels))
    assert [next(pages).page, next(pages).page] == [1, 2]
    with pytest.raises(PictureError) as caught:
        next(pages)
    assert str(caught.value) == (
        "film has more than 0 million pixels in its pages together; expected at most that many; "
        "split the file, or scan it at a lower resolution"
    )


def test_pages_before_a_broken_one_are_yielded():
    first, second = Image.fromarray(scene()), Image.fromarray(255 - scene())
    content = bytearray(saved(first, "TIFF", save_all=True, append_images=[second]))
    [directory] = struct.unpack_from("<I", content, 4)
    entries = struct.unpack_from("<H", content, directory)[0]
    [following] = struct.unpack_from("<I", content, directory + 2 + 12 * entries)
    content[following + 2 : following + 60] = b"\xff" * 58
    pages = load_pictures(bytes(content), name="film")
    assert next(pages).page == 1
    with pytest.raises(PictureError, match=r"^film "):
        next(pages)
