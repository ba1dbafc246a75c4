"""A picture made smaller by a whole number, each pixel the mean of a square: quick, since no pixel is shared out."""

from typing import TYPE_CHECKING

import cv2
import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray


def averaged(levels: "cv2.typing.MatLike", side: int) -> "NDArray[np.uint8]":
    """Return the means of whole squares, shape (height // side, width // side) and at least (1, 1).

    Args:
        levels: grey levels, shape (height, width).
        side: of a square, in pixels; 1 gives what was given. What is left at the right and at the bottom is left out.
    """
    if side == 1:
        return np.asarray(levels, dtype=np.uint8)
    height, width = (max(1, length // side) for length in levels.shape[:2])
    whole = levels[: height * side, : width * side]
    return np.asarray(cv2.resize(whole, (width, height), interpolation=cv2.INTER_AREA), dtype=np.uint8)
