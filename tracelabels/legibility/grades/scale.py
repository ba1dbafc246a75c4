"""From a measured value to a grade, 4 (best) to 0: the whole grades of 2011 and the continuous ones that came later.

Whole grades are steps. Continuous grades (ISO/IEC 15416 from 2016, ISO/IEC 15415 from 2024) run in a straight line from
one threshold to the next and are given to one decimal. The tables hold the thresholds of the grades 4, 3, 2 and 1; a
tail is the value at which the continuous grade reaches 0 beyond the threshold of grade 1. Where no tail was found in a
text, the continuous grade falls to 0 at once.

The changes of ISO/IEC 15415:2024 beside the scale (its own threshold between light and dark, contrast from the lightest
and darkest 1 %, modulation and reflectance margin in one) are not made: the text was not open.
"""

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

import numpy as np

BEST: Final = 4.0
WORST: Final = 0.0
_GRADES: Final = (4.0, 3.0, 2.0, 1.0)


class GradeMethod(StrEnum):
    """How a value becomes a grade."""

    WHOLE_2011 = "whole-2011"
    """Whole grades 4, 3, 2, 1, 0, as in ISO/IEC 15415:2011 and ISO/IEC 15416 before 2016."""
    CONTINUOUS = "continuous"
    """Straight lines between the same thresholds, one decimal, as in ISO/IEC 15416:2016."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Thresholds:
    """The values at which the grades 4, 3, 2 and 1 are reached."""

    levels: tuple[float, float, float, float]
    """For grade 4, 3, 2, 1; rising values if little is good, falling ones if much is good."""
    source: str
    """Edition and table, or where the numbers were read."""
    tail: float | None = None
    """Value at which the continuous grade is down to 0; None: at once beyond the threshold of grade 1."""

    @property
    def rising(self) -> bool:
        """Say whether small values are the good ones."""
        return self.levels[0] < self.levels[-1]

    def grade(self, value: float, method: GradeMethod) -> float:
        """Return the grade of a value.

        >>> SYMBOL_CONTRAST.grade(0.55, GradeMethod.WHOLE_2011), SYMBOL_CONTRAST.grade(0.30, GradeMethod.CONTINUOUS)
        (3.0, 1.5)
        """
        if method is GradeMethod.WHOLE_2011:
            return self._whole(value)
        return round(self._continuous(value), 1)

    def _whole(self, value: float) -> float:
        sign = 1.0 if self.rising else -1.0
        for grade, level in zip(_GRADES, self.levels, strict=True):
            if sign * value <= sign * level + _ROUNDING:
                return grade
        return WORST

    def _continuous(self, value: float) -> float:
        sign = 1.0 if self.rising else -1.0
        places = [sign * level for level in self.levels]
        grades = list(_GRADES)
        if self.tail is not None:
            places.append(sign * self.tail)
            grades.append(WORST)
        elif sign * value > places[-1] + _ROUNDING:
            return WORST
        return float(np.interp(sign * value, places, grades))


_ROUNDING: Final = 1e-9
"""A value that was computed to lie on a threshold is on it."""

_LINEAR: Final = "ISO/IEC 15416, thresholds as in a public print-quality table; continuous form of the 2016 edition"
_MATRIX: Final = "ISO/IEC 15415:2011, thresholds as in a public reference manual"
_GS1_2D: Final = (
    "GS1 2D Barcode Verification Process Implementation Guideline, tables 9-1 to 9-6, as cited in public code"
)
_QR_FIXED: Final = "ISO/IEC 18004, annex on print quality, fixed pattern damage (thresholds from memory)"

SYMBOL_CONTRAST: Final = Thresholds(levels=(0.70, 0.55, 0.40, 0.20), tail=0.15, source=_LINEAR)
"""Rmax - Rmin, the same in ISO/IEC 15415 and 15416."""

LINEAR_MODULATION: Final = Thresholds(levels=(0.70, 0.60, 0.50, 0.40), tail=0.30, source=_LINEAR)
"""Least edge contrast over symbol contrast."""

LINEAR_DEFECTS: Final = Thresholds(levels=(0.15, 0.20, 0.25, 0.30), source=_LINEAR)
"""Largest unevenness within an element over symbol contrast; it has no grades between 0 and 1."""

LINEAR_DECODABILITY: Final = Thresholds(levels=(0.62, 0.50, 0.37, 0.25), tail=0.20, source=_LINEAR)
"""What is left of the decoder's room."""

MODULE_MODULATION: Final = Thresholds(levels=(0.50, 0.40, 0.30, 0.20), source=_MATRIX)
"""2 |R - GT| / SC of one module."""

AXIAL_NONUNIFORMITY: Final = Thresholds(levels=(0.06, 0.08, 0.10, 0.12), source=f"ISO/IEC 15415:2011; {_GS1_2D}")
"""Difference of the average module sizes over their mean."""

GRID_NONUNIFORMITY: Final = Thresholds(levels=(0.38, 0.50, 0.63, 0.75), source=f"ISO/IEC 15415:2011; {_GS1_2D}")
"""Largest displacement of a grid intersection over X."""

UNUSED_ERROR_CORRECTION: Final = Thresholds(levels=(0.62, 0.50, 0.37, 0.25), source=f"ISO/IEC 15415:2011; {_GS1_2D}")
"""1 - (e + 2 t) / (d - p)."""

SOLID_DAMAGE: Final = Thresholds(levels=(0.0, 0.09, 0.13, 0.17), source=f"ISO/IEC 16022:2006 annex M; {_GS1_2D}")
"""Share of damaged modules of a solid side or a quiet zone of Data Matrix."""

AVERAGE_DAMAGE: Final = Thresholds(
    levels=(4.0, 3.5, 3.0, 2.5), source="ISO/IEC 16022:2006 annex M, average grade (from memory)"
)
"""Average grade of the segments of a fixed pattern."""

QR_CORNER_DAMAGE: Final = Thresholds(levels=(0.0, 1.0, 2.0, 3.0), source=_QR_FIXED)
"""Number of damaged modules of a finder with its separator and quiet zone."""

QR_TIMING_DAMAGE: Final = Thresholds(levels=(0.0, 0.07, 0.11, 0.14), source=_QR_FIXED)
"""Share of damaged modules of a timing pattern."""

QR_ALIGNMENT_DAMAGE: Final = Thresholds(levels=(0.0, 0.10, 0.20, 0.30), source=_QR_FIXED)
"""Share of damaged modules of the alignment patterns."""

CLOCK_TRACK_STEPS: Final = (0.10, 0.15, 0.20, 0.25)
"""Share of irregular modules of a clock track below which it has grade 4, 3, 2, 1: here the limit itself is worse."""


def clock_track_grade(share: float, method: GradeMethod) -> float:
    """Return the grade of a clock track of Data Matrix (source: as for :data:`SOLID_DAMAGE`).

    >>> [clock_track_grade(share, GradeMethod.WHOLE_2011) for share in (0.09, 0.10, 0.25)]
    [4.0, 3.0, 0.0]
    """
    if method is GradeMethod.CONTINUOUS:
        levels = Thresholds(levels=CLOCK_TRACK_STEPS, source=SOLID_DAMAGE.source)
        return WORST if share >= CLOCK_TRACK_STEPS[-1] else levels.grade(share, method)
    below = [share < step for step in CLOCK_TRACK_STEPS]
    return float(sum(below))


def pass_or_fail(*, passed: bool) -> float:
    """Return grade 4 or 0 of a parameter that only passes or fails."""
    return BEST if passed else WORST


def letter(grade: float) -> str:
    """Return the letter of a grade, as people quote it (limits from memory of ISO/IEC 15416).

    >>> letter(3.5), letter(1.5), letter(0.4)
    ('A', 'C', 'F')
    """
    limits = (("A", 3.5), ("B", 2.5), ("C", 1.5), ("D", 0.5))
    return next((name for name, least in limits if grade >= least - _ROUNDING), "F")
