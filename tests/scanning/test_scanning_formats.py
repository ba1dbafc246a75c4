"""A symbol in every kind of file, colour model and depth, written by a real encoder, is read back where it stands."""

import io

import cv2
import numpy as np
import pytest
from PIL import ExifTags, Image, ImageCms

from tracelabels.scanning import load_pictures, scan_picture

LEFT, TOP, PX = 60, 20, 5


@pytest.fixture
def shown(payload, symbol_of, drawn):
    """Grey levels with the symbol of a number, not in the middle; as deep or as flat as asked."""

    def make(number=1, *, dark=30, light=230):
        symbol = drawn(symbol_of(payload(number)).modules, px=PX, margin=4, dark=dark, light=light)
        grey = np.full((180, 260), light, dtype=np.uint8)
        grey[TOP : TOP + symbol.shape[0], LEFT : LEFT + symbol.shape[1]] = symbol
        return grey

    return make


@pytest.fixture
def read(today):
    """Return for each page what was read: (text, how, top left corner)."""

    def make(content):
        scans = [scan_picture(page, today=today, budget_ms=20_000.0) for page in load_pictures(content)]
        return [[(one.text, one.how, one.corners[0]) for one in scan.readings] for scan in scans]

    return make


def saved(image, kind, **options):  # noqa: ANN003  whatever the encoder of that kind takes
    stream = io.BytesIO()
    image.save(stream, format=kind, **options)
    return stream.getvalue()


def heic(*images, **options):  # noqa: ANN002, ANN003  the library's own
    library = pytest.importorskip("pillow_heif")
    stream = io.BytesIO()
    first, *rest = images
    file = library.from_pillow(first)
    for one in rest:
        file.add_from_pillow(one)
    file.save(stream, quality=90, **options)
    return stream.getvalue()


def heic_of_sixteen_bits(grey):
    library = pytest.importorskip("pillow_heif")
    deep = np.repeat((grey.astype(np.uint16) * 256)[..., None], 3, axis=2)
    stream = io.BytesIO()
    file = library.from_bytes(mode="RGB;16", size=grey.shape[::-1], data=deep.tobytes())
    file.save(stream, quality=90)
    return stream.getvalue()


def by_opencv(kind, values):
    return cv2.imencode(kind, values)[1].tobytes()


def lab(grey):
    profiles = ImageCms.createProfile("sRGB"), ImageCms.createProfile("LAB")
    return ImageCms.applyTransform(
        Image.fromarray(grey).convert("RGB"), ImageCms.buildTransform(*profiles, "RGB", "LAB")
    )


def clear_but_for(grey, level):
    """A picture of one level that is seen through wherever the symbol is light."""
    rgba = np.full((*grey.shape, 4), level, dtype=np.uint8)
    rgba[..., 3] = np.where(grey < 128, 255, 0)
    return Image.fromarray(rgba, "RGBA")


def colours(grey):
    return Image.fromarray(grey).convert("RGB")


def deep(grey, factor, *, order="<"):
    return Image.fromarray((grey.astype(np.uint16) * factor).astype(f"{order}u2"))


def with_stray_pixels(grey):
    levels = grey.astype(np.uint16) * 4
    levels[::60, ::60] = 65_535
    return Image.fromarray(levels)


def deep_colours(grey, factor):
    return np.repeat((grey.astype(np.uint16) * factor)[..., None], 3, axis=2)


FILES = {
    "CMYK JPEG, inverted as Adobe has it": lambda grey: saved(colours(grey).convert("CMYK"), "JPEG"),
    "CMYK TIFF": lambda grey: saved(colours(grey).convert("CMYK"), "TIFF"),
    "LAB TIFF": lambda grey: saved(lab(grey), "TIFF"),
    "YCbCr TIFF": lambda grey: saved(colours(grey).convert("YCbCr"), "TIFF"),
    "JPEG in TIFF": lambda grey: saved(colours(grey), "TIFF", compression="jpeg"),
    "grey PNG of 12 bits in 16": lambda grey: saved(deep(grey, 16), "PNG"),
    "grey TIFF of 10 bits in 16": lambda grey: saved(deep(grey, 4), "TIFF"),
    "grey TIFF of 16 bits, high byte first": lambda grey: saved(deep(grey, 256, order=">"), "TIFF"),
    "grey PNG of 10 bits in 16 with stray pixels": lambda grey: saved(with_stray_pixels(grey), "PNG"),
    "floating point TIFF": lambda grey: saved(Image.fromarray(grey.astype(np.float32) / 255), "TIFF"),
    "colour PNG of 16 bits": lambda grey: by_opencv(".png", deep_colours(grey, 256)),
    "colour TIFF of 16 bits": lambda grey: by_opencv(".tiff", deep_colours(grey, 256)),
    "palette PNG": lambda grey: saved(colours(grey).quantize(8), "PNG"),
    "palette PNG, dark seen through": lambda grey: saved(colours(grey).quantize(2), "PNG", transparency=0),
    "palette BMP": lambda grey: saved(colours(grey).quantize(2), "BMP"),
    "RGBA PNG of a screen": lambda grey: saved(colours(grey).convert("RGBA"), "PNG"),
    "dark on clear WebP": lambda grey: saved(clear_but_for(grey, 0), "WEBP", lossless=True),
    "black and white TIFF of a fax": lambda grey: saved(
        Image.fromarray(grey > 128), "TIFF", compression="group4"
    ),
    "HEIC": lambda grey: heic(colours(grey)),
    "HEIC of more than 8 bits": heic_of_sixteen_bits,
    "HEIC with a second picture": lambda grey: heic(Image.fromarray(grey), Image.fromarray(255 - grey)),
    "JPEG with a second picture": lambda grey: saved(
        colours(grey), "MPO", save_all=True, append_images=[colours(255 - grey)]
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", FILES)
def test_a_symbol_is_read_plainly_from(name, shown, read, payload):
    [[(text, how, (x, y))]] = read(FILES[name](shown()))
    assert (text, how) == (payload(1).text, "plain")
    assert abs(x - LEFT - 4 * PX) <= 2
    assert abs(y - TOP - 4 * PX) <= 2


@pytest.mark.parametrize("kind", ["PNG", "TIFF"])
def test_colours_of_ten_bits_in_sixteen_are_read_though_few_levels_are_left(kind, shown, read, payload):
    [[(text, *_)]] = read(by_opencv(f".{kind.lower()}", deep_colours(shown(), 4)))
    assert text == payload(1).text


@pytest.mark.parametrize("kind", ["JPEG", "HEIC", "deep TIFF"])
def test_a_turned_picture_is_read_where_it_stands_upright(kind, orientation, stored_as, shown, read, payload):
    stored = stored_as(shown())
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = orientation
    match kind:
        case "JPEG":
            content = saved(colours(stored), "JPEG", exif=exif)
        case "HEIC":
            content = heic(colours(stored), exif=exif.tobytes())
        case _:
            content = saved(deep(stored, 16, order=">"), "TIFF", exif=exif)
    [[(text, how, (x, y))]] = read(content)
    assert (text, how) == (payload(1).text, "plain")
    assert abs(x - LEFT - 4 * PX) <= 2
    assert abs(y - TOP - 4 * PX) <= 2


@pytest.mark.parametrize("mode", ["RGB", "RGBA", "P"])
@pytest.mark.parametrize("kind", ["GIF", "WEBP", "PNG", "TIFF"])
def test_every_frame_is_read(kind, mode, shown, read, payload):
    first, *rest = [Image.fromarray(shown(number)).convert(mode) for number in (1, 2, 3)]
    pages = read(saved(first, kind, save_all=True, append_images=rest))
    assert [[text for text, *_ in page] for page in pages] == [[payload(number).text] for number in (1, 2, 3)]


def test_pages_of_different_size_depth_and_colour_are_read(shown, read, payload):
    grey = shown(2)
    others = [colours(np.pad(grey, 40, constant_values=230)), Image.fromarray(grey > 128), deep(shown(3), 16)]
    pages = read(saved(Image.fromarray(shown(1)), "TIFF", save_all=True, append_images=others))
    assert [[text for text, *_ in page] for page in pages] == [[payload(number).text] for number in (1, 2, 2, 3)]
