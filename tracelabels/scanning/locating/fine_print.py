"""How much changes within a patch from one small part to the next: modules do, a dark ground and a tube do not."""

from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

_SAMPLES: Final = 40
"""Along each side of a patch."""
_AROUND: Final = 9
"""Samples each way whose mean is taken away: a fifth of a side, two modules of the smallest symbol and more."""
_RIM: Final = 4
"""Samples on each side that are left out: their surroundings lie outside."""


def fine_print(grey: "NDArray[np.uint8]", corners: "NDArray[np.float64]") -> "NDArray[np.float32]":
    """Return how far levels within patches lie from their surroundings' mean, in grey levels, shape (n,).

    Args:
        grey: the picture, shape (height, width).
        corners: of the patches, in order round each, in pixels of the picture, shape (n, 4, 2).
    """
    across, down = np.moveaxis(_within(corners).reshape(-1, _SAMPLES, 2).astype(np.float32), -1, 0)
    levels = cv2.remap(
        grey,
        np.ascontiguousarray(across),
        np.ascontiguousarray(down),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    ).astype(np.float32)
    # All patches stand in one column: the rims that are left out keep them apart.
    apart = (levels - cv2.blur(levels, (_AROUND, _AROUND))).reshape(-1, _SAMPLES, _SAMPLES)
    return np.asarray(apart[:, _RIM:-_RIM, _RIM:-_RIM].std(axis=(1, 2)))


def _within(corners: "NDArray[np.float64]") -> "NDArray[np.float64]":
    """Return an even lattice of points within each patch, shape (n, samples, samples, 2)."""
    along = ((np.arange(_SAMPLES) + 0.5) / _SAMPLES)[:, np.newaxis]
    start, right, far, left = (corners[:, np.newaxis, at] for at in range(4))
    top, bottom = start + along * (right - start), left + along * (far - left)
    points = top[:, np.newaxis] + along[:, np.newaxis] * (bottom - top)[:, np.newaxis]
    return np.asarray(points) - 0.5
