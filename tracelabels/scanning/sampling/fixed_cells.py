"""Which modules of a shape are dark or light in every symbol: the finder, the clock tracks and the quiet zone."""

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Final

import numpy as np

from tracelabels.identifiers import IdentifierMode, Payload
from tracelabels.scanning.sampling.geometry import RING
from tracelabels.symbols import DataMatrixShape, Symbology, write_data_matrix, write_micro_qr, write_qr
from tracelabels.symbols.codewords import data_matrix_placement, qr_layout

if TYPE_CHECKING:
    from numpy.typing import NDArray

_ANY_TEXT: Final = Payload(text="1", fnc1_first=False, mode=IdentifierMode.IN_HOUSE)
"""Fits every size; only the fixed pattern is used."""
_MICRO_FINDER: Final = 8
"""A finder with its separator."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SymbolShape:
    """What must be known of a symbol before it is read."""

    symbology: Symbology
    """Data Matrix, QR or Micro QR."""

    version: str
    """By its standard's name, without level: "18x18", "2", "M4"."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FixedCells:
    """A symbol's fixed pattern with one module of quiet zone around it."""

    dark: "NDArray[np.bool_]"
    """Whether a module is dark, shape (rows + 2, columns + 2); it says nothing where ``known`` is false."""

    known: "NDArray[np.bool_]"
    """Whether a module is the same in every symbol of this shape."""

    @property
    def rows(self) -> int:
        """Return the symbol's height in modules, without quiet zone."""
        return int(self.dark.shape[0]) - 2 * RING

    @property
    def columns(self) -> int:
        """Return the symbol's width in modules, without quiet zone."""
        return int(self.dark.shape[1]) - 2 * RING


@cache
def fixed_cells(shape: SymbolShape) -> FixedCells:
    """Return the fixed pattern of a shape.

    Raises:
        SymbolError: there is no such version.
        ValueError: the kind has no fixed pattern of modules.
    """
    match shape.symbology:
        case Symbology.DATA_MATRIX:
            size = DataMatrixShape(shape.version)
            modules = write_data_matrix(_ANY_TEXT, shape=size).modules
            known = data_matrix_placement.bit_of_module(size) < 0
        case Symbology.QR:
            modules = write_qr(_ANY_TEXT, version=int(shape.version)).modules
            known = _known_of_qr(int(shape.version))
        case Symbology.MICRO_QR:
            modules = write_micro_qr(_ANY_TEXT, version=int(shape.version[1:])).modules
            known = np.zeros(modules.shape, dtype=bool)
            known[:_MICRO_FINDER, :_MICRO_FINDER] = known[0] = known[:, 0] = True
        case Symbology.CODE_128:
            msg = "a linear symbol has no fixed pattern of modules"
            raise ValueError(msg)
    return FixedCells(dark=np.pad(modules, RING), known=np.pad(known, RING, constant_values=True))


def _known_of_qr(version: int) -> "NDArray[np.bool_]":
    """Return which modules of a QR code of version 1 to 6 are finder, timing or alignment."""
    known = np.zeros((qr_layout.side(version),) * 2, dtype=bool)
    alignment = qr_layout.alignment_box(version)
    boxes = [*qr_layout.finder_boxes(version), *qr_layout.timing_lines(version)]
    for box in [*boxes, alignment] if alignment else boxes:
        known[box] = True
    return known
