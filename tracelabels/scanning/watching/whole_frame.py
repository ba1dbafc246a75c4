"""Why nothing in a frame looks like a code, when it is blurred or washed out as a whole: then text does not, either."""

import math
from typing import TYPE_CHECKING

import cv2
import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

_REDUCTION = 4
"""Pixels averaged along each side: noise would pass for sharp edges, and single light pixels for glare."""

_STEEPEST = 99.8
"""Percentile of the steps between neighbours: a label's edges fill more than the rest."""

_BLURRED = 4.0
"""Pixels. Simulated labels and text: 2.5 at most when sharp, 4.0 and more if defocused by 3 pixels or moved by 20."""

_LEAST_CONTRAST = 40.0
"""Grey levels: with less there is nothing to be sharp."""

_SATURATED = 250
_GLARE_SHARE = (0.002, 0.2)
"""Of the frame: less hides no code, more is white paper (common practice, no source)."""


def find_whole_frame_advice(grey: "NDArray[np.uint8]") -> str | None:
    """Return what the hand can do about a frame that is blurred or washed out, or None if it is not.

    Args:
        grey: the frame, shape (height, width).
    """
    height, width = (side // _REDUCTION for side in grey.shape)
    if min(height, width) <= _REDUCTION:
        return None
    small = np.asarray(cv2.resize(grey, (width, height), interpolation=cv2.INTER_AREA), dtype=np.uint8)
    blur = _worst_blur(small)
    if blur is not None and blur >= _BLURRED:
        return f"the whole picture is blurred over about {2.0 * blur:.0f} pixels: hold still and let the camera focus"
    if _GLARE_SHARE[0] < _glare(small) < _GLARE_SHARE[1]:
        return "glare washes out a part of the picture: tilt the label or move the lamp"
    return None


def _worst_blur(small: "NDArray[np.uint8]") -> float | None:
    """Return the blur in the direction in which it is worst, as a standard deviation in pixels of the frame.

    It is that of the bell that would make the steepest edges as steep as they are; None if nothing could be sharp.
    """
    levels = small.astype(np.float32)
    darkest, lightest = np.percentile(levels, (1, 99)).tolist()
    if lightest - darkest < _LEAST_CONTRAST:
        return None
    steps = (
        levels[:, 1:] - levels[:, :-1],
        levels[1:] - levels[:-1],
        (levels[1:, 1:] - levels[:-1, :-1]) / math.sqrt(2.0),
        (levels[1:, :-1] - levels[:-1, 1:]) / math.sqrt(2.0),
    )
    steepest = max(1.0, min(float(np.percentile(np.abs(step), _STEEPEST)) for step in steps))
    return _REDUCTION * float(lightest - darkest) / (steepest * math.sqrt(2.0 * math.pi))


def _glare(small: "NDArray[np.uint8]") -> float:
    """Return the share of the frame that is saturated in blots."""
    saturated = (small >= _SATURATED).astype(np.uint8)
    return float(np.asarray(cv2.morphologyEx(saturated, cv2.MORPH_OPEN, np.ones((3, 3), dtype=np.uint8))).mean())
