"""Where maps start: every shape and quarter turn slid along within an outline, and how likely a map is.

An outline is good to about a module, a clock track repeats after two: least squares alone would slip by a period. A map
is scored by its agreement, less for straying far from where the outline expects the symbol: a small shape finds some
place in any symbol.
"""

from dataclasses import dataclass, replace
from functools import cache
from itertools import product
from typing import TYPE_CHECKING, Final

import numpy as np

from tracelabels.scanning.locating.agreement import agreements, pairs_of
from tracelabels.scanning.locating.expected_place import expected_surface, strayed
from tracelabels.scanning.locating.surface import DOWN, RIGHT, module_side, slid_along, surface_through
from tracelabels.scanning.sampling.fixed_cells import SymbolShape, fixed_cells
from tracelabels.scanning.sampling.sharpening import Blur

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tracelabels.scanning.locating.window import Slopes, Window

SOFTENED: Final = 0.25
"""Modules: how soft the picture is in which maps are compared."""
_SHARPENED: Final = 0.6
"""Modules: the blur that is undone before; what was sharp already is not hurt."""
_ASPECTS: Final = (0.28, 3.5)
"""How much longer or shorter than drawn a symbol may look: a tilt of 70 degrees leaves a third."""
_BESIDE: Final = (-0.8, 0.0, 0.8)
"""Modules by which the side of a clock track is moved across it: it is one module wide, and would be missed."""
_ENDS: Final = (-1.2, -0.4, 0.4, 1.2)
"""Modules by which either end of a side is moved along."""
_WARPS: Final = (-0.26, -0.13, 0.0, 0.13, 0.26)
"""Shares of half a side by which its middle is moved: a tube seen from the side crowds modules at its edge."""
_KEPT: Final = 4
"""Maps, each of another warp: those that are a period off would crowd out the right one."""
_SLID_BOTH_WAYS: Final = 2 / 3
"""Of the starts, the likelier by one way."""
_STRAYING: Final = 0.05
"""What a map loses for each squared module that its nodes stray: right ones 0.3 on average, wrong ones 1.1."""
_LEAST_ROUGH: Final = 0.5
"""Score of the best start: where a symbol was, 0.55 or more (83 pictures)."""
_ROUGH_SHARE: Final = 0.6
"""Of the best's score: starts with less are not looked at closely."""
_CHANCE: Final = (0.82, 0.0012)
"""Score of wrong starts, and how much less it is for each pair of modules: 14x14 (108 pairs) finds 0.70 in any symbol,
20x20 (164) 0.60, 16x36 (248) 0.51 (128 pictures)."""


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
        """Return by how much it is better than what the shape finds anywhere, of what is possible: at most 1."""
        chance = _CHANCE[0] - _CHANCE[1] * pairs_of(self.shape)
        return (self.score - chance) / (1.0 - chance)

    @property
    def side(self) -> float:
        """Return the side of a module, in pixels, where the symbol is expected."""
        return module_side(self.expected, fixed_cells(self.shape))

    def seen_in(self, window: "Window") -> "Slopes":
        """Return the window as maps of this start are compared in it."""
        return window.view(softened=SOFTENED * self.side, undone=Blur(bell=_SHARPENED * self.side))

    def scores(self, levels: "NDArray[np.float32]", surfaces: "NDArray[np.float64]") -> "NDArray[np.float64]":
        """Return how likely surfaces are: their agreement, less what they stray from the expected one.

        Args:
            levels: the picture, shape (height, width).
            surfaces: shape (n, 10, 2).
        """
        straying = strayed(surfaces, self.expected, self.shape)
        return np.asarray(agreements(levels, surfaces, self.shape) - _STRAYING * straying)


def rough_starts(
    window: "Window", nodes: "NDArray[np.float64]", shapes: tuple[SymbolShape, ...], *, down_first: bool = False
) -> tuple[Start, ...]:
    """Return the shapes and turns that may lie within an outline, those with the largest lead first.

    Args:
        window: the part of the picture.
        nodes: of the outline, in the window, shape (8, 2).
        shapes: what may be there.
        down_first: whether maps are slid down before they are slid across; what one order misses the other finds.
    """
    starts = [_slid(window, start, down=down_first) for start in _expected(nodes, shapes, down_first=down_first)]
    starts.sort(key=lambda start: -start.lead)
    likelier = starts[: round(_SLID_BOTH_WAYS * len(starts))]
    starts = sorted((_slid(window, start, down=not down_first) for start in likelier), key=lambda start: -start.lead)
    best = max((start.score for start in starts), default=0.0)
    return tuple(start for start in starts if start.score > _ROUGH_SHARE * best) if best >= _LEAST_ROUGH else ()


def _expected(nodes: "NDArray[np.float64]", shapes: tuple[SymbolShape, ...], *, down_first: bool) -> list[Start]:
    """Return each shape in each turn in which it fits the outline, the side of the first track here and there.

    That is the upper side, or the right one if maps are slid down first.
    """
    starts = []
    for turn in range(4):
        outline = surface_through(np.roll(nodes, -2 * turn, axis=0))
        aspect = float(np.hypot(*outline[RIGHT]) / max(float(np.hypot(*outline[DOWN])), 1e-6))
        for shape in shapes:
            cells = fixed_cells(shape)
            if _ASPECTS[0] < aspect * cells.rows / cells.columns < _ASPECTS[1]:
                expected = expected_surface(outline, shape)
                ends = (cells.columns, (0.0,), _BESIDE) if down_first else (cells.rows, _BESIDE, (0.0,))
                beside = slid_along(expected[np.newaxis], _slides(*ends, (0.0,)), along_columns=not down_first)
                starts.append(Start(shape=shape, expected=expected, surfaces=beside, score=0.0))
    return starts


def _slid(window: "Window", start: Start, *, down: bool) -> Start:
    """Return the start with its surfaces slid along one way: the best of each warp, of these the best."""
    cells = fixed_cells(start.shape)
    slides = _slides(cells.rows if down else cells.columns, _ENDS, _ENDS, _WARPS)
    moved = slid_along(start.surfaces, slides, along_columns=down)
    scored = start.scores(start.seen_in(window).levels, moved).reshape(-1, len(_WARPS))
    best = len(_WARPS) * scored.argmax(axis=0) + np.arange(len(_WARPS))
    kept = best[np.argsort(scored.ravel()[best])[::-1][:_KEPT]]
    return replace(start, surfaces=moved[kept], score=float(scored.ravel()[kept[0]]))


@cache
def _slides(
    count: int, starts: tuple[float, ...], ends: tuple[float, ...], warps: tuple[float, ...]
) -> "NDArray[np.float64]":
    """Return shift, scale and warp for moves of the ends of a side of so many modules, by modules, shape (n, 3)."""
    module = 2.0 / count
    return np.array(
        [
            ((start + end) * module / 2.0, 1.0 + (end - start) * module / 2.0, warp)
            for start, end, warp in product(starts, ends, warps)
        ]
    )
