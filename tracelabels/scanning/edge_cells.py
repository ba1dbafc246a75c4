"""Where a picture is full of edges, as print is.

Edges are counted pixel by pixel and averaged over cells: averaging the picture first would wipe out a fine code.
"""

from typing import TYPE_CHECKING

import cv2
import numpy as np

from tracelabels.scanning.averaging import averaged

if TYPE_CHECKING:
    from numpy.typing import NDArray

_FLOOR = 4.5
"""Grey levels between neighbours, averaged over a cell and both ways: print has more, noise of 4 levels as much."""


def full_cells(grey: "NDArray[np.uint8]", cell: int, *, share: float, over_calm: float = 0.0) -> "NDArray[np.uint8]":
    """Return a map of the cells that are full of edges, shape about (height / cell, width / cell), 1 or 0.

    Args:
        grey: the picture, shape (height, width).
        cell: the side of a cell in pixels, an even number: to halve a picture is cheap.
        share: of the edges in the picture's fullest cell: cells with less are texture beside a print.
        over_calm: times the edges that a quarter of the cells has not: the picture's noise.
    """
    across = averaged(cv2.absdiff(grey[:-1, 1:], grey[:-1, :-1]), 2)
    down = averaged(cv2.absdiff(grey[1:, :-1], grey[:-1, :-1]), 2)
    edges = averaged(cv2.addWeighted(across, 0.5, down, 0.5, 0.0), cell // 2)
    calm = over_calm * float(np.partition(edges, edges.size // 4, axis=None)[edges.size // 4]) if over_calm else 0.0
    least = max(_FLOOR, share * cv2.minMaxLoc(edges)[1], calm)
    return np.asarray(cv2.threshold(edges, least, 1, cv2.THRESH_BINARY)[1], dtype=np.uint8)
