"""Motion blur: the picture moves straight and evenly while the shutter is open.

The picture is averaged along a line of the length m (pixels): the kernel is a box of that length in the direction of
the motion, so that a sharp edge across it becomes a ramp of the length m. m = speed x exposure time x px per mm; a hand
that moves at 5 mm/s for 1/50 s smears 0.1 mm. The line is drawn with the weights of linear interpolation, sampled eight
times a pixel.
Assumption: no turn and no shake to and fro.
"""

from typing import TYPE_CHECKING

import cv2
import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

_SAMPLES = 8


def kernel(length: float, direction: float) -> "NDArray[np.float32]":
    """Return the weights of a motion blur, odd and square, summing to 1.

    Args:
        length: pixels.
        direction: degrees anticlockwise from the right.
    """
    reach = int(np.ceil(length / 2.0)) + 1
    count = max(1, int(np.ceil(length * _SAMPLES)))
    way = ((np.arange(count) + 0.5) / count - 0.5) * length
    x = way * np.cos(np.radians(direction)) + reach
    y = -way * np.sin(np.radians(direction)) + reach
    weights = np.zeros((2 * reach + 1, 2 * reach + 1), dtype=np.float64)
    left, top = np.floor(x).astype(int), np.floor(y).astype(int)
    for right, bottom in ((0, 0), (0, 1), (1, 0), (1, 1)):
        part = np.abs(1.0 - right - (x - left)) * np.abs(1.0 - bottom - (y - top))
        np.add.at(weights, (top + bottom, left + right), part)
    return np.asarray(weights / weights.sum(), dtype=np.float32)


def moved(levels: "NDArray[np.float32]", length: float, direction: float) -> "NDArray[np.float32]":
    """Return the picture blurred by motion.

    Args:
        levels: shape (height, width) or (height, width, channels).
        length: pixels; 0 leaves the picture as it is.
        direction: degrees anticlockwise from the right.
    """
    if length <= 0.0:
        return levels
    weights = kernel(length, direction)
    return np.asarray(cv2.filter2D(levels, -1, weights, borderType=cv2.BORDER_REPLICATE), dtype=np.float32)
