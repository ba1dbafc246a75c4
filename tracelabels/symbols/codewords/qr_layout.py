"""Which module of a QR code is fixed pattern, format or codeword (ISO/IEC 18004, versions 1 to 6).

Labels of this trade hold a few dozen characters; larger versions are not graded.
"""

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Final

import numpy as np

from tracelabels.symbols.qr import QRLevel

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

LARGEST_VERSION: Final = 6
_FINDER: Final = 8
"""A finder with its separator."""
_TIMING: Final = 6
"""Row and column of the timing patterns."""
_ALIGNMENT_RADIUS: Final = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class QRBlocks:
    """How the codewords of a version and level are split."""

    data: tuple[int, ...]
    """Data codewords of each block, shorter blocks first."""
    error: int
    """Check codewords of each block."""
    reserved: int = 0
    """Check codewords kept for detecting misreads (p), which correct nothing."""


BLOCKS: Final[dict[tuple[int, QRLevel], QRBlocks]] = {
    (1, QRLevel.L): QRBlocks(data=(19,), error=7, reserved=3),
    (1, QRLevel.M): QRBlocks(data=(16,), error=10, reserved=2),
    (1, QRLevel.Q): QRBlocks(data=(13,), error=13, reserved=1),
    (1, QRLevel.H): QRBlocks(data=(9,), error=17, reserved=1),
    (2, QRLevel.L): QRBlocks(data=(34,), error=10, reserved=2),
    (2, QRLevel.M): QRBlocks(data=(28,), error=16),
    (2, QRLevel.Q): QRBlocks(data=(22,), error=22),
    (2, QRLevel.H): QRBlocks(data=(16,), error=28),
    (3, QRLevel.L): QRBlocks(data=(55,), error=15, reserved=1),
    (3, QRLevel.M): QRBlocks(data=(44,), error=26),
    (3, QRLevel.Q): QRBlocks(data=(17,) * 2, error=18),
    (3, QRLevel.H): QRBlocks(data=(13,) * 2, error=22),
    (4, QRLevel.L): QRBlocks(data=(80,), error=20),
    (4, QRLevel.M): QRBlocks(data=(32,) * 2, error=18),
    (4, QRLevel.Q): QRBlocks(data=(24,) * 2, error=26),
    (4, QRLevel.H): QRBlocks(data=(9,) * 4, error=16),
    (5, QRLevel.L): QRBlocks(data=(108,), error=26),
    (5, QRLevel.M): QRBlocks(data=(43,) * 2, error=24),
    (5, QRLevel.Q): QRBlocks(data=(15, 15, 16, 16), error=18),
    (5, QRLevel.H): QRBlocks(data=(11, 11, 12, 12), error=22),
    (6, QRLevel.L): QRBlocks(data=(68,) * 2, error=18),
    (6, QRLevel.M): QRBlocks(data=(27,) * 4, error=16),
    (6, QRLevel.Q): QRBlocks(data=(19,) * 4, error=24),
    (6, QRLevel.H): QRBlocks(data=(15,) * 4, error=28),
}
"""ISO/IEC 18004 Table 9; how the larger versions are split and what is reserved (p) is from memory of that table.
Tests check the split with an independent Reed-Solomon code."""


def side(version: int) -> int:
    """Return the modules of a side."""
    return 17 + 4 * version


def finder_boxes(version: int) -> tuple[tuple[slice, slice], ...]:
    """Return rows and columns of the three finders with their separators: top left, top right, bottom left."""
    near, far = slice(0, _FINDER), slice(side(version) - _FINDER, side(version))
    return (near, near), (near, far), (far, near)


def timing_lines(version: int) -> tuple[tuple[slice, slice], ...]:
    """Return rows and columns of the timing patterns: the one from left to right, then the one from top to bottom."""
    along, line = slice(_FINDER, side(version) - _FINDER), slice(_TIMING, _TIMING + 1)
    return (line, along), (along, line)


def alignment_box(version: int) -> tuple[slice, slice] | None:
    """Return rows and columns of the one alignment pattern of versions 2 to 6; None for version 1."""
    if version == 1:
        return None
    middle = side(version) - 7
    line = slice(middle - _ALIGNMENT_RADIUS, middle + _ALIGNMENT_RADIUS + 1)
    return line, line


def codeword_of_module(version: int) -> "NDArray[np.intp]":
    """Return the number in the stream of the codeword of each module, shape (side, side), -1 where none."""
    return bit_of_module(version) // 8


@cache
def bit_of_module(version: int) -> "NDArray[np.intp]":
    """Return which bit of the stream each module carries, shape (side, side), -1 where none.

    The stream runs in columns of two modules from the right edge, upwards and downwards in turn, past the column of the
    timing pattern (ISO/IEC 18004:2015, 7.7.3).
    """
    size = side(version)
    taken = np.zeros((size, size), dtype=bool)
    boxes = [*finder_boxes(version), *timing_lines(version)]
    alignment = alignment_box(version)
    for box in [*boxes, alignment] if alignment else boxes:
        taken[box] = True
    # Format information stands beside the finders; the module at its corner is always dark.
    taken[_FINDER, : _FINDER + 1] = taken[: _FINDER + 1, _FINDER] = True
    taken[_FINDER, size - _FINDER :] = taken[size - _FINDER :, _FINDER] = True
    bits = np.full((size, size), -1, dtype=np.intp)
    free = [place for place in _walk(size) if not taken[place]]
    # A few modules may be left over at the end; they carry nothing.
    for number, place in enumerate(free[: len(free) // 8 * 8]):
        bits[place] = number
    bits.flags.writeable = False
    return bits


def _walk(size: int) -> "Iterator[tuple[int, int]]":
    rights = (*range(size - 1, _TIMING, -2), *range(_TIMING - 1, 0, -2))
    for number, right in enumerate(rights):
        for row in range(size - 1, -1, -1) if number % 2 == 0 else range(size):
            yield row, right
            yield row, right - 1


def block_of_codeword(version: int, level: QRLevel) -> "NDArray[np.intp]":
    """Return the block of each codeword of the stream, in which the blocks take turns (ISO/IEC 18004:2015, 7.6)."""
    blocks = BLOCKS[version, level]
    turns = [block for turn in range(max(blocks.data)) for block, length in enumerate(blocks.data) if turn < length]
    return np.array(turns + list(range(len(blocks.data))) * blocks.error, dtype=np.intp)
