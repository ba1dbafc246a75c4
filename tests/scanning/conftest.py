"""Labels drawn module by module, to be read back."""

import sys
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from tracelabels.identifiers import IdentifierMode, LabelIdentity, compose_label, format_serial
from tracelabels.scanning import Picture, ScanMode, scan_picture
from tracelabels.symbols import Symbology, write_code_128, write_data_matrix, write_micro_qr, write_qr

# Clips are made of the envelope's pictures, which stand with their benchmark.
sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1] / "benchmarks")]

TODAY = date(2026, 11, 25)
WRITERS = {
    Symbology.DATA_MATRIX: write_data_matrix,
    Symbology.QR: write_qr,
    Symbology.MICRO_QR: write_micro_qr,
    Symbology.CODE_128: write_code_128,
}

# EXIF 2.32, table of Orientation: what must be done to the stored picture so that it stands upright.
STORED_AS = {
    1: lambda upright: upright,
    2: np.fliplr,
    3: lambda upright: np.rot90(upright, 2),
    4: np.flipud,
    5: lambda upright: upright.T,
    6: lambda upright: np.rot90(upright, 1),
    7: lambda upright: np.rot90(upright, 2).T,
    8: lambda upright: np.rot90(upright, -1),
}


@pytest.fixture(params=STORED_AS)
def orientation(request):
    """What EXIF says of a picture: each of its eight values."""
    return request.param


@pytest.fixture
def stored_as(orientation):
    """Turn an upright picture as a file of that orientation stores it."""
    return lambda upright: np.ascontiguousarray(STORED_AS[orientation](upright))


@pytest.fixture
def today():
    return TODAY


@pytest.fixture
def payload():
    """An invented tube's payload by its number."""

    def make(number):
        identity = LabelIdentity(
            gtin=None,
            use_by=date(2027, 11, 30),
            prepared=date(2026, 11, 20),
            lot=f"R{4000 + number}",
            serial=format_serial(1, number),
        )
        return compose_label(identity, IdentifierMode.IN_HOUSE)

    return make


@pytest.fixture
def symbol_of():
    """Write a payload as a symbol of some kind."""

    def make(payload, symbology=Symbology.DATA_MATRIX):
        return WRITERS[symbology](payload)

    return make


@pytest.fixture
def drawn():
    """Draw modules as grey levels: bars get some height, and a margin goes around."""

    def make(modules, *, px=5, margin=4, dark=0, light=255):
        if modules.shape[0] == 1:
            modules = np.repeat(modules, 20, axis=0)
        framed = np.pad(modules, margin)
        return np.where(np.kron(framed, np.ones((px, px), dtype=bool)), dark, light).astype(np.uint8)

    return make


@pytest.fixture
def scan(today):
    """Scan a bare array."""

    def make(grey, *, mode=ScanMode.OWN, budget_ms=4_000.0):
        return scan_picture(Picture(grey=grey, name="test", page=1), mode=mode, today=today, budget_ms=budget_ms)

    return make
