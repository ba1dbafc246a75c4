"""The segments of the fixed patterns against the placement of codewords and against written symbols."""

import numpy as np
import pytest

from tracelabels.identifiers import IdentifierMode, Payload
from tracelabels.legibility.grades.fixed_patterns import segments
from tracelabels.symbols import DataMatrixShape, QRLevel, Symbology, write_data_matrix, write_qr
from tracelabels.symbols.codewords import data_matrix_placement


def payload(text: str) -> Payload:
    return Payload(text=text, fnc1_first=False, mode=IdentifierMode.IN_HOUSE)


@pytest.mark.parametrize("shape", ["10x10", "32x32", "8x32", "12x36", "64x64"])
def test_a_data_matrix_is_codewords_and_fixed_pattern_and_nothing_else(shape):
    size = DataMatrixShape(shape)
    owner = data_matrix_placement.codeword_of_module(size)
    fixed = np.zeros((size.rows + 2, size.columns + 2), dtype=bool)
    for segment in segments(Symbology.DATA_MATRIX, (size.rows, size.columns), 1):
        fixed |= segment.modules
    inner = fixed[1:-1, 1:-1]
    assert not (inner & (owner >= 0)).any()
    # Four modules may carry nothing, in the lower right of the mapping matrix (Annex F).
    assert (~inner & (owner < 0)).sum() in {0, 4}


@pytest.mark.parametrize("shape", ["10x10", "32x32", "8x32", "64x64"])
def test_solid_sides_are_dark_and_tracks_alternate(shape):
    size = DataMatrixShape(shape)
    symbol = write_data_matrix(payload("12"), shape=size)
    dark = np.pad(symbol.modules, 1)
    for segment in segments(Symbology.DATA_MATRIX, symbol.modules.shape, 1):
        share = dark[segment.modules].mean()
        if segment.name.startswith("quiet"):
            assert share == 0.0
        elif "track" in segment.name:
            assert 0.4 < share < 0.6
        else:
            assert share == 1.0


@pytest.mark.parametrize("version", range(1, 7))
def test_fixed_patterns_of_qr_are_the_same_in_every_symbol(version):
    symbols = [
        write_qr(payload(text), level=QRLevel.L, version=version, mask=mask).modules
        for mask, text in enumerate(["A", "BC", "DEF", "12", "3456", "789", "X1", "Y22"])
    ]
    changing = np.any([modules != symbols[0] for modules in symbols], axis=0)
    for segment in segments(Symbology.QR, symbols[0].shape, 4):
        assert not (changing & segment.modules[4:-4, 4:-4]).any(), segment.name
