"""Which patches of a picture are symbols that nobody read.

A symbol has rows and columns of modules, all of them with print, in both directions; stock lies beyond at least two of
its sides, also if something covers it or the picture ends. Text has gaps, a ruler has few changes along its marks.
"""

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from itertools import islice
from typing import TYPE_CHECKING, Final

import numpy as np

from tracelabels.scanning.advising.measuring import CodeMeasures, measure_code
from tracelabels.scanning.advising.upright import find_upright
from tracelabels.scanning.locating import Outline

if TYPE_CHECKING:
    from numpy.typing import NDArray

_FEWEST: Final = 5.5
"""Modules along the shorter side: half of the smallest square symbol has 7, and counting is good to a fifth."""
_MOST: Final = 62.0
_GAP: Final = 0.85
"""Modules: dead lines of a print head are narrower, the gap between lines of text is wider."""
_FULL: Final = 0.995
_LEAST_SQUEEZED: Final = 0.16
_CLEAR: Final = 0.75
_SMALL: Final = 2.3
_LEAST_CLEAR_IF_SMALL: Final = 3
"""The same where a module is less than so many samples wide, as the strokes of small letters are."""
_NOISE: Final = 3.0
"""Grey levels, which count in a deep shadow."""
_LEAST_CLEAR: Final = 2
"""Sides beyond which there is stock from end to end: a quiet zone. Outlines that run across text have none."""
_MOST_SPREAD: Final = 1.2
"""Modules: of a code that is blurred by more nothing is left; the edge of a shadow is."""
_LEAST_CONTRAST: Final = 25.0
"""Grey levels: paler print is looked for in another way."""
_MOST_OUTSIDE: Final = 2
"""Sides at which a code may run out of the picture: a corner's."""
_LEAST_WEIGHT: Final = 0.55
"""Of the best one's weight."""
MOST_LOOKED_AT: Final = 16
"""Outlines, the likeliest first: the right one is among the first ten, mostly the first."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Candidate:
    """A patch that is most likely a symbol."""

    outline: Outline
    """Its sides, in pixels of the picture."""
    measures: CodeMeasures
    """What was measured on it."""
    print_share: float
    """Of its outermost modules on all four sides."""
    weight: float
    """More for larger patches with print along their sides and stock beyond them."""


def find_candidates(
    grey: "NDArray[np.uint8]", outlines: Iterable[Outline], *, has_time: Callable[[], bool], most: int = MOST_LOOKED_AT
) -> tuple[Candidate, ...]:
    """Return the patches that are most likely symbols, the best first; of those that overlap only one.

    Args:
        grey: the picture, shape (height, width).
        outlines: in its pixels, the likeliest first.
        has_time: whether another patch may be looked at.
        most: so many of the outlines are looked at.
    """
    kept: list[Candidate] = []
    for candidate in sorted(_candidates(grey, islice(outlines, most), has_time), key=lambda one: -one.weight):
        if kept and candidate.weight < _LEAST_WEIGHT * kept[0].weight:
            break
        if not any(_overlap(candidate.outline, other.outline) for other in kept):
            kept.append(candidate)
    return tuple(kept)


def _candidates(
    grey: "NDArray[np.uint8]", outlines: Iterable[Outline], has_time: Callable[[], bool]
) -> Iterator[Candidate]:
    for outline in outlines:
        if not has_time():
            return
        candidate = find_candidate(grey, outline)
        if candidate is not None:
            yield candidate


def find_candidate(grey: "NDArray[np.uint8]", outline: Outline) -> Candidate | None:
    """Return a patch if it is most likely a symbol, else None.

    Args:
        grey: the picture, shape (height, width).
        outline: its sides, in pixels of the picture.
    """
    upright = find_upright(grey, outline)
    return None if upright is None else as_candidate(outline, measure_code(upright))


def as_candidate(outline: Outline, measures: CodeMeasures) -> Candidate | None:
    """Return a patch with its measures if it is most likely a symbol, else None."""
    if not _is_code(measures):
        return None
    share = float(np.mean([side.print_share for side in measures.sides]))
    weight = share * clear_sides(measures) * math.sqrt(outline.area**1.5 * outline.likeness)
    return Candidate(outline=outline, measures=measures, print_share=share, weight=weight)


def is_plausible(measures: CodeMeasures) -> bool:
    """Say whether a patch has as many modules as a code, and as much contrast as can be measured."""
    fewest, most = sorted(measures.modules)
    return (
        fewest > _FEWEST
        and most < _MOST
        and measures.light - measures.dark > _LEAST_CONTRAST
        and measures.squeezed > _LEAST_SQUEEZED
        and measures.spread.most < _MOST_SPREAD * max(measures.module)
    )


def _is_code(measures: CodeMeasures) -> bool:
    least_clear = _LEAST_CLEAR_IF_SMALL if max(measures.module) < _SMALL else _LEAST_CLEAR
    return (
        is_plausible(measures)
        and measures.gap < _GAP
        and measures.fullest < _FULL
        and sum(side.is_outside for side in measures.sides) <= _MOST_OUTSIDE
        and clear_sides(measures) >= least_clear
    )


def clear_sides(measures: CodeMeasures) -> int:
    """Return beyond how many sides there is stock from end to end."""
    return sum(side.darkest_beyond + _NOISE > _CLEAR * side.stock for side in measures.sides)


def _overlap(one: Outline, other: Outline) -> bool:
    return float(np.hypot(*(one.middle - other.middle))) < max(one.side, other.side)
