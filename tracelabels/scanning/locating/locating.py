"""The order of all this: outlines, starts, maps settled on the fixed pattern, then on the symbol's own modules."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from tracelabels.scanning.locating.agreement import agreements
from tracelabels.scanning.locating.descending import FITTED_SOFTENED, PATTERN_SOFTENED, Looks, Settled, settle
from tracelabels.scanning.locating.outlines import Outline
from tracelabels.scanning.locating.own_modules import settle_on_own_modules
from tracelabels.scanning.locating.pattern_points import fixed_points
from tracelabels.scanning.locating.searching import SOFTENED, Start, find_starts, narrowed
from tracelabels.scanning.locating.surface import as_module_map, module_side, with_ends_moved
from tracelabels.scanning.locating.window import Window, window_around
from tracelabels.scanning.sampling.fixed_cells import SymbolShape, fixed_cells
from tracelabels.symbols import Symbology

if TYPE_CHECKING:
    from collections.abc import Iterator

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
    Looks(sharpened=0.0, spread=0.0),
    Looks(sharpened=0.5, spread=0.0),
    Looks(sharpened=0.7, spread=0.0),
    Looks(sharpened=0.0, spread=0.2),
    Looks(sharpened=0.0, spread=0.4),
)
_STARTS: Final = 5
_STARTS_A_SHAPE: Final = 2
_LEAST_CLOSE: Final = 0.68
"""Agreement below which a start is given up: of 83 right ones all had 0.75 or more, of 357 wrong ones half 0.68."""
_LEAST_SETTLED: Final = 0.72
"""The same for settled maps: right ones 0.76 or more, wrong ones half 0.67, a tenth 0.82."""
_SURE: Final = 0.93
"""Agreement after which no other start in the same outline is tried."""
_STEPS: Final = 4
_PERIOD: Final = 2.0
"""Modules after which a clock track repeats: a map may have slipped by that at one end."""
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
    grey: "NDArray[np.uint8]", outline: Outline, shapes: tuple[SymbolShape, ...] = LOCATED_SHAPES
) -> "Iterator[Located]":
    """Yield places to sample within an outline, the likeliest first, each settled on fixed and then on own modules.

    Args:
        grey: the picture, shape (height, width).
        outline: of a patch that may be a symbol.
        shapes: what may be there.
    """
    window = window_around(grey, outline)
    for start in _most_likely(find_starts(window, window.nodes_here(outline.nodes), shapes)):
        if start.agreement < _LEAST_CLOSE:
            return
        surface, agreement = _settled(window, start)
        if agreement < _LEAST_SETTLED:
            continue
        yield _located(window, start.shape, surface, agreement)
        own = settle_on_own_modules(window, start.shape, surface, _LOOKS)
        yield _located(window, start.shape, own, agreement)
        if agreement >= _SURE:  # no other start will agree better
            return


def _located(window: Window, shape: SymbolShape, surface: "NDArray[np.float64]", agreement: float) -> Located:
    place = as_module_map(window.surface_in_picture(surface), fixed_cells(shape))
    return Located(shape=shape, place=place, agreement=agreement)


def _most_likely(starts: tuple[Start, ...]) -> "Iterator[Start]":
    """Yield the best starts, no more than two of one shape: a small shape finds many places in a large symbol."""
    count: dict[SymbolShape, int] = {}
    for start in starts:
        if count.get(start.shape, 0) < _STARTS_A_SHAPE:
            count[start.shape] = count.get(start.shape, 0) + 1
            yield start
        if sum(count.values()) == _STARTS:
            return


def _settled(window: Window, start: Start) -> "tuple[NDArray[np.float64], float]":
    """Return the surface that fits the fixed pattern best, and how well it agrees."""
    shape = start.shape
    firsts = [(look, _fitted(window, start, start.surfaces[:2], look, stiff=True)) for look in _LOOKS]
    look, first = max(firsts, key=lambda one: float(one[1].fits.max()))
    side = module_side(start.outline, fixed_cells(shape))
    levels = window.view(softened=SOFTENED * side, sharpened_by=look.told_apart * side).levels
    moved, _ = narrowed(levels, np.concatenate([first.surfaces, start.surfaces[:2]]), shape)
    surface, agreement = _best_fitted(window, start, moved[:4], look, levels)
    if agreement < _SURE:
        slipped = with_ends_moved(surface, fixed_cells(shape), modules=_PERIOD)
        other, agreement_there = _best_fitted(window, start, slipped, look, levels)
        if agreement_there > agreement:
            return other, agreement_there
    return surface, agreement


def _best_fitted(
    window: Window, start: Start, surfaces: "NDArray[np.float64]", look: Looks, levels: "NDArray[np.float32]"
) -> "tuple[NDArray[np.float64], float]":
    """Return the surface that agrees best after all were fitted, stiff first, and how well it agrees."""
    stiff = _fitted(window, start, surfaces, look, stiff=True).surfaces
    near = np.argsort(agreements(levels, stiff, start.shape))[::-1][:_SUPPLED]
    fitted = np.concatenate([stiff, _fitted(window, start, stiff[near], look, stiff=False).surfaces])
    agreed = agreements(levels, fitted, start.shape)
    best = int(agreed.argmax())
    return fitted[best], float(agreed[best])


def _fitted(window: Window, start: Start, surfaces: "NDArray[np.float64]", looks: Looks, *, stiff: bool) -> Settled:
    side = module_side(start.outline, fixed_cells(start.shape))
    return settle(
        window.view(softened=FITTED_SOFTENED * side, sharpened_by=looks.sharpened * side),
        surfaces,
        fixed_points(start.shape, softened=PATTERN_SOFTENED, spread=looks.spread),
        side=side,
        rounds=_STEPS,
        stiff=stiff,
        outline=start.outline,
    )
