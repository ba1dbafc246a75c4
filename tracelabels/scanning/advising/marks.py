"""Which samples of a patch are print, and how wide a module is.

Half of the neighbours among random modules differ, so a line changes once every two modules: that gives the module's
width along each axis without knowing the shape, also where a tube or a steep view squeezes one of them. A blur that
joins single modules is undone first.
"""

from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

from tracelabels.scanning.advising.edges import core
from tracelabels.scanning.locating.outlines import stock_of
from tracelabels.scanning.runs import runs_of
from tracelabels.scanning.sampling.sharpening import Blur, Patch, sharpened

if TYPE_CHECKING:
    from numpy.typing import NDArray

_UNDONE: Final = 0.7
"""Of the measured spread: undoing all of it lifts the noise."""
_EDGE: Final = 7
"""A seventh of the lines at either end is not looked at for light lines: an outline is good to a module or two."""
_DARKEST: Final = 5.0
"""Percentile of a line's levels: a solid side alone makes a row of 16 modules darker than that."""
_LIGHT_LINE: Final = 0.25
"""Of the contrast: by how much the darkest of a line must be lighter than print."""


def evened(calm: "NDArray[np.float32]", stock: "NDArray[np.float32]") -> "NDArray[np.float32]":
    """Return levels as shares of the stock around them, 0 to 1."""
    return np.asarray(np.clip(calm / stock, 0.0, 1.0), dtype=np.float32)


def are_dark(even: "NDArray[np.float32]") -> "NDArray[np.bool_]":
    """Return which samples are print, by Otsu's threshold."""
    levels = np.asarray(255.0 * even, dtype=np.uint8)
    return np.asarray(cv2.threshold(levels, 0, 1, cv2.THRESH_BINARY_INV + cv2.THRESH_OTSU)[1] > 0, dtype=np.bool_)


def module_width(dark: "NDArray[np.bool_]") -> tuple[float, float]:
    """Return samples a module along rows and along columns, from how often dark and light change."""
    inner = core(dark.astype(np.float32))
    changes = (float(np.abs(np.diff(inner, axis=axis)).mean()) for axis in (1, 0))
    most = max(dark.shape) / 2.0
    across, down = (min(most, 0.5 / max(share, 1e-3)) for share in changes)
    return across, down


def sharp_module_width(levels: "NDArray[np.float32]", spread: float) -> tuple[float, float]:
    """Return the same after a blur of about this spread, in samples, was undone."""
    undone = sharpened(Patch(grey=levels, left=0, top=0, module=1.0), Blur(bell=_UNDONE * spread))
    print_ = np.maximum(undone, 1.0)
    return module_width(are_dark(evened(print_, stock_of(print_, min(print_.shape)))))


def longest_gap(dark: "NDArray[np.bool_]", *, empty: float) -> int:
    """Return the samples across the widest band of rows or columns without print: text has gaps, a code has none.

    Args:
        dark: print.
        empty: share of print below which a line has none.
    """
    gaps = np.concatenate([runs_of(dark.mean(axis=axis) < empty) for axis in (0, 1)])
    return int((gaps[:, 1] - gaps[:, 0]).max(initial=0))


def light_lines(even: "NDArray[np.float32]") -> tuple[int, int]:
    """Return how many rows and how many columns are light from end to end: dead lines of a print head, scratches.

    Args:
        even: levels as shares of the stock around them.
    """
    low, high = np.percentile(even, (8, 92)).tolist()
    counts = []
    for axis in (1, 0):
        darkest = np.percentile(even, _DARKEST, axis=axis)
        ends = len(darkest) // _EDGE
        light = darkest[ends : len(darkest) - ends] > low + _LIGHT_LINE * (high - low)
        counts.append(len(runs_of(light)))
    return counts[0], counts[1]
