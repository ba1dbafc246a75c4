"""How sharp a picture is, beside others of the same scene."""

from typing import TYPE_CHECKING

import cv2

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


def sharpness(grey: "NDArray[np.uint8]") -> float:
    """Return the variance of the Laplacian, in grey levels squared; only the order counts.

    Args:
        grey: grey levels, shape (height, width).

    Source: J. L. Pech-Pacheco and others, ICPR 2000, vol. 3, 314 (from memory).
    """
    return float(cv2.meanStdDev(cv2.Laplacian(grey, cv2.CV_16S))[1][0, 0] ** 2)
