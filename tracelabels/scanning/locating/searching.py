"""Maps moved about: which of many starts agree with the picture, looked at a little, few of them to the end."""

from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING, Final

import numpy as np

from tracelabels.scanning.locating.descending import PATTERN_SOFTENED, settle
from tracelabels.scanning.locating.pattern_points import fixed_points
from tracelabels.scanning.locating.starting import Start
from tracelabels.scanning.locating.surface import (
    BOWS,
    CROSS,
    DOWN,
    RIGHT,
    TERMS,
    THIRD,
    module_steps,
    slipped,
)
from tracelabels.scanning.sampling.fixed_cells import fixed_cells

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from tracelabels.scanning.locating.window import Window

SEARCHES: Final = range(3)
_FOUND: Final = 0.9
"""Score of a map that is right, mostly: no other moves are tried."""
PERIOD: Final = 2.0
"""Modules after which a clock track repeats."""
_NARROW: Final = (0.8, 0.5, 0.3)
_PARENTS: Final = 6
_CHILDREN: Final = 72
_SEED: Final = 11
"""The moves are the same every time: a picture is read the same way twice."""
_MOVED_SHARE: Final = 0.4
_SLIPS_SETTLED: Final = 12
_UNSLIPPED_SETTLED: Final = 4
_STEPS: Final = 3


def find_starts(
    window: "Window",
    rough: tuple[Start, ...],
    *,
    searches: range = SEARCHES,
    has_time: "Callable[[], bool]" = lambda: True,
) -> tuple[Start, ...]:
    """Return the starts that agree best with the window after a search, those with the largest lead first.

    Args:
        window: the part of the picture.
        rough: where it starts, the likeliest first.
        searches: which are made, one after the other until a map is surely right; each moves maps in its own way.
        has_time: whether another search may begin.
    """
    found: list[Start] = []
    for search in searches if rough else ():
        if not has_time():
            break
        found = sorted([*found, *_search(window, list(rough), search)], key=lambda start: -start.lead)
        if found[0].score >= _FOUND:
            break
    return tuple(found)


def _search(window: "Window", starts: list[Start], search: int) -> list[Start]:
    """Return the best of the starts, looked at more closely from stage to stage."""
    moves = iter(_moves(search))
    for count, widened, reaches in _STAGES:
        of_stage = [reach * next(moves) for reach in reaches]
        starts = [_closer(window, start, widened(window, start), of_stage) for start in starts[:count]]
        starts.sort(key=lambda start: -start.lead)
    return starts


def _with_expected(_: "Window", start: Start) -> "NDArray[np.float64]":
    return np.concatenate([start.surfaces, start.expected[np.newaxis]])


def _with_slipped(_: "Window", start: Start) -> "NDArray[np.float64]":
    return np.concatenate([start.surfaces, slipped(start.surfaces[0], fixed_cells(start.shape), modules=PERIOD)])


def _with_settled(window: "Window", start: Start) -> "NDArray[np.float64]":
    """Return the start's surfaces and what they, and the likeliest slips, are settled to on the fixed pattern."""
    view = start.seen_in(window)
    away = slipped(start.surfaces[0], fixed_cells(start.shape), modules=PERIOD)
    away, _ = _best(away, start.scores(view.levels, away), _SLIPS_SETTLED)
    settled = settle(
        view,
        np.concatenate([start.surfaces[:_UNSLIPPED_SETTLED], away]),
        fixed_points(start.shape, softened=PATTERN_SOFTENED, spread=0.0),
        side=start.side,
        rounds=_STEPS,
        stiff=True,
        outline=start.expected,
    )
    return np.concatenate([start.surfaces, settled.surfaces])


_STAGES: Final = ((40, _with_expected, (1.6,)), (20, _with_slipped, (1.4, 1.1)), (10, _with_settled, ()))
"""How many of the starts are looked at, what joins their maps, and how far, in modules, these are then moved."""


def _closer(
    window: "Window", start: Start, surfaces: "NDArray[np.float64]", all_moves: "list[NDArray[np.float64]]"
) -> Start:
    """Return the start with the best of the surfaces, moved about."""
    levels = start.seen_in(window).levels
    surfaces, scored = _best(surfaces, start.scores(levels, surfaces), _PARENTS)
    for moves in all_moves:
        surfaces, scored = _moved(levels, surfaces, scored, start, moves)
    return replace(start, surfaces=surfaces, score=float(scored[0]))


def _best(
    surfaces: "NDArray[np.float64]", scored: "NDArray[np.float64]", count: int
) -> "tuple[NDArray[np.float64], NDArray[np.float64]]":
    order = np.argsort(scored)[::-1][:count]
    return surfaces[order], scored[order]


def narrowed(levels: "NDArray[np.float32]", surfaces: "NDArray[np.float64]", start: Start) -> "NDArray[np.float64]":
    """Return the best of the surfaces and of moved ones, round by round less far; the best first.

    Args:
        levels: the picture, shape (height, width).
        surfaces: shape (n, 10, 2).
        start: whose shape and expected surface they are scored by.
    """
    scored = start.scores(levels, surfaces)
    for moves, reach in zip(_moves(0), _NARROW, strict=True):
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
    return _best(both, np.concatenate([scored, start.scores(levels, children)]), _PARENTS)


@cache
def _moves(search: int) -> "NDArray[np.float64]":
    """Return moves of surfaces in modules (right, down), shape (rounds, children, 10, 2)."""
    chance = np.random.default_rng([_SEED, search])
    size = np.zeros((TERMS, 2))
    size[0], size[[RIGHT, DOWN]], size[CROSS], size[list(BOWS)], size[list(THIRD[:2])] = 0.5, 0.6, 0.4, 0.35, 0.15
    moves = chance.standard_normal((len(_NARROW), _CHILDREN, TERMS, 2)) * size
    moves *= chance.random(moves.shape) < _MOVED_SHARE
    moves[:, :, 0] -= 0.67 * moves[:, :, list(BOWS)].sum(axis=2)  # a bow leaves the sides where they are on average
    return moves
