"""Which modules make a codeword: the reader's own count of errors is the judge.

If the eight modules that are said to be one codeword are all turned over, the reader has to correct exactly one
codeword; if the grouping were wrong, it would have to correct several.
"""

import random

import numpy as np
import pytest

from tracelabels.identifiers import IdentifierMode, Payload
from tracelabels.symbols import (
    DataMatrixShape,
    ReadEffort,
    Symbol,
    Symbology,
    read_symbols,
    write_data_matrix,
    write_qr,
)
from tracelabels.symbols.codewords import data_matrix_placement, find_codeword_map, qr_layout

LARGEST_READ_BACK = 48
"""Larger Data Matrix have several blocks and are far beyond any label of this trade; their sizes alone are checked."""


def payload(text: str) -> Payload:
    return Payload(text=text, fnc1_first=False, mode=IdentifierMode.IN_HOUSE)


def unused(modules: np.ndarray, kind: Symbology) -> float:
    """Return the reader's unused error correction, which it gives in whole per cent."""
    grey = np.where(np.pad(modules, 4), 0, 255).astype(np.uint8)
    picture = np.repeat(np.repeat(grey, 3, axis=0), 3, axis=1)
    (reading,) = read_symbols(picture, kinds=frozenset({kind}), effort=ReadEffort.PLAIN)
    assert reading.unused_error_correction is not None
    return reading.unused_error_correction


def damaged(symbol: Symbol, owner: np.ndarray, codewords: list[int]) -> np.ndarray:
    return symbol.modules ^ np.isin(owner, codewords)


@pytest.mark.parametrize("shape", DataMatrixShape)
def test_every_codeword_has_eight_modules(shape):
    owner = data_matrix_placement.codeword_of_module(shape)
    counts = np.bincount(owner[owner >= 0])
    assert counts.tolist() == [8] * (shape.data_codewords + shape.error_codewords)
    down, beside = data_matrix_placement.regions(shape)
    free = (shape.rows - 2 * down) * (shape.columns - 2 * beside) - (owner >= 0).sum()
    assert free in {0, 4}


@pytest.mark.parametrize("shape", [shape for shape in DataMatrixShape if shape.rows <= LARGEST_READ_BACK], ids=str)
def test_the_reader_counts_the_same_data_matrix_codewords(shape):
    drawn = random.Random(shape.value)  # noqa: S311  the same draw every time
    symbol = write_data_matrix(payload("12" * (shape.digits // 2)), shape=shape)
    codewords = find_codeword_map(Symbology.DATA_MATRIX, shape.value)
    total = len(codewords.block)
    assert codewords.capacity == shape.error_codewords
    # Not to the end: the reader writes what is less than 10 % without its leading zero, 9 % as 0.9.
    for count in (1, 2, int(0.44 * shape.error_codewords)):
        words = drawn.sample(range(total), count)
        modules = damaged(symbol, codewords.owner, words)
        wrong = codewords.codewords_with(modules != symbol.modules)
        assert sorted(np.flatnonzero(wrong).tolist()) == sorted(words)
        assert unused(modules, Symbology.DATA_MATRIX) == pytest.approx(codewords.unused(wrong), abs=0.0101)


@pytest.mark.parametrize("shape", ["10x10", "18x18", "8x32", "12x36"])
def test_each_single_codeword_of_a_size_that_labels_use(shape):
    symbol = write_data_matrix(payload("123456"), shape=DataMatrixShape(shape))
    codewords = find_codeword_map(Symbology.DATA_MATRIX, shape)
    for word in range(len(codewords.block)):
        modules = damaged(symbol, codewords.owner, [word])
        assert unused(modules, Symbology.DATA_MATRIX) == pytest.approx(1 - 2 / codewords.capacity, abs=0.0101)


@pytest.mark.parametrize(("version", "level"), qr_layout.BLOCKS, ids=str)
def test_the_reader_counts_the_same_qr_codewords(version, level):
    drawn = random.Random(f"{version}{level}")  # noqa: S311  the same draw every time
    symbol = write_qr(payload("ABCDEFGH"), level=level, version=version)
    codewords = find_codeword_map(Symbology.QR, symbol.version)
    blocks = qr_layout.BLOCKS[version, level]
    assert len(codewords.block) == sum(blocks.data) + len(blocks.data) * blocks.error
    assert codewords.capacity == blocks.error - blocks.reserved
    for count in (1, 2):
        for block in range(len(blocks.data)):
            words = drawn.sample(np.flatnonzero(codewords.block == block).tolist(), count)
            modules = damaged(symbol, codewords.owner, words)
            # The reader counts all check codewords, also those that the standard keeps for detecting misreads.
            assert unused(modules, Symbology.QR) == pytest.approx(1 - 2 * count / blocks.error, abs=0.0101)


def test_what_is_reserved_counts_against_the_symbol():
    # 1-L keeps 3 of its 7 check codewords [M]: one wrong codeword leaves 1 - 2 / 4.
    codewords = find_codeword_map(Symbology.QR, "1-L")
    wrong = np.zeros(len(codewords.block), dtype=bool)
    wrong[0] = True
    assert codewords.unused(wrong) == 0.5


def test_the_worst_block_counts():
    codewords = find_codeword_map(Symbology.QR, "4-H")
    wrong = np.zeros(len(codewords.block), dtype=bool)
    wrong[np.flatnonzero(codewords.block == 2)[:3]] = True
    wrong[np.flatnonzero(codewords.block == 0)[:1]] = True
    assert codewords.unused(wrong) == 1 - 6 / 16
    assert codewords.corrects(wrong)
    wrong[codewords.block == 2] = True
    assert not codewords.corrects(wrong)


@pytest.mark.parametrize(
    ("kind", "version"), [(Symbology.QR, "7-M"), (Symbology.MICRO_QR, "M4-L"), (Symbology.CODE_128, "128")]
)
def test_layouts_that_are_not_known_here(kind, version):
    assert find_codeword_map(kind, version) is None


@pytest.mark.parametrize(("missing", "wrong"), [(18, 0), (12, 3), (6, 6), (1, 8)])
def test_missing_codewords_cost_half_of_wrong_ones(missing, wrong):
    symbol = write_data_matrix(payload("A1B2C3D4E5F6G7H8"), shape=DataMatrixShape.SQUARE_20)
    codewords = find_codeword_map(Symbology.DATA_MATRIX, "20x20")
    words = codewords.words(symbol.modules).tolist()
    places = random.Random(missing).sample(range(40), missing + wrong)  # noqa: S311  the same draw every time
    damaged = [word ^ 0x35 if place in places else word for place, word in enumerate(words)]
    assert list(codewords.code.find_corrected(damaged, 18, erased=places[:missing])) == words
    assert (codewords.laid(np.array(words, dtype=np.uint8), symbol.modules) == symbol.modules).all()
    sound = next(place for place in range(40) if place not in places)
    damaged[sound] ^= 0x71
    assert codewords.code.find_corrected(damaged, 18, erased=places[:missing]) != tuple(words)


def test_more_missing_than_check_words_are_refused():
    codewords = find_codeword_map(Symbology.DATA_MATRIX, "20x20")
    assert codewords.code.find_corrected([0] * 40, 18, erased=range(19)) is None
