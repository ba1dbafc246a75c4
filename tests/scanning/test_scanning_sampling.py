"""Sampling at a known place: bent, blurred and half hidden symbols are read, and chance is never taken for a text."""

from math import comb

import cv2
import numpy as np
import pytest

from tracelabels.identifiers import IdentifierMode, Payload
from tracelabels.scanning.sampling import FALSE_CHANCE, SymbolShape, is_allowed, most_erasures, read_sampled
from tracelabels.scanning.sampling.erasing import corrections
from tracelabels.scanning.sampling.fixed_cells import fixed_cells
from tracelabels.scanning.sampling.ideal import find_said
from tracelabels.scanning.sampling.sharpening import Blur, find_patch, sharpened
from tracelabels.symbols import (
    PRINTED,
    DataMatrixShape,
    QRLevel,
    Symbology,
    read_symbols,
    write_data_matrix,
    write_micro_qr,
    write_qr,
)
from tracelabels.symbols.codewords import ReedSolomon, find_codeword_map

PX = 5
MARGIN = 6
PRINTED_SHAPES = (
    "10x10",
    "12x12",
    "14x14",
    "16x16",
    "18x18",
    "20x20",
    "22x22",
    "8x18",
    "8x32",
    "12x26",
    "12x36",
    "16x36",
)


def plain(text):
    return Payload(text=text, fnc1_first=False, mode=IdentifierMode.IN_HOUSE)


def shape_of(symbol):
    return SymbolShape(symbology=symbol.symbology, version=symbol.version.partition("-")[0])


def bowed(symbol, *, bow):
    """Draw a symbol whose rows bend down by so many modules at both ends; return picture and map."""
    rows, columns = symbol.modules.shape

    def sunk(right):
        return bow * (2 * right / columns - 1) ** 2

    def place(modules):
        right, down = modules.T
        return np.stack([(right + MARGIN) * PX, (down + sunk(right) + MARGIN) * PX], axis=1)

    fine = 4
    y, x = np.mgrid[0 : (rows + 2 * MARGIN) * PX * fine, 0 : (columns + 2 * MARGIN) * PX * fine]
    right = (x + 0.5) / fine / PX - MARGIN
    row, column = np.floor((y + 0.5) / fine / PX - MARGIN - sunk(right)).astype(int), np.floor(right).astype(int)
    dark = np.pad(symbol.modules, 2 * MARGIN)[row + 2 * MARGIN, column + 2 * MARGIN]
    grey = cv2.resize(
        np.where(dark, 30, 210).astype(np.uint8), None, fx=1 / fine, fy=1 / fine, interpolation=cv2.INTER_AREA
    )
    return grey, place


def bare(grey):
    return [one.text for one in read_symbols(grey, kinds=PRINTED)]


def believe(_):
    return True


@pytest.mark.parametrize(
    "symbol",
    [
        write_data_matrix(plain("A1B2C3D4E5F6G7H8I9J0"), shape=DataMatrixShape("20x20")),
        write_data_matrix(plain("A1B2C3D4E5F6G7H8I9J0"), shape=DataMatrixShape("12x36")),
        write_qr(plain("172702021326020210B01-3A\x1d21020000011"), version=2),
        write_micro_qr(plain("17270202132602022102"), version=4),
    ],
    ids=lambda symbol: symbol.version,
)
def test_a_bent_and_blurred_symbol_is_read_at_its_place(symbol):
    grey, place = bowed(symbol, bow=3.0)
    grey = cv2.GaussianBlur(grey, (0, 0), 0.5 * PX)
    assert bare(grey) == []
    reading = read_sampled(grey, shape_of(symbol), place, accepts=believe)
    assert reading.text == symbol.payload.text
    assert reading.symbology_identifier == symbol.symbology_identifier
    rows, columns = symbol.modules.shape
    left, right = MARGIN * PX, (columns + MARGIN) * PX
    top, bottom = (MARGIN + 3) * PX, (rows + MARGIN + 3) * PX
    assert reading.corners == ((left, top), (right, top), (right, bottom), (left, bottom))


@pytest.mark.parametrize(
    ("version", "row", "column", "side"), [("18x18", 2, 7, 6), ("20x20", 2, 9, 7), ("12x36", 1, 27, 7)]
)
def test_what_glare_hides_is_missing_and_not_wrong(version, row, column, side):
    shape = DataMatrixShape(version)
    symbol = write_data_matrix(plain("21020000011"), shape=shape)
    hidden = np.zeros(symbol.modules.shape, dtype=bool)
    hidden[row : row + side, column : column + side] = True
    # Of the codewords that the blot hides more are wrong than could be mended if they were not known to be missing.
    codewords = find_codeword_map(Symbology.DATA_MATRIX, version)
    wrong, missing = (int(codewords.codewords_with(part).sum()) for part in (hidden & symbol.modules, hidden))
    assert wrong > shape.error_codewords // 2
    grey, place = bowed(symbol, bow=0.0)
    top, left = (row + MARGIN) * PX, (column + MARGIN) * PX
    grey[top : top + side * PX, left : left + side * PX] = 255
    assert bare(grey) == []
    reading = read_sampled(grey, shape_of(symbol), place, accepts=believe)
    assert reading.text == symbol.payload.text
    assert reading.unused_error_correction == pytest.approx(1 - missing / shape.error_codewords)


def test_a_reading_that_the_guards_refuse_is_no_reading():
    symbol = write_data_matrix(plain("21020000011"))
    grey, place = bowed(symbol, bow=0.0)
    asked = []
    assert read_sampled(grey, shape_of(symbol), place, accepts=asked.append) is None
    assert {one.text for one in asked} == {"21020000011"}


def test_a_place_outside_the_picture_or_nowhere_says_nothing():
    symbol = write_data_matrix(plain("21020000011"))
    grey, place = bowed(symbol, bow=0.0)
    assert read_sampled(grey, shape_of(symbol), lambda at: place(at) + 4000, accepts=believe) is None
    assert read_sampled(grey, shape_of(symbol), lambda at: place(at) * np.nan, accepts=believe) is None


def test_another_size_than_was_said_is_no_answer():
    symbol = write_data_matrix(plain("21020000011"), shape=DataMatrixShape("14x14"))
    assert find_said(symbol.modules, shape_of(symbol)).text == "21020000011"
    assert find_said(symbol.modules, SymbolShape(symbology=Symbology.DATA_MATRIX, version="16x16")) is None


@pytest.mark.parametrize(
    ("blur", "other"),
    [
        (Blur(bell=0.5), Blur(bell=0.7)),
        (Blur(bell=0.5), Blur(bell=0.0, streak=0.5)),
        (Blur(bell=0.2, streak=2.0, angle=60.0), Blur(bell=0.2, streak=2.0, angle=120.0)),
        (Blur(bell=0.2, streak=2.0, angle=60.0), Blur(bell=0.5)),
    ],
)
def test_the_blur_that_there_was_is_undone_and_another_is_not(blur, other):
    symbol = write_data_matrix(plain("21020000011"), shape=DataMatrixShape("20x20"))
    grey, place = bowed(symbol, bow=0.0)
    soft = cv2.GaussianBlur(grey.astype(np.float32), (0, 0), blur.bell * PX)
    if blur.streak:
        reach = blur.streak * PX / 2 * np.array([np.cos(np.radians(blur.angle)), np.sin(np.radians(blur.angle))])
        steps = np.linspace(-1.0, 1.0, 41)[:, np.newaxis] * reach
        moves = [np.array([[1, 0, x], [0, 1, y]]) for x, y in steps]
        soft = np.mean([cv2.warpAffine(soft, move, soft.shape[::-1], borderValue=210) for move in moves], axis=0)
    patch = find_patch(np.rint(soft).astype(np.uint8), 20, 20, place)
    assert patch.module == pytest.approx(PX)
    sharp = patch_of(grey, patch)
    pictures = (sharpened(patch, blur), sharpened(patch, other), patch.grey)
    right, wrong, as_it_is = (np.sqrt(np.mean((part - sharp) ** 2)) for part in pictures)
    assert right < min(0.8 * as_it_is, 0.9 * wrong)


def patch_of(grey, patch):
    height, width = patch.grey.shape
    return grey[patch.top : patch.top + height, patch.left : patch.left + width].astype(float)


def every_symbol(shape):
    texts = ("1", "A7", "a-9", "0123456789")
    if shape.symbology is Symbology.DATA_MATRIX:
        return [write_data_matrix(plain(text), shape=DataMatrixShape(shape.version)) for text in texts[:2]]
    if shape.symbology is Symbology.QR:
        return [
            write_qr(plain(texts[mask % 4]), level=level, version=int(shape.version), mask=mask)
            for level in QRLevel
            for mask in range(8)
        ]
    return [write_micro_qr(plain(text), version=4, mask=mask) for text in texts for mask in range(4)]


@pytest.mark.parametrize(
    ("kind", "version"),
    [
        *((Symbology.DATA_MATRIX, shape) for shape in PRINTED_SHAPES),
        *((Symbology.QR, str(n)) for n in range(1, 7)),
        (Symbology.MICRO_QR, "M4"),
    ],
)
def test_fixed_modules_are_the_same_in_every_symbol(kind, version):
    shape = SymbolShape(symbology=kind, version=version)
    cells = fixed_cells(shape)
    symbols = every_symbol(shape)
    for symbol in symbols:
        wrong = np.pad(symbol.modules, 1) != cells.dark
        assert not (wrong & cells.known).any()
    assert 0.1 < cells.known.mean() < 0.75


def test_bars_have_no_fixed_pattern_of_modules():
    with pytest.raises(ValueError, match="linear"):
        fixed_cells(SymbolShape(symbology=Symbology.CODE_128, version="128"))


def test_how_many_codewords_may_be_missing():
    caps = {version: most_erasures(DataMatrixShape(version)) for version in PRINTED_SHAPES}
    # 255^-4 is 2e-10, 255^-3 is 6e-8: four check words always stay.
    checks = {version: DataMatrixShape(version).error_codewords for version in PRINTED_SHAPES}
    assert caps == {version: check - 4 for version, check in checks.items()}
    assert (caps["14x14"], caps["20x20"], caps["12x36"]) == (6, 14, 14)


@pytest.mark.parametrize(("missing", "wrong"), [(0, 9), (12, 2), (14, 1), (15, 0), (18, 0)])
def test_corrections_that_chance_makes_too_often_are_not_allowed(missing, wrong):
    assert not is_allowed(40, 18, missing=missing, wrong=wrong)


@pytest.mark.parametrize(("missing", "wrong"), [(0, 8), (8, 4), (10, 3), (12, 1), (14, 0)])
def test_corrections_that_are_surer_than_chance_are_allowed(missing, wrong):
    assert is_allowed(40, 18, missing=missing, wrong=wrong)


@pytest.mark.parametrize(("missing", "share"), [(16, 0.09), (14, 0.005)])
def test_the_formula_of_chance_is_what_random_words_show(missing, share):
    # The shares come from an earlier measurement with 2,000 random words of a 20x20 (18 check words of 40).
    code, rng = ReedSolomon(polynomial=0x12D, first_root=1), np.random.default_rng(11)
    tried = 1500
    passed = sum(
        code.find_corrected(rng.integers(256, size=40).tolist(), 18, erased=range(missing)) is not None
        for _ in range(tried)
    )
    most_wrong = (18 - missing) // 2
    formula = comb(40 - missing, most_wrong) * 255.0 ** (most_wrong + missing - 18)
    assert formula == pytest.approx(share, rel=0.1)
    assert abs(passed - tried * formula) < 4 * (tried * formula) ** 0.5
    assert formula > FALSE_CHANCE


@pytest.mark.parametrize("version", ["14x14", "20x20", "12x36"])
def test_random_modules_in_a_perfect_fixed_pattern_are_never_corrected(version):
    shape, rng = DataMatrixShape(version), np.random.default_rng(12)
    for _ in range(60):
        dark, sureness = rng.random((shape.rows, shape.columns)) < 0.5, rng.random((shape.rows, shape.columns))
        hidden = cv2.GaussianBlur(rng.normal(size=dark.shape), (0, 0), 2.0)
        choices = (hidden > np.quantile(hidden, 0.95), hidden > np.quantile(hidden, 0.9))
        assert list(corrections(dark, sureness, choices, shape)) == []
