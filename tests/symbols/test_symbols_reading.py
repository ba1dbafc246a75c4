"""Bare reading: what comes back, where it lies, and what is left out on purpose."""

import random

import numpy as np
import pytest
import zxingcpp

from tracelabels.errors import SymbolError
from tracelabels.symbols import (
    PRINTED,
    RawReading,
    ReadEffort,
    Symbology,
    read_symbols,
    write_code_128,
    write_data_matrix,
    write_micro_qr,
    write_qr,
)

GS1_TEXT = "010950110153000310A(B\x1d21123456"


def pasted(symbols, picture_of) -> np.ndarray:
    """Put pictures of symbols side by side on one white sheet."""
    pictures = [picture_of(symbol.modules) for symbol in symbols]
    height = max(len(picture) for picture in pictures)
    return np.hstack([np.pad(one, ((0, height - len(one)), (0, 0)), constant_values=255) for one in pictures])


def test_a_reading_whole(gs1, picture_of):
    assert read_symbols(picture_of(write_data_matrix(gs1(GS1_TEXT)).modules)) == (
        RawReading(
            text=GS1_TEXT,
            data=GS1_TEXT.encode(),
            symbology_identifier="]d2",
            symbology_name="Data Matrix",
            symbology=Symbology.DATA_MATRIX,
            version="18x18",
            corners=((40, 40), (111, 40), (111, 111), (40, 111)),
            unused_error_correction=1.0,
        ),
    )


def test_kinds_are_kept_apart(plain, picture_of):
    text = plain("21004711081")
    symbols = [write_data_matrix(text), write_qr(text), write_micro_qr(text), write_code_128(text)]
    sheet = pasted(symbols, picture_of)
    for symbol in symbols:
        readings = read_symbols(sheet, kinds=frozenset({symbol.symbology}))
        assert [(one.symbology, one.text) for one in readings] == [(symbol.symbology, "21004711081")]
    assert {one.symbology for one in read_symbols(sheet, kinds=PRINTED)} == set(Symbology)


def test_a_kind_that_we_do_not_print_is_read_when_all_are_wanted():
    made = zxingcpp.create_barcode("9501101530003", zxingcpp.BarcodeFormat.EAN13)
    grey = np.asarray(made.to_image(scale=3))
    (reading,) = read_symbols(grey)
    assert (reading.text, reading.symbology, reading.symbology_name) == ("9501101530003", None, "EAN-13")
    assert (reading.version, reading.unused_error_correction) == (None, None)
    assert read_symbols(grey, kinds=PRINTED) == ()


def test_all_kinds_means_the_readers_own_default_and_not_the_list_of_all():
    # Named one by one, the formats include two-digit ITF, which any pattern of bars may hold by chance.
    made = zxingcpp.create_barcode("95", zxingcpp.BarcodeFormat.ITF)
    grey = np.asarray(made.to_image(scale=3))
    everything = zxingcpp.BarcodeFormats(zxingcpp.BarcodeFormat.All)
    assert [one.text for one in zxingcpp.read_barcodes(grey, formats=everything)] == ["95"]
    assert read_symbols(grey) == ()


def test_corners_run_clockwise_from_the_symbols_own_top_left(gs1, picture_of):
    upright = picture_of(write_data_matrix(gs1(GS1_TEXT)).modules)
    for turns, first in enumerate([(40, 40), (40, 111), (111, 111), (111, 40)]):
        (reading,) = read_symbols(np.rot90(upright, turns))
        assert np.abs(np.subtract(reading.corners[0], first)).max() <= 1, turns
        (x0, y0), (x1, y1), (x2, y2), _ = reading.corners
        # In pictures y runs down, so that a positive turn is clockwise.
        assert (x1 - x0) * (y2 - y1) - (y1 - y0) * (x2 - x1) > 0


@pytest.mark.parametrize("kind", Symbology)
def test_a_mirrored_picture_still_has_clockwise_corners(kind, plain, picture_of):
    write = {
        Symbology.DATA_MATRIX: write_data_matrix,
        Symbology.QR: write_qr,
        Symbology.MICRO_QR: write_micro_qr,
        Symbology.CODE_128: write_code_128,
    }[kind]
    mirrored = picture_of(write(plain("21004711081")).modules)[:, ::-1]
    (reading,) = read_symbols(mirrored, kinds=frozenset({kind}))
    (x0, y0), (x1, y1), (x2, y2), _ = reading.corners
    assert (x1 - x0) * (y2 - y1) - (y1 - y0) * (x2 - x1) > 0


def test_efforts_differ_in_what_they_forgive(gs1, picture_of):
    symbol = write_data_matrix(gs1(GS1_TEXT))
    upright = picture_of(symbol.modules)
    inverted = 255 - upright
    assert [len(read_symbols(picture, effort=ReadEffort.DEFAULT)) for picture in (upright, inverted)] == [1, 1]
    assert [len(read_symbols(picture, effort=ReadEffort.PLAIN)) for picture in (upright, inverted)] == [1, 0]
    # A picture of one symbol with its quiet zone alone is enough, one pixel a module.
    (reading,) = read_symbols(picture_of(symbol.modules, pixels=1, margin=1), effort=ReadEffort.PURE)
    assert reading.text == GS1_TEXT


def test_the_pure_effort_is_for_one_symbol_alone(gs1, plain, picture_of):
    pair = pasted([write_data_matrix(gs1(GS1_TEXT)), write_data_matrix(plain("21004711081"))], picture_of)
    assert len(read_symbols(pair, effort=ReadEffort.PLAIN)) == 2
    assert read_symbols(pair, effort=ReadEffort.PURE) == ()


def test_any_view_of_a_picture_is_read_without_copying(gs1, picture_of):
    sheet = np.full((400, 500), 255, dtype=np.uint8)
    picture = picture_of(write_data_matrix(gs1(GS1_TEXT)).modules)
    sheet[50 : 50 + len(picture), 60 : 60 + len(picture)] = picture
    sheet.flags.writeable = False
    for view in (sheet, sheet[40:, 50:], sheet[::-1], sheet.T, np.asfortranarray(sheet)):
        assert [reading.text for reading in read_symbols(view)] == [GS1_TEXT]


def test_damage_shows_in_what_is_left_of_the_correction(gs1, picture_of):
    modules = write_data_matrix(gs1(GS1_TEXT)).modules.copy()
    drawn = random.Random(1)  # noqa: S311  the same draw every time
    for _ in range(8):
        row, column = drawn.randrange(3, 15), drawn.randrange(3, 15)
        modules[row, column] = not modules[row, column]
    (reading,) = read_symbols(picture_of(modules))
    assert reading.text == GS1_TEXT
    assert 0 <= reading.unused_error_correction < 1


@pytest.mark.parametrize("text", ["Größe 2 µL", "Привет", "日本語", "a<GS>b", "(01)12", "\\x1d"])
def test_texts_of_other_people_come_as_they_are(text, plain, picture_of):
    for write in (write_data_matrix, write_qr):
        (reading,) = read_symbols(picture_of(write(plain(text)).modules), kinds=PRINTED)
        assert reading.text == text


@pytest.mark.parametrize(
    ("array", "given"),
    [
        (np.zeros((4, 4, 3), dtype=np.uint8), "an array of shape (4, 4, 3) and type uint8"),
        (np.zeros((4, 4), dtype=np.float64), "an array of shape (4, 4) and type float64"),
        (np.zeros((0, 4), dtype=np.uint8), "an array of shape (0, 4) and type uint8"),
    ],
)
def test_what_is_no_grey_picture_is_refused(array, given):
    with pytest.raises(SymbolError) as refused:
        read_symbols(array)
    assert str(refused.value) == (
        f"{given}; expected a grey picture of shape (height, width) and type uint8 that is not empty; "
        "convert the picture to grey first"
    )


def test_a_tiny_or_blank_picture_reads_as_nothing():
    for shape in ((1, 1), (1, 500), (3, 3), (200, 200)):
        for level in (0, 128, 255):
            picture = np.full(shape, level, dtype=np.uint8)
            assert [read_symbols(picture, effort=effort) for effort in ReadEffort] == [(), (), ()]
