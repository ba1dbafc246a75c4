"""What dark and light are at each place, by three ways that fail in different light.

From the whole fixed pattern: sure, but a solid side is darker than a single module. From its single modules alone (the
tracks): right where the print has spread or the picture is blurred. From the neighbourhood: right behind the edge of a
shadow that the fixed pattern does not see.
"""

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from tracelabels.scanning.sampling.fixed_cells import FixedCells

_REACH: Final = 3.0
"""Modules: how far a fixed module vouches for its surroundings."""
_FAR: Final = 1e-3
"""Weight of the mean of all, where no fixed module is near."""
_LEAST_CONTRAST: Final = 1.0
_NEIGHBOURS: Final = 5
"""Side of the neighbourhood in modules: of 25 random modules all are of one colour once in 10 million."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LightField:
    """Levels of dark and light modules at each module, shape (rows + 2, columns + 2)."""

    dark: "NDArray[np.float64]"
    """Level that a dark module would have here."""
    light: "NDArray[np.float64]"
    """Level that a light module would have here."""

    @property
    def threshold(self) -> "NDArray[np.float64]":
        """Return the level in the middle."""
        return (self.dark + self.light) / 2.0

    @property
    def contrast(self) -> "NDArray[np.float64]":
        """Return how much lighter light is than dark, at least one grey level."""
        return np.maximum(self.light - self.dark, _LEAST_CONTRAST)


def light_fields(
    levels: "NDArray[np.float64]", cells: "FixedCells", seen: "NDArray[np.bool_]"
) -> "Iterator[LightField]":
    """Yield the fields, the most trusted first.

    Args:
        levels: of modules.
        cells: the fixed pattern.
        seen: modules that nothing hides.
    """
    yield pattern_field(levels, cells, seen)
    yield pattern_field(levels, cells, seen & single_cells(cells))
    yield _neighbourhood(levels)


def pattern_field(levels: "NDArray[np.float64]", cells: "FixedCells", counted: "NDArray[np.bool_]") -> LightField:
    """Return the field that the fixed modules among those counted say."""
    known = cells.known & counted
    return LightField(dark=_spread(levels, known & cells.dark), light=_spread(levels, known & ~cells.dark))


def _spread(levels: "NDArray[np.float64]", of: "NDArray[np.bool_]") -> "NDArray[np.float64]":
    """Return the mean level of these modules near each module."""
    if not of.any():
        return np.full(levels.shape, float(levels.mean()))
    weight = cv2.GaussianBlur(of.astype(np.float64), (0, 0), _REACH, borderType=cv2.BORDER_CONSTANT)
    total = cv2.GaussianBlur(np.where(of, levels, 0.0), (0, 0), _REACH, borderType=cv2.BORDER_CONSTANT)
    return np.asarray((total + _FAR * levels[of].mean()) / (weight + _FAR), dtype=np.float64)


@cache
def single_cells(cells: "FixedCells") -> "NDArray[np.bool_]":
    """Return the fixed modules that have a fixed neighbour of the other colour on two sides."""
    dark, known = np.pad(cells.dark, 1, mode="edge"), np.pad(cells.known, 1)
    middle = (slice(1, -1), slice(1, -1))
    other = np.zeros(cells.dark.shape, dtype=int)
    for shift, axis in ((1, 0), (-1, 0), (1, 1), (-1, 1)):
        other += (np.roll(dark, shift, axis) != dark)[middle] & np.roll(known, shift, axis)[middle]
    return np.asarray(other >= 2, dtype=np.bool_)  # noqa: PLR2004  as said


def _neighbourhood(levels: "NDArray[np.float64]") -> LightField:
    side = np.ones((_NEIGHBOURS, _NEIGHBOURS), dtype=np.uint8)
    darkest = cv2.GaussianBlur(cv2.erode(levels, side), (0, 0), 1.0)
    lightest = cv2.GaussianBlur(cv2.dilate(levels, side), (0, 0), 1.0)
    return LightField(dark=np.asarray(darkest), light=np.asarray(lightest))
