"""What modules look like at points of them: a pattern, softened as a picture is, with the print spread or not."""

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

from tracelabels.scanning.locating.surface import powers_at
from tracelabels.scanning.sampling.fixed_cells import FixedCells, SymbolShape, fixed_cells
from tracelabels.scanning.sampling.geometry import RING
from tracelabels.scanning.sampling.light_fields import single_cells

if TYPE_CHECKING:
    from numpy.typing import NDArray

_FINE: Final = 6
"""Pixels a module when a pattern is drawn."""
_SINGLE_WEIGHT: Final = 2.5
"""A single module says where modules lie, a solid side only where the symbol ends."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PointPlaces:
    """Points of a symbol."""

    powers: "NDArray[np.float32]"
    """The surface's terms at the points, shape (10, points)."""
    terms: "NDArray[np.float32]"
    """The same, shape (points, 10)."""
    squares: "NDArray[np.float32]"
    """Each term times each, shape (points, 100)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PatternPoints:
    """Levels to be expected at points."""

    levels: "NDArray[np.float32]"
    """-1 dark, 1 light, shape (points,)."""
    places: "PointPlaces"
    """Where the points lie."""
    weights: "NDArray[np.float32]"
    """How much each counts."""


@cache
def fixed_points(shape: SymbolShape, *, softened: float, spread: float) -> PatternPoints:
    """Return what the fixed pattern of a shape looks like, four points a module.

    Args:
        shape: the symbol.
        softened: standard deviation in modules.
        spread: by how much dark modules have grown on each side, in modules.
    """
    cells = fixed_cells(shape)
    known = np.repeat(np.repeat(cells.known, _FINE, axis=0), _FINE, axis=1)
    drawn = np.where(known, _drawn(cells.dark & cells.known, spread), 0.0)
    soft = cv2.GaussianBlur(drawn, (0, 0), softened * _FINE, borderType=cv2.BORDER_REPLICATE)
    down, right = (1 + 3 * index for index in np.mgrid[: 2 * known.shape[0] // _FINE, : 2 * known.shape[1] // _FINE])
    down, right = down[known[down, right]], right[known[down, right]]
    weights = np.where(single_cells(cells), _SINGLE_WEIGHT, 1.0)
    modules = (np.stack([right, down], axis=-1) + 0.5) / _FINE - RING
    return PatternPoints(
        levels=np.asarray(soft[down, right], dtype=np.float32),
        places=_places(modules, cells),
        weights=np.asarray(weights[down // _FINE, right // _FINE], dtype=np.float32),
    )


def seen_points(
    shape: SymbolShape, dark: "NDArray[np.bool_]", sureness: "NDArray[np.float64]", *, softened: float, spread: float
) -> PatternPoints:
    """Return what a symbol of these modules looks like, four points a module.

    Args:
        shape: the symbol.
        dark: with one module of quiet zone around it, shape (rows + 2, columns + 2).
        sureness: of each, 0 to 1.
        softened: standard deviation in modules.
        spread: by how much dark modules have grown on each side, in modules.
    """
    soft = cv2.GaussianBlur(_drawn(dark, spread), (0, 0), softened * _FINE, borderType=cv2.BORDER_REPLICATE)
    sure = np.repeat(np.repeat(np.clip(sureness, 0.05, 1.0), 2, axis=0), 2, axis=1)
    return PatternPoints(
        levels=np.asarray(soft[1::3, 1::3].ravel(), dtype=np.float32),
        places=_everywhere(shape),
        weights=np.asarray(sure.ravel(), dtype=np.float32),
    )


@cache
def _everywhere(shape: SymbolShape) -> PointPlaces:
    """Return four points of every module and of the ring around."""
    cells = fixed_cells(shape)
    rows, columns = cells.dark.shape
    down, right = np.mgrid[: 2 * rows, : 2 * columns]
    modules = (np.stack([right, down], axis=-1).reshape(-1, 2) * 3 + 1.5) / _FINE - RING
    return _places(modules, cells)


def _places(modules: "NDArray[np.float64]", cells: FixedCells) -> PointPlaces:
    terms = powers_at(modules, cells).astype(np.float32)
    squares = (terms[:, :, np.newaxis] * terms[:, np.newaxis]).reshape(len(terms), -1)
    return PointPlaces(powers=np.ascontiguousarray(terms.T), terms=terms, squares=squares)


def _drawn(dark: "NDArray[np.bool_]", spread: float) -> "NDArray[np.float32]":
    fine = np.repeat(np.repeat(dark, _FINE, axis=0), _FINE, axis=1).astype(np.uint8)
    grown = round(spread * _FINE)
    if grown:
        fine = np.asarray(cv2.dilate(fine, np.ones((2 * grown + 1, 2 * grown + 1), dtype=np.uint8)), dtype=np.uint8)
    return np.where(fine > 0, -1.0, 1.0).astype(np.float32)
