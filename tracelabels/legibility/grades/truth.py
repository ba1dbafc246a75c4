"""Which modules a symbol should have: the text that was read, written again.

The same text can be written in several ways (another encodation, level or mask), so each way that our writers know is
tried in each position of the four corners, and the one that agrees best with the picture is taken.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from tracelabels.errors import SymbolError
from tracelabels.legibility.grades.grid import Grid, grid_from_corners, levels_at
from tracelabels.symbols import DataMatrixShape, QRLevel, Symbol, Symbology, write_data_matrix, write_qr

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from tracelabels.identifiers import Payload
    from tracelabels.symbols import RawReading

_MASKS = 8
_GLANCE = np.array([(0.0, 0.0), (-0.2, -0.2), (0.2, -0.2), (0.2, 0.2), (-0.2, 0.2)])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Match:
    """A symbol laid over a picture."""

    symbol: Symbol
    """What should be there."""
    grid: Grid
    """Its even grid between the corners."""
    agreement: float
    """Share of modules that look as they should at first sight, 0 to 1."""


def find_match(image: "NDArray[np.uint8]", reading: "RawReading", expected: Symbol | None) -> Match | None:
    """Find the symbol that the picture shows at a reading's corners; None if it cannot be written again.

    Args:
        image: grey picture.
        reading: what was read, and where.
        expected: the symbol, if it is known; None writes the text again.
    """
    symbols = [expected] if expected else list(_candidates(reading))
    grids: dict[tuple[int, int], list[tuple[Grid, NDArray[np.bool_]]]] = {}
    for symbol in symbols:
        size = (symbol.rows, symbol.columns)
        if size not in grids:
            grids[size] = seen_in_all_positions(image, reading.corners, *size)
    matches = (
        Match(symbol=symbol, grid=grid, agreement=float((dark == symbol.modules).mean()))
        for symbol in symbols
        for grid, dark in grids[symbol.rows, symbol.columns]
    )
    return max(matches, key=lambda match: match.agreement, default=None)


def seen_in_all_positions(
    image: "NDArray[np.uint8]", corners: "tuple[tuple[int, int], ...]", rows: int, columns: int
) -> "list[tuple[Grid, NDArray[np.bool_]]]":
    """Return, for each way to lay a symbol between four corners, its even grid and which modules look dark."""
    return [_seen(image, turned, rows, columns) for turned in _positions(corners)]


def _candidates(reading: "RawReading") -> "Iterator[Symbol]":
    payload = reading.payload
    try:
        if reading.symbology is Symbology.DATA_MATRIX and reading.version:
            yield write_data_matrix(payload, shape=DataMatrixShape(reading.version))
            yield write_data_matrix(payload)
        elif reading.symbology is Symbology.QR and reading.version:
            version = int(reading.version.partition("-")[0])
            for level in QRLevel:
                yield from _qr_masks(payload, level, version)
    except SymbolError:
        return


def _qr_masks(payload: "Payload", level: QRLevel, version: int) -> "Iterator[Symbol]":
    try:
        for mask in range(_MASKS):
            yield write_qr(payload, level=level, version=version, mask=mask)
    except SymbolError:
        # The text does not fit this level in this version, so that the symbol has another level.
        return


def _positions(corners: "tuple[tuple[int, int], ...]") -> "Iterator[NDArray[np.float64]]":
    """Yield the corners from each of the four, clockwise and counter-clockwise (a mirrored picture).

    The reader names the pixels that the corners lie in; their middles are half a pixel further.
    """
    around = np.array(corners, dtype=np.float64) + 0.5
    for turn in range(4):
        turned = np.roll(around, -turn, axis=0)
        yield turned
        yield turned[[0, 3, 2, 1]]


def _seen(
    image: "NDArray[np.uint8]", corners: "NDArray[np.float64]", rows: int, columns: int
) -> "tuple[Grid, NDArray[np.bool_]]":
    """Return the even grid and which modules look dark, from a few places near the middle of each."""
    grid = grid_from_corners(corners, rows=rows, columns=columns)
    u, v = np.meshgrid(np.arange(columns) + 0.5, np.arange(rows) + 0.5)
    places = grid.at(u[..., None] + _GLANCE[:, 0], v[..., None] + _GLANCE[:, 1])
    levels = levels_at(image, places).mean(axis=-1)
    return grid, levels < (levels.max() + levels.min()) / 2.0
