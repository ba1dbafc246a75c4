"""The order of all this: outlines, starts, maps settled on the fixed pattern, then on the symbol's own modules."""

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from tracelabels.scanning.locating.agreement import agreements
from tracelabels.scanning.locating.descending import FITTED_SOFTENED, PATTERN_SOFTENED, Looks, Settled, settle
from tracelabels.scanning.locating.outlines import Outline
from tracelabels.scanning.locating.own_modules import settle_on_own_modules
from tracelabels.scanning.locating.pattern_points import fixed_points
from tracelabels.scanning.locating.searching import PERIOD, SOFTENED, Start, find_starts, narrowed
from tracelabels.scanning.locating.surface import as_module_map, module_side, slipped
from tracelabels.scanning.locating.window import Window, window_around
from tracelabels.scanning.sampling.fixed_cells import SymbolShape, fixed_cells
from tracelabels.scanning.sampling.sharpening import Blur
from tracelabels.symbols import Symbology

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from numpy.typing import NDArray

    from tracelabels.scanning.sampling import ModuleMap

LOCATED_SHAPES: Final = (
    *(
        SymbolShape(symbology=Symbology.DATA_MATRIX, version=version)
        for version in (
            "14x14", "16x16", "18x18", "20x20", "22x22", "24x24", "26x26", "8x32", "12x26", "12x36", "16x36", "16x48",
        )
    ),
    SymbolShape(symbology=Symbology.MICRO_QR, version="M4"),
    SymbolShape(symbology=Symbology.QR, version="2"),
    SymbolShape(symbology=Symbology.QR, version="3"),
)  # fmt: skip
"""What labels for tubes and pouches carry."""

WIDER_SHAPES: Final = (
    *(SymbolShape(symbology=Symbology.QR, version=version) for version in ("1", "4", "5", "6")),
    *LOCATED_SHAPES,
)
"""With what others print and whose fixed pattern is known here."""

_LOOKS: Final = (
    *(Looks(blur=Blur(bell=bell)) for bell in (0.0, 0.5, 0.7)),
    *(Looks(spread=spread) for spread in (0.2, 0.4, 0.5)),
)
_RARER_LOOKS: Final = (
    Looks(blur=Blur(bell=0.8)),
    *(Looks(blur=Blur(bell=0.2, streak=long, angle=turn)) for long in (1.5, 2.0) for turn in range(0, 180, 30)),
)
"""Much out of focus, or moved: tried last, on what agreed best in the others."""
_STARTS: Final = 5
_STARTS_A_SHAPE: Final = 2
_LEAST_CLOSE: Final = 0.68
"""Agreement below which a start is given up: of 83 right ones all had 0.75 or more, of 357 wrong ones half 0.68."""
_LEAST_SETTLED: Final = 0.72
"""The same for settled maps: right ones 0.76 or more, wrong ones half 0.67, a tenth 0.82."""
_SURE: Final = 0.93
"""Agreement after which only such starts in the same outline are tried that are nearly as close."""
_LEAST_BESIDE_SURE: Final = 0.8
_SPREAD_FITS: Final = 0.1
"""By how much more wrong maps fit a pattern with the print spread than they agree: half 0.77 instead of 0.71 (212)."""
_STEPS: Final = 4
_SUPPLED: Final = 4


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Located:
    """A place to sample; nothing is known of what it says."""

    shape: SymbolShape
    """What it is held to be."""
    place: "ModuleMap"
    """From modules to pixels of the picture."""
    agreement: float
    """With the fixed pattern, at most 1."""

    @property
    def is_sure(self) -> bool:
        """Say whether the symbol lies here, whether it can be read or not."""
        return self.agreement >= _SURE


def locate_within(
    grey: "NDArray[np.uint8]",
    outline: Outline,
    shapes: tuple[SymbolShape, ...] = LOCATED_SHAPES,
    *,
    has_time: "Callable[[], bool]" = lambda: True,
) -> "Iterator[Located]":
    """Yield places to sample within an outline, the likeliest first, each settled on fixed and then on own modules.

    Args:
        grey: the picture, shape (height, width).
        outline: of a patch that may be a symbol.
        shapes: what may be there.
        has_time: whether another step may begin.
    """
    window = window_around(grey, outline)
    held: list[_Held] = []
    for start in _most_likely(find_starts(window, window.nodes_here(outline.nodes), shapes, has_time)):
        is_sure = any(one.agreement >= _SURE for one in held)
        if start.score < (_LEAST_BESIDE_SURE if is_sure else _LEAST_CLOSE) or not has_time():
            break
        one = _settled(window, start)
        if one.agreement >= _LEAST_SETTLED:
            held.append(one)
            yield from _with_own_modules(window, one, (one.looks,) if one.looks.spread else _LOOKS)
    if held and has_time():
        best = max(held, key=lambda one: one.agreement)
        yield from _with_own_modules(window, *_in_rarer_looks(window, best))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Held:
    """A map that may be right."""

    start: Start
    surface: "NDArray[np.float64]"
    """In the window, shape (10, 2)."""
    agreement: float
    looks: Looks
    """In which it fits best."""


def _with_own_modules(window: Window, one: _Held, all_looks: tuple[Looks, ...]) -> "Iterator[Located]":
    yield _located(window, one, one.surface)
    yield _located(window, one, settle_on_own_modules(window, one.start.shape, one.surface, all_looks))


def _located(window: Window, one: _Held, surface: "NDArray[np.float64]") -> Located:
    place = as_module_map(window.surface_in_picture(surface), fixed_cells(one.start.shape))
    return Located(shape=one.start.shape, place=place, agreement=one.agreement)


def _most_likely(starts: tuple[Start, ...]) -> "Iterator[Start]":
    """Yield the best starts, no more than two of one shape: a small shape finds many places in a large symbol."""
    count: dict[SymbolShape, int] = {}
    for start in starts:
        if count.get(start.shape, 0) < _STARTS_A_SHAPE:
            count[start.shape] = count.get(start.shape, 0) + 1
            yield start
        if sum(count.values()) == _STARTS:
            return


def _settled(window: Window, start: Start) -> _Held:
    """Return the surface that fits the fixed pattern best, and how well it agrees."""
    shape = start.shape
    firsts = [(look, _fitted(window, start, start.surfaces[:2], look, stiff=True)) for look in _LOOKS]
    look, first = max(firsts, key=lambda one: float(one[1].fits.max()))
    levels = _told_apart(window, start, look)
    moved = narrowed(levels, np.concatenate([first.surfaces, start.surfaces[:2]]), start)
    surface, agreement = _best_fitted(window, start, moved[:4], look)
    if agreement < _SURE:
        away = slipped(surface, fixed_cells(shape), modules=PERIOD)
        surface, agreement = max((surface, agreement), _best_fitted(window, start, away, look), key=lambda one: one[1])
    return _Held(start=start, surface=surface, agreement=agreement, looks=look)


def _in_rarer_looks(window: Window, one: _Held) -> tuple[_Held, tuple[Looks, ...]]:
    """Return a map fitted again in the rarer look that fits it best, and that look."""
    all_fitted = [
        (look, _fitted(window, one.start, one.surface[np.newaxis], look, stiff=True)) for look in _RARER_LOOKS
    ]
    look, fitted = max(all_fitted, key=lambda each: float(each[1].fits.max()))
    return replace(one, surface=fitted.surfaces[0], looks=look), (look,)


def _best_fitted(
    window: Window, start: Start, surfaces: "NDArray[np.float64]", look: Looks
) -> "tuple[NDArray[np.float64], float]":
    """Return the surface that agrees best after all were fitted, stiff first, and how well it agrees."""
    stiff = _fitted(window, start, surfaces, look, stiff=True)
    near = np.argsort(_agreed(window, start, stiff, look))[::-1][:_SUPPLED]
    supple = _fitted(window, start, stiff.surfaces[near], look, stiff=False)
    agreed = np.concatenate([_agreed(window, start, settled, look) for settled in (stiff, supple)])
    best = int(agreed.argmax())
    return np.concatenate([stiff.surfaces, supple.surfaces])[best], float(agreed[best])


def _agreed(window: Window, start: Start, settled: Settled, look: Looks) -> "NDArray[np.float64]":
    """Return how well each surface agrees; where the print has spread, single modules hardly differ any more."""
    if look.spread:
        return settled.fits - _SPREAD_FITS
    return np.asarray(agreements(_told_apart(window, start, look), settled.surfaces, start.shape), dtype=np.float64)


def _told_apart(window: Window, start: Start, look: Looks) -> "NDArray[np.float32]":
    side = module_side(start.expected, fixed_cells(start.shape))
    return window.view(softened=SOFTENED * side, undone=look.told_apart(side)).levels


def _fitted(window: Window, start: Start, surfaces: "NDArray[np.float64]", look: Looks, *, stiff: bool) -> Settled:
    side = module_side(start.expected, fixed_cells(start.shape))
    return settle(
        window.view(softened=FITTED_SOFTENED * side, undone=look.undone(side)),
        surfaces,
        fixed_points(start.shape, softened=PATTERN_SOFTENED, spread=look.spread),
        side=side,
        rounds=_STEPS,
        stiff=stiff,
        outline=start.expected,
    )
