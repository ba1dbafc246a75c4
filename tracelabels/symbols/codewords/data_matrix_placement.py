"""Which module of a Data Matrix carries which codeword: the placement of ISO/IEC 16022:2006, Annex F.

The codewords, eight modules each, are swept in diagonals over the mapping matrix, that is the symbol without its finder
and alignment patterns. Most have the same shape; four special shapes fill the corners. Extended rectangles
(ISO/IEC 21471) wrap below the last row too.
"""

from functools import cache
from typing import TYPE_CHECKING, Final

import numpy as np

from tracelabels.symbols.data_matrix_shapes import DataMatrixShape

if TYPE_CHECKING:
    from numpy.typing import NDArray

_SHAPE: Final = ((-2, -2), (-2, -1), (-1, -2), (-1, -1), (-1, 0), (0, -2), (0, -1), (0, 0))
"""Bits 7 to 0 of a common codeword, as (row, column) from its last module."""

_CORNERS: Final = (
    ((-1, 0), (-1, 1), (-1, 2), (0, -2), (0, -1), (1, -1), (2, -1), (3, -1)),
    ((-3, 0), (-2, 0), (-1, 0), (0, -4), (0, -3), (0, -2), (0, -1), (1, -1)),
    ((-3, 0), (-2, 0), (-1, 0), (0, -2), (0, -1), (1, -1), (2, -1), (3, -1)),
    ((-1, 0), (-1, -1), (0, -3), (0, -2), (0, -1), (1, -3), (1, -2), (1, -1)),
)
"""The special shapes, negative numbers counted from the far edge."""

_REGIONS_BESIDE: Final = {18: 1, 26: 1, 32: 2, 36: 2, 40: 2, 44: 2, 48: 2, 64: 4, 80: 4, 88: 4, 96: 4, 120: 6, 144: 6}
"""Data regions side by side in a rectangle of so many columns (ISO/IEC 16022:2006 and 21471:2020, Table 7)."""

NO_BIT: Final = -1
"""Marks the modules that carry no codeword."""


def regions(shape: DataMatrixShape) -> tuple[int, int]:
    """Return how many data regions lie below each other and beside each other (Table 7)."""
    if shape.rows == shape.columns:
        side = 1 + (shape.rows > 26) + 2 * (shape.rows > 52) + 2 * (shape.rows > 104)  # noqa: PLR2004  sizes of Table 7
        return side, side
    return 1, _REGIONS_BESIDE[shape.columns]


def in_region(shape: DataMatrixShape) -> "tuple[NDArray[np.intp], NDArray[np.intp]]":
    """Return for each row, and for each column, its place inside its data region, counted with the region's border."""
    down, beside = regions(shape)
    return np.arange(shape.rows) % (shape.rows // down), np.arange(shape.columns) % (shape.columns // beside)


def region_size(shape: DataMatrixShape) -> tuple[int, int]:
    """Return rows and columns of a data region with its border."""
    down, beside = regions(shape)
    return shape.rows // down, shape.columns // beside


def codeword_of_module(shape: DataMatrixShape) -> "NDArray[np.intp]":
    """Return the number of the codeword that each module belongs to, shape (rows, columns), -1 where none."""
    return bit_of_module(shape) // 8


@cache
def bit_of_module(shape: DataMatrixShape) -> "NDArray[np.intp]":
    """Return which bit of the symbol's stream each module carries, shape (rows, columns), -1 where none.

    Eight bits a codeword, the highest first; data first, then check words.
    """
    height, width = region_size(shape)
    row_in, column_in = in_region(shape)
    inner_rows = np.flatnonzero((row_in != 0) & (row_in != height - 1))
    inner_columns = np.flatnonzero((column_in != 0) & (column_in != width - 1))
    carried = np.full((shape.rows, shape.columns), NO_BIT, dtype=np.intp)
    carried[np.ix_(inner_rows, inner_columns)] = _Sweep(len(inner_rows), len(inner_columns)).run()
    carried.flags.writeable = False
    return carried


class _Sweep:
    """One walk over a mapping matrix."""

    def __init__(self, rows: int, columns: int) -> None:
        self.rows, self.columns = rows, columns
        self.bits = np.full((rows, columns), NO_BIT, dtype=np.intp)
        self.count = 0

    def run(self) -> "NDArray[np.intp]":
        row, column = 4, 0
        while row < self.rows or column < self.columns:
            self._corner(row, column)
            row, column = self._diagonal(row, column, -2)
            row, column = self._diagonal(row + 1, column + 3, 2)
            row, column = row + 3, column + 1
        return self.bits

    def _diagonal(self, row: int, column: int, step: int) -> tuple[int, int]:
        """Place codewords up (step -2) or down (step 2) a diagonal; return where it left the matrix."""
        while True:
            if 0 <= row < self.rows and 0 <= column < self.columns and self.bits[row, column] == NO_BIT:
                self._place([self._wrapped(row + down, column + right) for down, right in _SHAPE])
            row, column = row + step, column - step
            left_above = step < 0 and (row < 0 or column >= self.columns)
            left_below = step > 0 and (row >= self.rows or column < 0)
            if left_above or left_below:
                return row, column

    def _corner(self, row: int, column: int) -> None:
        holds = (
            row == self.rows and column == 0,
            row == self.rows - 2 and column == 0 and self.columns % 4 != 0,
            row == self.rows - 2 and column == 0 and self.columns % 8 == 4,  # noqa: PLR2004  Annex F
            row == self.rows + 4 and column == 2 and self.columns % 8 == 0,  # noqa: PLR2004  Annex F
        )
        for shape, wanted in zip(_CORNERS, holds, strict=True):
            if wanted:
                self._place([(down % self.rows, right % self.columns) for down, right in shape])

    def _wrapped(self, row: int, column: int) -> tuple[int, int]:
        if row < 0:
            row, column = row + self.rows, column + 4 - (self.rows + 4) % 8
        if column < 0:
            row, column = row + 4 - (self.columns + 4) % 8, column + self.columns
        return row % self.rows, column

    def _place(self, modules: list[tuple[int, int]]) -> None:
        for module in modules:
            self.bits[module] = self.count
            self.count += 1
