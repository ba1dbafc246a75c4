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


def full_cells(grey: "NDArray[np.uint8]", cell: int, *, share: float) -> "NDArray[np.uint8]":
    """Return a map of the cells that are full of edges, shape (height // cell, width // cell), 1 or 0.

    Args:
        grey: the picture, shape (height, width).
        cell: the side of a cell in pixels.
        share: of the edges in the picture's fullest cell: cells with less are texture beside a print.
    """
    across = cv2.absdiff(grey[:-1, 1:], grey[:-1, :-1])
    down = cv2.absdiff(grey[1:, :-1], grey[:-1, :-1])
    both = cv2.addWeighted(across, 0.5, down, 0.5, 0.0)
    size = (max(1, both.shape[1] // cell), max(1, both.shape[0] // cell))
    whole_cells = both[: size[1] * cell, : size[0] * cell]
    edges = cv2.resize(whole_cells, size, interpolation=cv2.INTER_AREA)
    least = max(_FLOOR, share * cv2.minMaxLoc(edges)[1])
    return np.asarray(cv2.threshold(edges, least, 1, cv2.THRESH_BINARY)[1], dtype=np.uint8)
