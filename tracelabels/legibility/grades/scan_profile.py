"""One scan line across a linear symbol: reflectance along it, its edges and its elements (ISO/IEC 15416)."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from tracelabels.legibility.grades.grade import ParameterName
from tracelabels.legibility.grades.reflectances import Reflectances
from tracelabels.legibility.grades.scale import (
    LINEAR_DECODABILITY,
    LINEAR_DEFECTS,
    LINEAR_MODULATION,
    SYMBOL_CONTRAST,
    GradeMethod,
    pass_or_fail,
)

if TYPE_CHECKING:
    from numpy.typing import NDArray

LEAST_EDGE_CONTRAST = 0.15
"""Smallest edge contrast that passes (ISO/IEC 15416)."""

LARGEST_DARK_SHARE = 0.5
"""Rmin over Rmax above which the minimum reflectance fails (ISO/IEC 15416)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ScanProfile(Reflectances):
    """Reflectances through the aperture along a line, shape (n,), from one quiet zone through all bars to the other."""

    @property
    def edges(self) -> "NDArray[np.float64]":
        """Return where the profile crosses the global threshold, midway between Rmax and Rmin; in samples."""
        above = self.reflectance - self.threshold
        before = np.flatnonzero((above[:-1] >= 0.0) != (above[1:] >= 0.0))
        places: NDArray[np.float64] = before + above[before] / (above[before] - above[before + 1])
        return places

    @property
    def elements(self) -> "list[NDArray[np.float64]]":
        """Return the reflectances of each element: quiet zone, bar, space ... bar, quiet zone."""
        return np.split(self.reflectance, np.floor(self.edges).astype(int) + 1)

    def measure(self) -> "ProfileMeasures":
        """Return what ISO/IEC 15416 takes from the profile's heights."""
        elements = self.elements
        bars = [float(element.min()) for element in elements[1::2]]
        spaces = [float(element.max()) for element in elements[0::2]]
        steps = [abs(space - bar) for space, bar in zip(spaces, bars, strict=False)]
        steps += [abs(space - bar) for space, bar in zip(spaces[1:], bars, strict=False)]
        edge = min(steps, default=0.0)
        uneven = max(*(_deepest(space) for space in elements[0::2]), *(_deepest(-bar) for bar in elements[1::2]), 0.0)
        contrast = self.contrast
        return ProfileMeasures(
            highest=self.highest,
            lowest=self.lowest,
            edge_contrast=edge,
            modulation=edge / contrast if contrast > 0.0 else 0.0,
            defects=uneven / contrast if contrast > 0.0 else 1.0,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class ProfileMeasures:
    """Heights of one profile, reflectances 0 to 1."""

    highest: float
    """Rmax."""
    lowest: float
    """Rmin."""
    edge_contrast: float
    """ECmin: least step between neighbouring elements."""
    modulation: float
    """ECmin / SC."""
    defects: float
    """ERNmax / SC."""

    @property
    def contrast(self) -> float:
        """Return SC."""
        return self.highest - self.lowest


@dataclass(frozen=True, slots=True, kw_only=True)
class ScanLine:
    """All measures of one scan line with their grades."""

    measures: ProfileMeasures
    """From the profile's heights."""
    decoded: bool
    """Whether the reference decoder makes the right characters of its edges."""
    quiet: bool
    """Whether no edge lies in the quiet zones."""
    decodability: float
    """V: what is left of the decoder's room, 0 to 1; 0 if it was not decoded."""

    def values(self) -> dict[ParameterName, float | None]:
        """Return the value of each parameter, shares; None for one that only passes or fails."""
        heights = self.measures
        return {
            ParameterName.DECODE: None,
            ParameterName.QUIET_ZONE: None,
            ParameterName.MINIMUM_REFLECTANCE: heights.lowest,
            ParameterName.EDGE_CONTRAST: heights.edge_contrast,
            ParameterName.SYMBOL_CONTRAST: heights.contrast,
            ParameterName.MODULATION: heights.modulation,
            ParameterName.DEFECTS: heights.defects,
            ParameterName.DECODABILITY: self.decodability,
        }

    def grades(self, method: GradeMethod) -> dict[ParameterName, float]:
        """Return the grade of each parameter."""
        heights = self.measures
        dark_enough = heights.lowest <= LARGEST_DARK_SHARE * heights.highest
        steep_enough = heights.edge_contrast >= LEAST_EDGE_CONTRAST
        return {
            ParameterName.DECODE: pass_or_fail(passed=self.decoded),
            ParameterName.QUIET_ZONE: pass_or_fail(passed=self.quiet),
            ParameterName.MINIMUM_REFLECTANCE: pass_or_fail(passed=dark_enough),
            ParameterName.EDGE_CONTRAST: pass_or_fail(passed=steep_enough),
            ParameterName.SYMBOL_CONTRAST: SYMBOL_CONTRAST.grade(heights.contrast, method),
            ParameterName.MODULATION: LINEAR_MODULATION.grade(heights.modulation, method),
            ParameterName.DEFECTS: LINEAR_DEFECTS.grade(heights.defects, method),
            ParameterName.DECODABILITY: LINEAR_DECODABILITY.grade(self.decodability, method),
        }

    def grade(self, method: GradeMethod) -> float:
        """Return the lowest of all."""
        return min(self.grades(method).values())


def _deepest(levels: "NDArray[np.float64]") -> float:
    """Return ERN of a space: the deepest valley that lies between higher places on both sides within the element.

    So the flanks of the element's own edges belong to no defect. Turned upside down, the same holds for a bar.
    """
    if len(levels) < 3:  # noqa: PLR2004  a valley has two sides
        return 0.0
    left = np.maximum.accumulate(levels)
    right = np.maximum.accumulate(levels[::-1])[::-1]
    return float((np.minimum(left, right) - levels).max())
