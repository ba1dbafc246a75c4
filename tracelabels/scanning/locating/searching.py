"""Maps moved about: which shape and which quarter turn agree with an outline, and roughly where.

An outline is good to about a module, a clock track repeats after two: least squares alone would slip by a period.
"""

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Final

import numpy as np

from tracelabels.scanning.locating.agreement import agreements
from tracelabels.scanning.locating.surface import (
    BOWS,
    CROSS,
    DOWN,
    RIGHT,
    TERMS,
    THIRD,
    module_side,
    module_steps,
    slid_along,
    surface_through,
)
from tracelabels.scanning.sampling.fixed_cells import SymbolShape, fixed_cells

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from tracelabels.scanning.locating.window import Window

SOFTENED: Final = 0.25
"""Modules: how soft the picture is in which maps are compared."""
_SHARPENED: Final = 0.6
"""Modules: the blur that is undone before; what was sharp already is not hurt."""
_ASPECTS: Final = (0.28, 3.5)
"""How much longer or shorter than drawn a symbol may look: a tilt of 70 degrees leaves a third."""
_ENDS: Final = (-1.2, -0.4, 0.4, 1.2)
"""Modules by which either end of a side is moved."""
_WARPS: Final = (-0.26, -0.13, 0.0, 0.13, 0.26)
"""Shares of half a side by which its middle is moved: a tube seen from the side crowds modules at its edge."""
_KEPT: Final = 2
_TRIED: Final = 14
"""Of shapes and turns: how many are looked at closely."""
_LEAST_ROUGH: Final = 0.5
"""Agreement of the best rough start: where a symbol was, 0.55 or more (83 pictures)."""
_ROUGH_SHARE: Final = 0.6
"""Of the best's agreement: starts with less are not looked at closely."""
_SEARCHES: Final = 3
_FOUND: Final = 0.9
"""Agreement of a map that is right, mostly: no other moves are tried."""
_NARROWING: Final = (1.6, 1.4, 1.1, 0.8, 0.6, 0.4, 0.3)
_NARROW: Final = (0.8, 0.5, 0.3)
_PARENTS: Final = 6
_CHILDREN: Final = 72
_SEED: Final = 11
"""The moves are the same every time: a picture is read the same way twice."""
_MOVED_SHARE: Final = 0.4


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Start:
    """A shape, a turn and the maps that agree best so far."""

    shape: SymbolShape
    """What it is held to be."""
    outline: "NDArray[np.float64]"
    """The surface through the outline's nodes."""
    surfaces: "NDArray[np.float64]"
    """The best first, shape (n, 10, 2)."""
    agreement: float
    """Of the best."""


def find_starts(window: "Window", nodes: "NDArray[np.float64]", shapes: tuple[SymbolShape, ...]) -> tuple[Start, ...]:
    """Return the shapes and turns that agree best with the window, the best first.

    Args:
        window: the part of the picture.
        nodes: of the outline, in the window, shape (8, 2).
        shapes: what may be there.
    """
    rough = sorted(_rough_starts(window, nodes, shapes), key=lambda start: -start.agreement)
    if not rough or rough[0].agreement < _LEAST_ROUGH:
        return ()
    close = [start for start in rough[:_TRIED] if start.agreement > _ROUGH_SHARE * rough[0].agreement]
    for search in range(_SEARCHES):
        close = sorted((_closer(window, start, search) for start in close), key=lambda start: -start.agreement)
        if close[0].agreement >= _FOUND:
            break
    return tuple(close)


def _rough_starts(window: "Window", nodes: "NDArray[np.float64]", shapes: tuple[SymbolShape, ...]) -> "Iterator[Start]":
    for turn in range(4):
        outline = surface_through(np.roll(nodes, -2 * turn, axis=0))
        aspect = float(np.hypot(*outline[RIGHT]) / max(float(np.hypot(*outline[DOWN])), 1e-6))
        for shape in shapes:
            cells = fixed_cells(shape)
            if _ASPECTS[0] < aspect * cells.rows / cells.columns < _ASPECTS[1]:
                yield _rough_start(window, outline, shape)


def _rough_start(window: "Window", outline: "NDArray[np.float64]", shape: SymbolShape) -> Start:
    cells = fixed_cells(shape)
    levels = _compared(window, outline, shape)
    surfaces = outline[np.newaxis]
    for along_columns, count in ((False, cells.columns), (True, cells.rows)):
        moved = slid_along(surfaces, _slides(count), along_columns=along_columns)
        surfaces, agreed = _best(moved, agreements(levels, moved, shape), _KEPT)
    return Start(shape=shape, outline=outline, surfaces=surfaces, agreement=float(agreed[0]))


def _compared(window: "Window", surface: "NDArray[np.float64]", shape: SymbolShape) -> "NDArray[np.float32]":
    side = module_side(surface, fixed_cells(shape))
    return window.view(softened=SOFTENED * side, sharpened_by=_SHARPENED * side).levels


def _best(
    surfaces: "NDArray[np.float64]", agreed: "NDArray[np.float32]", count: int
) -> "tuple[NDArray[np.float64], NDArray[np.float32]]":
    order = np.argsort(agreed)[::-1][:count]
    return surfaces[order], agreed[order]


@cache
def _slides(count: int) -> "NDArray[np.float64]":
    """Return shift, scale and warp for every move of the ends of a side of so many modules."""
    module = 2.0 / count
    return np.array(
        [
            ((start + end) * module / 2.0, 1.0 + (end - start) * module / 2.0, warp)
            for start in _ENDS
            for end in _ENDS
            for warp in _WARPS
        ]
    )


def _closer(window: "Window", start: Start, search: int) -> Start:
    levels = _compared(window, start.outline, start.shape)
    surfaces = np.concatenate([start.surfaces, start.outline[np.newaxis]])
    surfaces, agreed = narrowed(levels, surfaces, start.shape, _NARROWING, search=search)
    return Start(shape=start.shape, outline=start.outline, surfaces=surfaces, agreement=float(agreed[0]))


def narrowed(
    levels: "NDArray[np.float32]",
    surfaces: "NDArray[np.float64]",
    shape: SymbolShape,
    reaches: tuple[float, ...] = _NARROW,
    *,
    search: int = 0,
) -> "tuple[NDArray[np.float64], NDArray[np.float32]]":
    """Return the best of the surfaces and of moved ones, round by round less far; the best first, with agreements.

    Args:
        levels: the picture, shape (height, width).
        surfaces: shape (n, 10, 2).
        shape: the symbol.
        reaches: how far surfaces are moved in each round.
        search: which moves are tried.
    """
    cells = fixed_cells(shape)
    agreed = agreements(levels, surfaces, shape)
    for moves, reach in zip(_moves(search), reaches, strict=False):
        steps = module_steps(surfaces, cells)[:, np.newaxis]
        moved = (surfaces[:, np.newaxis] + reach * (moves @ steps)).reshape(-1, TERMS, 2)
        surfaces = np.concatenate([surfaces, moved])
        agreed = np.concatenate([agreed, agreements(levels, moved, shape)])
        surfaces, agreed = _best(surfaces, agreed, _PARENTS)
    return surfaces, agreed


@cache
def _moves(search: int) -> "NDArray[np.float64]":
    """Return moves of surfaces in modules (right, down), shape (rounds, children, 10, 2)."""
    chance = np.random.default_rng([_SEED, search])
    size = np.zeros((TERMS, 2))
    size[0], size[[RIGHT, DOWN]], size[CROSS], size[list(BOWS)], size[list(THIRD[:2])] = 0.5, 0.6, 0.4, 0.35, 0.15
    moves = chance.standard_normal((len(_NARROWING), _CHILDREN, TERMS, 2)) * size
    moves *= chance.random(moves.shape) < _MOVED_SHARE
    moves[:, :, 0] -= 0.67 * moves[:, :, list(BOWS)].sum(axis=2)  # a bow leaves the sides where they are on average
    return moves
