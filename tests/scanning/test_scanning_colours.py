"""Prints whose luma shows nothing are read in the channel that shows them, and plain pictures pay nothing for it."""

import io
from dataclasses import replace

import numpy as np
import pytest
from PIL import ExifTags, Image

from tracelabels.scanning import Picture, PictureLimits, load_pictures, scan_picture
from tracelabels.symbols import read_symbols

RED, BLUE, GREEN, TEAL = (200, 40, 60), (60, 80, 180), (20, 110, 40), (70, 150, 150)
# ITU-R BT.601: Y = 0.299 R + 0.587 G + 0.114 B.
LUMA = np.array([0.299, 0.587, 0.114])


@pytest.fixture
def printed(payload, symbol_of, drawn):
    """A colour picture of a symbol in an ink on a stock, with even noise like a sensor's."""

    def make(ink, stock):
        dark = drawn(symbol_of(payload(1)).modules, px=6, margin=14)[..., None] < 128
        rng = np.random.default_rng(8)
        levels = np.where(dark, ink, stock) + rng.normal(0.0, 3.0, (*dark.shape[:2], 3))
        return Image.fromarray(np.clip(levels, 0, 255).astype(np.uint8))

    return make


def saved(image, kind="JPEG", **options):  # noqa: ANN003  the encoder's own
    stream = io.BytesIO()
    image.save(stream, format=kind, **options)
    return stream.getvalue()


@pytest.mark.parametrize(
    ("ink", "stock", "how"),
    [
        (RED, BLUE, "red channel"),
        ((200, 110, 40), TEAL, "red channel"),
        ((90, 90, 250), (112, 112, 20), "blue channel"),
        ((140, 60, 160), (120, 110, 20), "blue channel"),
    ],
)
@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
def test_colours_of_one_luma_are_told_apart(ink, stock, how, kind, printed, payload, today):
    assert abs((np.array(ink) - stock) @ LUMA) < 10
    [picture] = load_pictures(saved(printed(ink, stock), kind))
    assert read_symbols(picture.grey) == ()
    [reading] = scan_picture(picture, today=today, budget_ms=20_000.0).readings
    assert (reading.text, reading.how) == (payload(1).text, how)


@pytest.mark.parametrize(
    ("ink", "stock"),
    [((30, 30, 30), (235, 235, 235)), ((50, 46, 30), (205, 190, 120)), ((30, 60, 30), (160, 200, 160))],
)
def test_a_print_that_the_luma_shows_has_no_better_channel(ink, stock, printed):
    [picture] = load_pictures(saved(printed(ink, stock)))
    assert list(picture.other_greys()) == []


@pytest.mark.parametrize("kind", ["PNG", "WEBP"])
def test_white_on_clear_is_read_on_black(kind, printed, payload, today):
    grey = np.asarray(printed((0, 0, 0), (255, 255, 255)).convert("L"))
    clear = np.full((*grey.shape, 4), 255, dtype=np.uint8)
    clear[..., 3] = np.where(grey < 128, 255, 0)
    [picture] = load_pictures(saved(Image.fromarray(clear, "RGBA"), kind, lossless=True))
    [reading] = scan_picture(picture, today=today).readings
    assert (reading.text, reading.how) == (payload(1).text, "on black")


def test_a_screen_that_hides_nothing_is_not_laid_on_black(printed):
    [picture] = load_pictures(saved(printed((0, 0, 0), (255, 255, 255)).convert("RGBA"), "PNG"))
    assert list(picture.other_greys()) == []


def asked_too_early():
    pytest.fail("another grey was asked for")


def test_a_plain_reading_asks_for_no_other_grey(printed, today):
    grey = np.asarray(printed((0, 0, 0), (255, 255, 255)).convert("L"))
    picture = Picture(grey=grey, name="plain", page=1, other_greys=asked_too_early)
    assert [one.how for one in scan_picture(picture, today=today).readings] == ["plain"]


def test_no_other_grey_is_asked_for_after_the_budget(printed, today):
    [picture] = load_pictures(saved(printed(RED, BLUE)))
    late = replace(picture, other_greys=asked_too_early)
    assert scan_picture(late, today=today, budget_ms=0.0).readings == ()


@pytest.mark.parametrize("mode", ["1", "L", "I;16", "F"])
def test_what_has_no_colours_has_no_other_greys(mode):
    image = Image.fromarray(np.full((16, 16), 200, dtype=np.uint16)) if mode == "I;16" else Image.new(mode, (16, 16), 1)
    [picture] = load_pictures(saved(image, "TIFF"))
    assert picture.other_greys is None


@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
def test_other_greys_lie_as_the_picture_does(kind, printed, stored_as, orientation):
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = orientation
    upright = np.asarray(printed(RED, BLUE))[:150, :, :]
    stored = np.stack([stored_as(upright[..., channel]) for channel in range(3)], axis=-1)
    content = saved(Image.fromarray(stored), kind, exif=exif)
    [picture] = load_pictures(content)
    other = next(picture.other_greys())
    assert other.grey.shape == picture.grey.shape
    assert np.abs(other.grey - upright[..., 0].astype(int)).mean() < 16  # edges, smeared by JPEG's halved colours


def test_other_greys_of_a_very_big_photograph_are_halved_too(printed):
    content = saved(printed(RED, BLUE))
    [picture] = load_pictures(content, limits=PictureLimits(halve_above=1000))
    assert picture.reduction == 2
    assert next(picture.other_greys()).grey.shape == picture.grey.shape


def test_a_very_big_picture_that_no_decoder_halves_is_not_decoded_twice(printed):
    [picture] = load_pictures(saved(printed(RED, BLUE), "PNG"), limits=PictureLimits(halve_above=1000))
    assert (picture.reduction, picture.other_greys) == (2, None)


def test_each_page_has_its_own_other_greys(printed):
    pages = load_pictures(
        saved(printed(RED, BLUE), "TIFF", save_all=True, append_images=[printed(GREEN, (90, 70, 200))])
    )
    first, second = [next(page.other_greys()) for page in pages]
    assert (first.name, second.name) == ("red channel", "blue channel")


def test_a_file_that_is_gone_gives_no_other_greys(printed, tmp_path):
    path = tmp_path / "tray.jpg"
    path.write_bytes(saved(printed(RED, BLUE)))
    [picture] = load_pictures(path)
    path.unlink()
    assert list(picture.other_greys()) == []


def test_a_coloured_dot_smaller_than_a_symbol_has_no_other_greys():
    levels = np.full((128, 128, 3), 112, dtype=np.uint8)
    levels[57:61, 57:61] = (250, 60, 40)
    [picture] = load_pictures(saved(Image.fromarray(levels), "PNG"))
    assert list(picture.other_greys()) == []
