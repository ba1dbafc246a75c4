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
    from numpy.typing import NDArray

_AT_ONCE: Final = 216
"""Maps sampled together: no threads are started for so few."""
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
    groups: "NDArray[np.float32]"
    """1 where a pair belongs to a group, shape (groups, pairs)."""
    wanted: "NDArray[np.float32]"
    """Where it does, the difference that the pattern has (-2, 0 or 2), likewise."""
    counts: "NDArray[np.float32]"
    """Pairs of each group, shape (groups, 1), like the next."""
    powers_wanted: "NDArray[np.float32]"
    """Sum of the squared differences that each group has."""
    weights: "NDArray[np.float32]"
    """Of each group."""


def sampled(
    levels: "NDArray[np.float32]", powers: "NDArray[np.float32]", surfaces: "NDArray[np.float64]"
) -> "NDArray[np.float32]":
    """Return the levels at points under each surface, shape (surfaces, points)."""
    (seen,) = sampled_together((levels,), powers, surfaces)
    return seen


def sampled_together(
    pictures: "tuple[NDArray[np.float32], ...]", powers: "NDArray[np.float32]", surfaces: "NDArray[np.float64]"
) -> "tuple[NDArray[np.float32], ...]":
    """Return the same points of several pictures of one size, each of shape (surfaces, points)."""
    across, down = np.ascontiguousarray(surfaces.transpose(2, 0, 1), dtype=np.float32)
    across[:, 0] -= np.float32(0.5)
    down[:, 0] -= np.float32(0.5)
    seen = tuple(np.empty((len(surfaces), powers.shape[1]), dtype=np.float32) for _ in pictures)
    for start in range(0, len(surfaces), _AT_ONCE):
        part = slice(start, start + _AT_ONCE)
        x, y = across[part] @ powers, down[part] @ powers
        for one, of_one in zip(pictures, seen, strict=True):
            as_seen = np.asarray(one, dtype=np.float32)  # of another type, the library would not fill what it is given
            cv2.remap(as_seen, x, y, cv2.INTER_LINEAR, dst=of_one[part], borderMode=cv2.BORDER_REPLICATE)
    return seen


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
    seen = np.ascontiguousarray(sampled(levels, pairs.powers, surfaces).T)  # whole rows are taken from it
    steps = seen[pairs.first]
    steps -= seen[pairs.second]
    mean = np.abs(steps).mean(axis=0) + np.float32(1e-3)
    largest = _LARGEST * mean
    np.minimum(steps, largest, out=steps)
    np.maximum(steps, -largest, out=steps)
    along = pairs.wanted @ steps
    np.square(steps, out=steps)
    own = pairs.groups @ steps + _FAINT * mean**2 * pairs.counts
    return np.asarray(pairs.weights @ (along / np.sqrt(own * pairs.powers_wanted)), dtype=np.float32)


def pairs_of(shape: SymbolShape) -> int:
    """Return how many pairs of neighbouring modules are compared."""
    return len(_pairs(shape).first)


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
    groups = np.stack([group == name for name in names]).astype(np.float32)
    counted = groups.any(axis=0)
    wanted, groups = wanted[counted] * groups[:, counted], np.ascontiguousarray(groups[:, counted])
    counts = groups.sum(axis=1, keepdims=True)
    weights = np.sqrt(counts[:, 0])
    return _Pairs(
        powers=np.ascontiguousarray(powers_at(middles, cells).T, dtype=np.float32),
        first=first[counted],
        second=second[counted],
        groups=groups,
        wanted=wanted,
        counts=counts,
        powers_wanted=np.asarray((wanted**2).sum(axis=1, keepdims=True), dtype=np.float32),
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
