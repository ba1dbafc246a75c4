"""Why a place was not read, from measurements, and what a gloved person can do about it."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tracelabels.scanning.places import Place

_PIXELS_NEEDED = 54
"""3 pixels a module for 16 modules and a quiet zone: below 3 the plain reader loses square symbols (50-88 % at 2.5)."""

_MODULES_ASSUMED = 20
_BLUR_LIMIT = 0.5
"""Of a module: at this standard deviation of the blur the plain reader reads 0-19 % of our symbols."""

_DARK = 70
_CONTRAST_NEEDED = 40
_LONGEST = 4.6
"""Longer by shorter side; 8x32 has 4."""

_FILLED = 0.45
"""Share of the patch that must be full of edges; blurred codes have uneven edges."""

_EMPTY = 0.2
"""Of a row of 18 random modules less than 4 are dark in 0.4 % of all rows."""

_FULL = 0.97

_CROSSINGS = 3.4
"""Three quarters of 12 random modules change 4.1 times on average; the strokes of a line of capitals 2.5 to 3 times."""

_CROSSINGS_ALONG_BARS = 2.0
"""Bars that stand a degree askew and all the words on their label, cut off badly, change 1.4 times."""

_CROSSINGS_ACROSS_BARS = 15.0
"""Three quarters of the shortest Code 128 (start, one character, check, stop: 25 bars and spaces) change 18 times."""

_SATURATED = 252
_GLARE_SHARE = 0.08


@dataclass(frozen=True, slots=True, kw_only=True)
class Measures:
    """What can be measured on a patch without reading it."""

    shorter: float
    """The shorter side in pixels."""

    longer: float
    """The longer side in pixels."""

    lightest: float
    """Grey level that 95 % of the pixels stay below."""

    contrast: float
    """Between the darkest and the lightest 5 %, in grey levels."""

    blur: float
    """Standard deviation, in pixels, of the blur that would make the steepest edges as steep as they are."""

    glare: float
    """Share of the patch that is saturated in blots of more than a few modules."""

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
    levels = np.bincount(patch.ravel(), minlength=256)
    darkest, lightest = _level_above(levels, 0.05), _level_above(levels, 0.95)
    across, down = cv2.absdiff(patch[:, 1:], patch[:, :-1]), cv2.absdiff(patch[1:], patch[:-1])
    steps = sum(np.bincount(np.asarray(each).ravel(), minlength=256) for each in (across, down))
    steepest = _level_above(np.asarray(steps), 0.99) or 1.0
    dark = _dark_inside(patch)
    crossings = sorted(float(np.diff(dark, axis=axis).sum(axis=axis).mean()) for axis in (0, 1))
    shares = [np.percentile(dark.mean(axis=axis), (10, 90)) for axis in (0, 1)]
    shorter, longer = sorted(patch.shape)
    return Measures(
        shorter=shorter,
        longer=longer,
        lightest=lightest,
        contrast=lightest - darkest,
        blur=(lightest - darkest) / (steepest * np.sqrt(2.0 * np.pi)),
        glare=_glare(patch, shorter),
        crossings=crossings[0],
        most_crossings=crossings[1],
        emptiest=float(min(low for low, _ in shares)),
        fullest=float(max(high for _, high in shares)),
    )


def _level_above(counts: "NDArray[np.int64]", share: float) -> float:
    """Return the lowest level that a share of the pixels does not exceed (a percentile, by counting)."""
    total = counts.cumsum()
    return float(np.searchsorted(total, share * total[-1]))


def _glare(patch: "NDArray[np.uint8]", shorter: float) -> float:
    """Return the share of saturated pixels that lie in blots wider than three modules."""
    width = max(3, int(3 * shorter / _MODULES_ASSUMED))
    saturated = (patch >= _SATURATED).astype(np.uint8)
    blots = cv2.morphologyEx(saturated, cv2.MORPH_OPEN, np.ones((width, width), dtype=np.uint8))
    return float(np.asarray(blots).mean())


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
    compact = measures.longer <= _LONGEST * measures.shorter and place.fill > _FILLED
    return compact and measures.crossings > _CROSSINGS and measures.emptiest > _EMPTY and measures.fullest < _FULL


def looks_like_bars(measures: Measures) -> bool:
    """Say whether a patch may be bars: many changes across them, hardly any along them."""
    return measures.crossings < _CROSSINGS_ALONG_BARS and measures.most_crossings > _CROSSINGS_ACROSS_BARS


def reason(place: "Place", measures: Measures, picture_size: tuple[int, int]) -> str:
    """Return why a place was not read, as far as it can be measured, and what to do.

    Args:
        place: where it is.
        measures: of the patch.
        picture_size: the picture's width and height in pixels.
    """
    if _runs_out(place, picture_size):
        return "the code runs out of the picture: show the whole label"
    return next(sentence for holds, sentence in _findings(measures) if holds)


def _findings(measures: Measures) -> tuple[tuple[bool, str], ...]:
    """Return what may be wrong with a patch, the surest first; the last always holds."""
    module = measures.shorter / _MODULES_ASSUMED
    return (
        (
            measures.longer < _PIXELS_NEEDED,
            f"the code is only {measures.longer:.0f} pixels wide, about {_PIXELS_NEEDED} are needed: come closer",
        ),
        (
            measures.lightest < _DARK,
            f"the label is too dark (grey level {measures.lightest:.0f} of 255): more light",
        ),
        (
            measures.contrast < _CONTRAST_NEEDED,
            f"code and label differ by only {measures.contrast:.0f} grey levels of 255: more light, no shadow",
        ),
        (
            measures.glare > _GLARE_SHARE,
            f"glare covers {measures.glare:.0%} of the code: tilt the label or move the lamp",
        ),
        (
            measures.blur > _BLUR_LIMIT * module,
            f"the code is blurred over about {2.0 * measures.blur:.0f} pixels: hold still and let the camera focus",
        ),
        (True, "the code is there and was not read: take it straight from above, flat and closer"),
    )


def _runs_out(place: "Place", picture_size: tuple[int, int]) -> bool:
    width, height = picture_size
    return any(x < 0 or y < 0 or x > width or y > height for x, y in place.corners)


def advice_without_places(grey: "NDArray[np.uint8]") -> str:
    """Return what to do when nothing was read and nothing looks like a code.

    Args:
        grey: the picture, shape (height, width).
    """
    darkest, lightest = np.percentile(grey[::4, ::4], (1, 99)).tolist()
    if lightest < _DARK:
        return f"the picture is too dark (grey level {lightest:.0f} of 255): more light"
    if lightest - darkest < _CONTRAST_NEEDED:
        return f"the picture is nearly one grey ({lightest - darkest:.0f} levels of 255): nothing to be seen on it"
    return "nothing in the picture looks like a code: come closer and show the label's code"
