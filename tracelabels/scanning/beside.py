"""Whether a picture may hold more symbols than those that were read: the cheapest look at what lies beside them."""

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

from tracelabels.scanning.averaging import averaged
from tracelabels.scanning.edge_cells import full_cells
from tracelabels.scanning.picture import Corners

if TYPE_CHECKING:
    from numpy.typing import NDArray

_STRIP: Final = 0.5
"""Of the shorter side of the smallest symbol read: a narrower strip beside it holds less than half of another one."""
_ROOM: Final = (0.45, 0.18)
"""Of that side and of the longer one, whichever is more: so much of another symbol, both ways, is looked for."""
_FULL: Final = 0.88
"""Of the cells of such a square: 186 second symbols that a whole scan found, many blurred or pale, fill so much."""
_SHARE: Final = 0.1
"""Of the edges in the fullest cell: a symbol that is blurred beside a sharp one still has them."""
_OVER_CALM: Final = 1.5
"""Times the edges that noise makes where there is no print."""
_CELLS: Final = 6
"""Cells along the square."""
_SMALLEST: Final = 2
"""Pixels: the side of a cell, below which edges are not told from their absence."""
_REDUCED: Final = 96
"""Pixels: about the shorter side of the smallest symbol once the picture is reduced, some 4 a module."""


def shows_more(grey: "NDArray[np.uint8]", read: Sequence[Corners]) -> bool:
    """Say whether something beside what was read is as full of edges and as broad as half of a symbol.

    Lines of text are narrower.

    Args:
        grey: the picture, shape (height, width).
        read: the corners of every symbol that was read, at least one.
    """
    shorter, longer = min(sorted((math.dist(one[0], one[1]), math.dist(one[1], one[2]))) for one in read)
    if len(read) == 1 and _widest_strip(grey, read[0]) < _STRIP * shorter:
        return False
    reduction = max(1, round(shorter / _REDUCED))
    room = max(_ROOM[0] * shorter, _ROOM[1] * longer) / reduction
    cell = 2 * int(room / _CELLS / 2)
    if cell < _SMALLEST:
        return True
    full = full_cells(averaged(grey, reduction), cell, share=_SHARE, over_calm=_OVER_CALM)
    _empty(full, read, reduction * cell)
    side = round(room / cell)
    filled = cv2.boxFilter(full, cv2.CV_32F, (side, side), borderType=cv2.BORDER_CONSTANT)
    return bool(cv2.minMaxLoc(filled)[1] >= _FULL)


def _widest_strip(grey: "NDArray[np.uint8]", corners: Corners) -> int:
    """Return the pixels between a symbol and the border that is farthest from it."""
    columns, rows = ([corner[axis] for corner in corners] for axis in (0, 1))
    height, width = grey.shape
    return int(max(min(columns), width - max(columns), min(rows), height - max(rows)))


def _empty(cells: "NDArray[np.uint8]", read: Sequence[Corners], pixels: int) -> None:
    """Set to 0 the cells, so many pixels wide, of what was read and those that touch it."""
    for corners in read:
        outline = np.array([[round(x / pixels - 0.5), round(y / pixels - 0.5)] for x, y in corners], dtype=np.int32)
        cv2.fillConvexPoly(cells, outline, 0)
        cv2.polylines(cells, [outline], isClosed=True, color=0, thickness=3)
