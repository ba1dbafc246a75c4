"""How well a picture agrees with a fixed pattern under a map: differences between neighbouring modules.

Levels alone agree with every dark patch that has stock around it. Differences between neighbours do not, and what light
falls on a symbol hardly changes them. They are compared side by side of the symbol (a solid side, a clock track), each
side counting by the root of its pairs, so that strong edges do not drown the faint ones of a blurred clock track.
"""

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

from tracelabels.scanning.locating.surface import powers_at
from tracelabels.scanning.sampling.fixed_cells import FixedCells, SymbolShape, fixed_cells
from tracelabels.scanning.sampling.geometry import RING, module_points

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

_AT_ONCE: Final = 96
"""Maps sampled together: what they take stays in the processor's cache, and no threads are started for it."""
_NEAR_SIDE: Final = 2.6
"""Modules: pairs deeper inside form a group of their own."""
_INSIDE: Final = 4
_FEW: Final = 5
_LARGEST: Final = 2.4
"""Times the mean difference: what is larger is glare or a scratch."""
_FAINT: Final = 0.05
"""Of the squared mean difference: what is fainter in a whole group is noise, not a clock track."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Pairs:
    """Neighbouring fixed modules of a shape."""

    powers: "NDArray[np.float32]"
    """Terms at the middle of each fixed module, shape (10, modules)."""
    first: "NDArray[np.intp]"
    second: "NDArray[np.intp]"
    wanted: "NDArray[np.float32]"
    """Difference that the pattern has: -2, 0 or 2."""
    groups: "NDArray[np.float32]"
    """1 where a pair belongs to a group, shape (pairs, groups)."""
    counts: "NDArray[np.float32]"
    """Pairs of each group."""
    powers_wanted: "NDArray[np.float32]"
    """Sum of the squared differences that each group has."""
    weights: "NDArray[np.float32]"
    """Of each group."""


def sampled(
    levels: "NDArray[np.float32]", powers: "NDArray[np.float32]", surfaces: "NDArray[np.float64]"
) -> "NDArray[np.float32]":
    """Return the levels at points under each surface, shape (surfaces, points)."""
    return np.concatenate([one for (one,) in _sampled((levels,), powers, surfaces)])


def _sampled(
    pictures: "tuple[NDArray[np.float32], ...]", powers: "NDArray[np.float32]", surfaces: "NDArray[np.float64]"
) -> "Iterator[tuple[NDArray[np.float32], ...]]":
    for start in range(0, len(surfaces), _AT_ONCE):
        part = surfaces[start : start + _AT_ONCE].astype(np.float32)
        x, y = (part[:, :, axis] @ powers - np.float32(0.5) for axis in (0, 1))
        yield tuple(
            np.asarray(cv2.remap(one, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE), dtype=np.float32)
            for one in pictures
        )


def sampled_together(
    pictures: "tuple[NDArray[np.float32], ...]", powers: "NDArray[np.float32]", surfaces: "NDArray[np.float64]"
) -> "tuple[NDArray[np.float32], ...]":
    """Return the same points of several pictures of one size, each of shape (surfaces, points)."""
    parts = list(_sampled(pictures, powers, surfaces))
    return tuple(np.concatenate(column) for column in zip(*parts, strict=True))


def agreements(
    levels: "NDArray[np.float32]", surfaces: "NDArray[np.float64]", shape: SymbolShape
) -> "NDArray[np.float32]":
    """Return how well a picture agrees with a shape under each surface, at most 1, about 0 for chance.

    Args:
        levels: the picture, shape (height, width).
        surfaces: shape (n, 10, 2).
        shape: the symbol.
    """
    pairs = _pairs(shape)
    seen = sampled(levels, pairs.powers, surfaces)
    steps = seen[:, pairs.first] - seen[:, pairs.second]
    mean = np.abs(steps).mean(axis=1, keepdims=True) + np.float32(1e-3)
    np.clip(steps, -_LARGEST * mean, _LARGEST * mean, out=steps)
    along = (steps * pairs.wanted) @ pairs.groups
    own = (steps * steps) @ pairs.groups + _FAINT * mean**2 * pairs.counts
    return np.asarray((along / np.sqrt(own * pairs.powers_wanted)) @ pairs.weights, dtype=np.float32)


@cache
def _pairs(shape: SymbolShape) -> _Pairs:
    cells = fixed_cells(shape)
    numbers = np.full(cells.known.shape, -1)
    numbers[cells.known] = np.arange(int(cells.known.sum()))
    middles = module_points(cells.rows, cells.columns, np.zeros((1, 2)))[cells.known][:, 0]
    first, second, side, along = _neighbours(cells, numbers, middles)
    dark = cells.dark[cells.known]
    wanted = 2.0 * (dark[second].astype(np.float32) - dark[first])
    group = _merged(2 * side + along, wanted)
    names = [name for name in np.unique(group).tolist() if wanted[group == name].any()]
    groups = np.stack([group == name for name in names], axis=1).astype(np.float32)
    counted = groups.any(axis=1)
    wanted, groups = wanted[counted], groups[counted]
    counts = groups.sum(axis=0)
    weights = np.sqrt(counts)
    return _Pairs(
        powers=np.ascontiguousarray(powers_at(middles, cells).T, dtype=np.float32),
        first=first[counted],
        second=second[counted],
        wanted=wanted,
        groups=groups,
        counts=counts,
        powers_wanted=np.asarray((wanted**2) @ groups, dtype=np.float32),
        weights=weights / weights.sum(),
    )


def _neighbours(
    cells: FixedCells, numbers: "NDArray[np.intp]", middles: "NDArray[np.float64]"
) -> "tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.intp], NDArray[np.intp]]":
    """Return the two modules of each pair, the side that it is near, and whether it lies across or down."""
    ring = np.pad(np.zeros((cells.rows, cells.columns), dtype=bool), RING, constant_values=True)[cells.known]
    found = []
    for along, (one, other) in enumerate(((numbers[:, :-1], numbers[:, 1:]), (numbers[:-1], numbers[1:]))):
        first, second = one.ravel(), other.ravel()
        both = (first >= 0) & (second >= 0)
        first, second = first[both], second[both]
        inner = ~(ring[first] & ring[second])
        first, second = first[inner], second[inner]
        right, down = ((middles[first] + middles[second]) / 2.0).T
        from_sides = np.stack([right, cells.columns - right, down, cells.rows - down])
        side = np.where(from_sides.min(axis=0) > _NEAR_SIDE, _INSIDE, from_sides.argmin(axis=0))
        found.append((first, second, side, np.full(len(first), along)))
    columns = [np.concatenate(column) for column in zip(*found, strict=True)]
    return columns[0], columns[1], columns[2], columns[3]


def _merged(group: "NDArray[np.intp]", wanted: "NDArray[np.float32]") -> "NDArray[np.intp]":
    """Put pairs that show nothing by themselves (along a solid side) with the other pairs of their side."""
    merged = group.copy()
    for name in range(2 * (_INSIDE + 1)):
        mine = merged == name
        if mine.any() and (not wanted[mine].any() or mine.sum() < _FEW):
            merged[mine] = name ^ 1
    return merged
