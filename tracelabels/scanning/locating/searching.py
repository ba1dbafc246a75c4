"""Maps moved about: which shape and which quarter turn agree with an outline, and roughly where.

An outline is good to about a module, a clock track repeats after two: least squares alone would slip by a period. A map
is scored by its agreement, less for straying far from where the outline expects the symbol: a small shape finds some
place in any symbol. Many starts are looked at a little, few to the end.
"""

from dataclasses import dataclass, replace
from functools import cache
from typing import TYPE_CHECKING, Final

import numpy as np

from tracelabels.scanning.locating.agreement import agreements, pairs_of
from tracelabels.scanning.locating.expected_place import expected_surface, strayed
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
    slipped,
    surface_through,
)
from tracelabels.scanning.sampling.fixed_cells import SymbolShape, fixed_cells
from tracelabels.scanning.sampling.sharpening import Blur

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

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
_TOPS: Final = (-0.8, 0.0, 0.8)
_WARPS: Final = (-0.26, -0.13, 0.0, 0.13, 0.26)
"""Shares of half a side by which its middle is moved: a tube seen from the side crowds modules at its edge."""
_CHANCE: Final = (0.82, 0.0012)
_KEPT: Final = 4
_STRAYING: Final = 0.05
"""What a map loses for each squared module that its nodes stray: right ones 0.3 on average, wrong ones 1.1."""
_LEAST_ROUGH: Final = 0.5
"""Agreement of the best rough start: where a symbol was, 0.55 or more (83 pictures)."""
_ROUGH_SHARE: Final = 0.6
"""Of the best's agreement: starts with less are not looked at closely."""
SEARCHES: Final = range(3)
_FOUND: Final = 0.9
"""Agreement of a map that is right, mostly: no other moves are tried."""
_STAGES: Final = ((40, (1.6,)), (20, (1.4, 1.1)), (10, (0.8, 0.6)), (5, (0.4, 0.3)))
"""How many of the starts are looked at, and how far, in modules, their maps are moved in each round."""
_SLIPS_AT: Final = 1
"""Stage at which maps that have slipped along a clock track are tried, too."""
PERIOD: Final = 2.0
"""Modules after which a clock track repeats."""
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
    expected: "NDArray[np.float64]"
    """The surface that the outline leads to expect."""
    surfaces: "NDArray[np.float64]"
    """The best first, shape (n, 10, 2)."""
    score: float
    """Of the best."""

    @property
    def lead(self) -> float:
        """Return by how much it is better than what the shape finds anywhere, of what is possible: 1 at most."""
        chance = _CHANCE[0] - _CHANCE[1] * pairs_of(self.shape)
        return (self.score - chance) / (1.0 - chance)


def find_starts(
    window: "Window",
    nodes: "NDArray[np.float64]",
    shapes: tuple[SymbolShape, ...],
    *,
    searches: range = SEARCHES,
    has_time: "Callable[[], bool]" = lambda: True,
) -> tuple[Start, ...]:
    """Return the shapes and turns that agree best with the window, the best first.

    Args:
        window: the part of the picture.
        nodes: of the outline, in the window, shape (8, 2).
        shapes: what may be there.
        searches: which are made, one after the other until a map is surely right; each moves maps in its own way.
        has_time: whether another search may begin.
    """
    rough = sorted(_rough_starts(window, nodes, shapes), key=lambda start: -start.lead)
    best = max((start.score for start in rough), default=0.0)
    if best < _LEAST_ROUGH:
        return ()
    likely = [start for start in rough if start.score > _ROUGH_SHARE * best]
    found: list[Start] = []
    for search in searches:
        if not has_time():
            break
        found = sorted([*found, *_search(window, likely, search)], key=lambda start: -start.lead)
        if found[0].score >= _FOUND:
            break
    return tuple(found)


def _search(window: "Window", starts: list[Start], search: int) -> list[Start]:
    """Return the best of the starts, looked at more closely from stage to stage."""
    moves = iter(_moves(search))
    for stage, (count, reaches) in enumerate(_STAGES):
        of_stage = [(next(moves), reach) for reach in reaches]
        starts = [_closer(window, start, of_stage, stage) for start in starts[:count]]
        starts.sort(key=lambda start: -start.lead)
    return starts


def _rough_starts(window: "Window", nodes: "NDArray[np.float64]", shapes: tuple[SymbolShape, ...]) -> list[Start]:
    """Return every shape and turn, the likelier half with maps slid along both ways, the best first."""
    across = []
    for turn in range(4):
        outline = surface_through(np.roll(nodes, -2 * turn, axis=0))
        aspect = float(np.hypot(*outline[RIGHT]) / max(float(np.hypot(*outline[DOWN])), 1e-6))
        for shape in shapes:
            cells = fixed_cells(shape)
            if _ASPECTS[0] < aspect * cells.rows / cells.columns < _ASPECTS[1]:
                expected = expected_surface(outline, shape)
                tops = slid_along(expected[np.newaxis], _tops(cells.rows), along_columns=True)
                start = Start(shape=shape, expected=expected, surfaces=tops, score=0.0)
                across.append(_slid(window, start, along_columns=False))
    across.sort(key=lambda start: -start.lead)
    half = (2 * len(across) + 1) // 3
    return [_slid(window, start, along_columns=True) for start in across[:half]]


def _slid(window: "Window", start: Start, *, along_columns: bool) -> Start:
    cells = fixed_cells(start.shape)
    levels = _compared(window, start.expected, start.shape)
    slides = _slides(cells.rows if along_columns else cells.columns)
    moved = slid_along(start.surfaces, slides, along_columns=along_columns)
    surfaces, scored = _best(moved, scores(levels, moved, start.shape, start.expected), _KEPT)
    return replace(start, surfaces=surfaces, score=float(scored[0]))


def scores(
    levels: "NDArray[np.float32]",
    surfaces: "NDArray[np.float64]",
    shape: SymbolShape,
    expected: "NDArray[np.float64]",
) -> "NDArray[np.float64]":
    """Return how likely each surface is: its agreement, less what it strays from the expected one.

    Args:
        levels: the picture, shape (height, width).
        surfaces: shape (n, 10, 2).
        shape: the symbol.
        expected: shape (10, 2).
    """
    return np.asarray(agreements(levels, surfaces, shape) - _STRAYING * strayed(surfaces, expected, shape))


def _compared(window: "Window", surface: "NDArray[np.float64]", shape: SymbolShape) -> "NDArray[np.float32]":
    side = module_side(surface, fixed_cells(shape))
    return window.view(softened=SOFTENED * side, undone=Blur(bell=_SHARPENED * side)).levels


def _best(
    surfaces: "NDArray[np.float64]", scored: "NDArray[np.float64]", count: int
) -> "tuple[NDArray[np.float64], NDArray[np.float64]]":
    order = np.argsort(scored)[::-1][:count]
    return surfaces[order], scored[order]


@cache
def _tops(count: int) -> "NDArray[np.float64]":
    module = 2.0 / count
    return np.array([(end * module / 2.0, 1.0 - end * module / 2.0, 0.0) for end in _TOPS])


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


def _closer(window: "Window", start: Start, moves: "list[tuple[NDArray[np.float64], float]]", stage: int) -> Start:
    shape, expected = start.shape, start.expected
    levels = _compared(window, expected, shape)
    surfaces = start.surfaces
    if stage == 0:
        surfaces = np.concatenate([surfaces, expected[np.newaxis]])
    elif stage == _SLIPS_AT:
        surfaces = np.concatenate([surfaces, slipped(surfaces[0], fixed_cells(shape), modules=PERIOD)])
    surfaces, scored = _best(surfaces, scores(levels, surfaces, shape, expected), _PARENTS)
    for each, reach in moves:
        surfaces, scored = _moved(levels, surfaces, scored, start, reach * each)
    return Start(shape=shape, expected=expected, surfaces=surfaces, score=float(scored[0]))


def narrowed(levels: "NDArray[np.float32]", surfaces: "NDArray[np.float64]", start: Start) -> "NDArray[np.float64]":
    """Return the best of the surfaces and of moved ones, round by round less far; the best first.

    Args:
        levels: the picture, shape (height, width).
        surfaces: shape (n, 10, 2).
        start: whose shape and expected surface they are scored by.
    """
    scored = scores(levels, surfaces, start.shape, start.expected)
    for moves, reach in zip(_moves(0), _NARROW, strict=False):
        surfaces, scored = _moved(levels, surfaces, scored, start, reach * moves)
    return surfaces


def _moved(
    levels: "NDArray[np.float32]",
    surfaces: "NDArray[np.float64]",
    scored: "NDArray[np.float64]",
    start: Start,
    moves: "NDArray[np.float64]",
) -> "tuple[NDArray[np.float64], NDArray[np.float64]]":
    """Return the best of surfaces and of all their children by moves in modules, with their scores."""
    away = moves.reshape(-1, 2) @ module_steps(surfaces, fixed_cells(start.shape))
    children = (surfaces[:, np.newaxis] + away.reshape(len(surfaces), *moves.shape)).reshape(-1, TERMS, 2)
    both = np.concatenate([surfaces, children])
    return _best(both, np.concatenate([scored, scores(levels, children, start.shape, start.expected)]), _PARENTS)


@cache
def _moves(search: int) -> "NDArray[np.float64]":
    """Return moves of surfaces in modules (right, down), shape (rounds, children, 10, 2)."""
    chance = np.random.default_rng([_SEED, search])
    rounds = sum(len(reaches) for _, reaches in _STAGES)
    size = np.zeros((TERMS, 2))
    size[0], size[[RIGHT, DOWN]], size[CROSS], size[list(BOWS)], size[list(THIRD[:2])] = 0.5, 0.6, 0.4, 0.35, 0.15
    moves = chance.standard_normal((rounds, _CHILDREN, TERMS, 2)) * size
    moves *= chance.random(moves.shape) < _MOVED_SHARE
    moves[:, :, 0] -= 0.67 * moves[:, :, list(BOWS)].sum(axis=2)  # a bow leaves the sides where they are on average
    return moves
