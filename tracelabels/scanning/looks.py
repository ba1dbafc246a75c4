"""Whether a patch looks like a matrix code or like bars, from what can be measured without reading it."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tracelabels.scanning.places import Place

_LONGEST = 4.6
"""Longer by shorter side; 8x32 has 4."""

_FILLED = 0.45
"""Share of the patch that must be full of edges; blurred codes have uneven edges."""

_EMPTY = 0.2
"""Of a row of 18 random modules less than 4 are dark in 0.4 % of all rows."""

_FULL = 0.97

_CROSSINGS = 3.4
"""Three quarters of 12 random modules change 4.1 times on average; the strokes of a line of capitals 2.5 to 3 times."""

_CROSSINGS_OF_HALF = 2.2
"""The same of 7 modules, half of the smallest square code: 2.6 times."""

_CROSSINGS_ALONG_BARS = 2.0
"""Bars that stand a degree askew and all the words on their label, cut off badly, change 1.4 times."""

_CROSSINGS_ACROSS_BARS = 15.0
"""Three quarters of the shortest Code 128 (start, one character, check, stop: 25 bars and spaces) change 18 times."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Measures:
    """What can be measured on a patch without reading it."""

    shorter: float
    """The shorter side in pixels."""

    longer: float
    """The longer side in pixels."""

    crossings: float
    """Changes between dark and light along a row or a column inside the patch, on average, the fewer of the two."""

    most_crossings: float
    """The same, the more of the two."""

    emptiest: float
    """Dark share of the emptiest tenth of rows and columns: text has gaps there, a matrix code has none."""

    fullest: float
    """Dark share of the fullest tenth of rows and columns."""


def measure(patch: "NDArray[np.uint8]") -> Measures:
    """Measure a patch that stands upright, without its margin.

    Args:
        patch: grey levels, shape (height, width).
    """
    dark = _dark_inside(patch)
    crossings = sorted(float(np.diff(dark, axis=axis).sum(axis=axis).mean()) for axis in (0, 1))
    shares = [np.percentile(dark.mean(axis=axis), (10, 90)) for axis in (0, 1)]
    shorter, longer = sorted(patch.shape)
    return Measures(
        shorter=shorter,
        longer=longer,
        crossings=crossings[0],
        most_crossings=crossings[1],
        emptiest=float(min(low for low, _ in shares)),
        fullest=float(max(high for _, high in shares)),
    )


def _dark_inside(patch: "NDArray[np.uint8]") -> "NDArray[np.bool_]":
    """Return which pixels of a patch, without its outermost eighths, are dark by Otsu's threshold."""
    height, width = patch.shape
    core = patch[height // 8 : height - height // 8, width // 8 : width - width // 8]
    threshold = cv2.threshold(core, 0, 255, cv2.THRESH_BINARY + cv2.THRESH_OTSU)[0]
    return np.asarray(core <= threshold, dtype=np.bool_)


def looks_like_code(place: "Place", measures: Measures) -> bool:
    """Say whether an unread patch is more likely a matrix code than text or clutter.

    A matrix code is compact, every row and every column of it is about half dark and changes often, while text has gaps
    between lines and letters, and two or three strokes a letter. Thresholds by trial on rendered labels (see the
    tests). Bars are not told from text: an unread linear code is not reported.
    """
    return _is_full(place, measures) and measures.crossings > _CROSSINGS


def looks_like_half(place: "Place", measures: Measures) -> bool:
    """Say whether an unread patch may be what is seen of a half-covered code; some lines of text look so, too."""
    often = measures.most_crossings > _CROSSINGS and measures.crossings > _CROSSINGS_OF_HALF
    return _is_full(place, measures) and often


def _is_full(place: "Place", measures: Measures) -> bool:
    compact = measures.longer <= _LONGEST * measures.shorter and place.fill > _FILLED
    return compact and measures.emptiest > _EMPTY and measures.fullest < _FULL


def looks_like_bars(measures: Measures) -> bool:
    """Say whether a patch may be bars: many changes across them, hardly any along them."""
    return measures.crossings < _CROSSINGS_ALONG_BARS and measures.most_crossings > _CROSSINGS_ACROSS_BARS
