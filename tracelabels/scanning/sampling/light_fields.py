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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Witnesses:
    """Modules of one colour, and how much they know about each place; all of shape (rows + 2, columns + 2)."""

    of: "NDArray[np.float64]"
    """1 for each of them."""
    nearness: "NDArray[np.float64]"
    """How near they are."""

    def said(self, levels: "NDArray[np.float64]") -> "NDArray[np.float64]":
        """Return their mean level near each module."""
        mine = levels * self.of
        mean = _FAR * mine.sum() / max(float(self.of.sum()), 1.0)
        return np.asarray((_spread(mine) + mean) / (self.nearness + _FAR), dtype=np.float64)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FieldOfFixed:
    """What the fixed modules that are counted say about light."""

    dark: _Witnesses | None
    """Dark modules; None if there are none."""
    light: _Witnesses | None
    """Light ones."""

    def seen_in(self, levels: "NDArray[np.float64]") -> LightField:
        """Return the field; where no module tells, the mean of all levels stands in.

        Args:
            levels: of modules, shape (rows + 2, columns + 2).
        """
        dark, light = (
            np.full(levels.shape, float(levels.mean())) if one is None else one.said(levels)
            for one in (self.dark, self.light)
        )
        return LightField(dark=dark, light=light)


def field_of_fixed(cells: "FixedCells", counted: "NDArray[np.bool_]") -> FieldOfFixed:
    """Return what the fixed modules among those counted can say."""
    known = cells.known & counted
    return FieldOfFixed(dark=_witnesses(known & cells.dark), light=_witnesses(known & ~cells.dark))


def _witnesses(of: "NDArray[np.bool_]") -> _Witnesses | None:
    counted = of.astype(np.float64)
    return _Witnesses(of=counted, nearness=_spread(counted)) if of.any() else None


def _spread(values: "NDArray[np.float64]") -> "NDArray[np.float64]":
    return np.asarray(cv2.GaussianBlur(values, (0, 0), _REACH, borderType=cv2.BORDER_CONSTANT), dtype=np.float64)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LightFields:
    """The ways to tell dark from light in one symbol."""

    whole: FieldOfFixed
    """By the whole fixed pattern."""
    singles: FieldOfFixed
    """By its single modules."""

    def seen_in(self, levels: "NDArray[np.float64]") -> "Iterator[LightField]":
        """Yield the fields, the most trusted first.

        Args:
            levels: of modules, shape (rows + 2, columns + 2).
        """
        yield self.whole.seen_in(levels)
        yield self.singles.seen_in(levels)
        yield _neighbourhood(levels)


def light_fields(cells: "FixedCells", seen: "NDArray[np.bool_]") -> LightFields:
    """Return the ways to tell dark from light.

    Args:
        cells: the fixed pattern.
        seen: modules that nothing hides, shape (rows + 2, columns + 2).
    """
    return LightFields(whole=field_of_fixed(cells, seen), singles=field_of_fixed(cells, seen & single_cells(cells)))


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
