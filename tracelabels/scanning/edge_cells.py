"""Where a picture is full of edges, as print is.

Edges are counted pixel by pixel and averaged over cells: averaging the picture first would wipe out a fine code.
"""

from typing import TYPE_CHECKING

import cv2
import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

_FLOOR = 4.5
"""Grey levels between neighbours, averaged over a cell and both ways, that print exceeds (noise of 4 levels: 2.3)."""


def full_cells(grey: "NDArray[np.uint8]", cell: int, *, share: float, over_calm: float = 0.0) -> "NDArray[np.uint8]":
    """Return a map of the cells that are full of edges, shape about (height / cell, width / cell), 1 or 0.

    Args:
        grey: the picture, shape (height, width).
        cell: the side of a cell in pixels, an even number: to halve a picture is cheap.
        share: of the edges in the picture's fullest cell: cells with less are texture beside a print.
        over_calm: times the edges that a quarter of the cells has not: the picture's noise.
    """
    across = _averaged(cv2.absdiff(grey[:-1, 1:], grey[:-1, :-1]), 2)
    down = _averaged(cv2.absdiff(grey[1:, :-1], grey[:-1, :-1]), 2)
    edges = _averaged(cv2.addWeighted(across, 0.5, down, 0.5, 0.0), cell // 2)
    calm = over_calm * float(np.partition(edges, edges.size // 4, axis=None)[edges.size // 4]) if over_calm else 0.0
    least = max(_FLOOR, share * cv2.minMaxLoc(edges)[1], calm)
    return np.asarray(cv2.threshold(edges, least, 1, cv2.THRESH_BINARY)[1], dtype=np.uint8)


def _averaged(levels: "cv2.typing.MatLike", side: int) -> "NDArray[np.uint8]":
    """Return the means of whole squares of so many pixels."""
    height, width = (max(1, length // side) for length in levels.shape[:2])
    whole = levels[: height * side, : width * side]
    return np.asarray(cv2.resize(whole, (width, height), interpolation=cv2.INTER_AREA), dtype=np.uint8)
