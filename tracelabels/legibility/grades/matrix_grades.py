"""The parameters of ISO/IEC 15415 that come from the reflectance of the modules.

Modulation, reflectance margin and fixed pattern damage share one rule: for each grade level, all modules below it count
as damaged; what is left of the error correction, or of the pattern, has a grade of its own; the lower of the two is the
grade at that level, and the best level counts.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from tracelabels.legibility.grades.reflectances import Reflectances
from tracelabels.legibility.grades.scale import (
    AVERAGE_DAMAGE,
    BEST,
    MODULE_MODULATION,
    UNUSED_ERROR_CORRECTION,
    WORST,
    GradeMethod,
)
from tracelabels.symbols.codewords import CodewordMap

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from numpy.typing import NDArray

    from tracelabels.legibility.grades.fixed_patterns import Segment


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ModuleReflectances(Reflectances):
    """The modules of a symbol with its quiet zone, as they are and as they should be."""

    dark: "NDArray[np.bool_]"
    """Which should be dark, shape (rows, columns) with quiet zone, as the reflectances."""

    @property
    def wrong(self) -> "NDArray[np.bool_]":
        """Return which modules are on the wrong side of the threshold."""
        below: NDArray[np.bool_] = self.reflectance < self.threshold
        return np.not_equal(below, self.dark)

    @property
    def modulation(self) -> "NDArray[np.float64]":
        """Return MOD of each module."""
        return module_modulation(self.reflectance, threshold=self.threshold, contrast=self.contrast)

    @property
    def margin(self) -> "NDArray[np.float64]":
        """Return the reflectance margin of each module: MOD, and 0 for a module on the wrong side."""
        return np.where(self.wrong, 0.0, self.modulation)


def module_modulation(
    reflectance: "NDArray[np.float64]", *, threshold: float, contrast: float
) -> "NDArray[np.float64]":
    """Return 2 |R - GT| / SC.

    >>> [round(float(mod), 3) for mod in module_modulation(np.array([0.42]), threshold=0.45, contrast=0.74)]
    [0.081]
    """
    if contrast <= 0.0:
        return np.zeros_like(reflectance)
    shares: NDArray[np.float64] = 2.0 * np.abs(reflectance - threshold) / contrast
    return shares


def modulation_grade(values: "NDArray[np.float64]", codewords: CodewordMap, method: GradeMethod) -> float:
    """Return the grade of modulation, or of reflectance margin, from the value of each module.

    Args:
        values: MOD or margin, shape (rows, columns) without quiet zone.
        codewords: where the codewords lie.
        method: whole or continuous grades.
    """
    grades = np.array([MODULE_MODULATION.grade(float(v), method) for v in codewords.least_per_codeword(values)])

    def left_at(level: float) -> float:
        return UNUSED_ERROR_CORRECTION.grade(codewords.unused(grades < level), method)

    return _best_level(grades, left_at)


def segment_grade(segment: "Segment", margin: "NDArray[np.float64]", method: GradeMethod) -> float:
    """Return the grade of a segment of the fixed pattern.

    Args:
        segment: which modules.
        margin: reflectance margin of each module, with quiet zone.
        method: whole or continuous grades.
    """
    grades = np.array([MODULE_MODULATION.grade(float(value), method) for value in margin[segment.modules]])

    def left_at(level: float) -> float:
        return segment.grade(segment.damage(grades < level), method)

    return _best_level(grades, left_at)


def segment_grades(
    segments: "Sequence[Segment]", margin: "NDArray[np.float64]", method: GradeMethod
) -> tuple[tuple[str, float], ...]:
    """Return the name and the grade of each segment; the arguments are those of segment_grade."""
    return tuple((segment.name, segment_grade(segment, margin, method)) for segment in segments)


def fixed_pattern_grade(parts: "Sequence[tuple[str, float]]", method: GradeMethod) -> float:
    """Return the grade of fixed pattern damage: the lowest segment, or the grade of their average if that is lower."""
    grades = [grade for _, grade in parts]
    return min(*grades, AVERAGE_DAMAGE.grade(sum(grades) / len(grades), method))


def _best_level(grades: "Iterable[float]", left_at: "Callable[[float], float]") -> float:
    """Return the best over all levels of the lower of level and of what is left at that level."""
    levels = {BEST, 3.0, 2.0, 1.0, *(float(grade) for grade in grades)} - {WORST}
    return max((min(level, left_at(level)) for level in levels), default=WORST)
