"""Defocus."""

from typing import TYPE_CHECKING

import cv2
import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray


def defocused(levels: "NDArray[np.float32]", sigma: float) -> "NDArray[np.float32]":
    """Return the picture blurred by a Gaussian point-spread function, the usual stand-in for a small defocus.

    Args:
        levels: shape (height, width, channels).
        sigma: the Gaussian's standard deviation in pixels; 0 leaves the picture as it is.
    """
    if sigma <= 0.0:
        return levels
    return np.asarray(cv2.GaussianBlur(levels, (0, 0), sigma), dtype=np.float32)
