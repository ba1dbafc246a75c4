"""Maps fitted to the fixed pattern, in each look that a photograph may have: the best, and how well it agrees."""

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from tracelabels.scanning.locating.agreement import agreements
from tracelabels.scanning.locating.descending import FITTED_SOFTENED, PATTERN_SOFTENED, Looks, Settled, settle
from tracelabels.scanning.locating.pattern_points import fixed_points
from tracelabels.scanning.locating.searching import PERIOD, narrowed
from tracelabels.scanning.locating.starting import SOFTENED, Start
from tracelabels.scanning.locating.surface import slipped
from tracelabels.scanning.locating.window import Window
from tracelabels.scanning.sampling.fixed_cells import fixed_cells
from tracelabels.scanning.sampling.sharpening import Blur

if TYPE_CHECKING:
    from numpy.typing import NDArray

LOOKS: Final = (
    *(Looks(blur=Blur(bell=bell)) for bell in (0.0, 0.5, 0.7)),
    *(Looks(spread=spread) for spread in (0.2, 0.4, 0.5)),
)
_RARER_LOOKS: Final = (
    Looks(blur=Blur(bell=0.8)),
    *(Looks(blur=Blur(bell=0.2, streak=long, angle=turn)) for long in (1.5, 2.0) for turn in range(0, 180, 30)),
)
"""Much out of focus, or moved: tried last, on what agreed best in the others."""
SURE: Final = 0.93
"""Agreement from which a map is believed to be right."""
_SPREAD_FITS: Final = 0.1
"""By how much more wrong maps fit a pattern with the print spread than they agree: half 0.77 instead of 0.71 (212)."""
_STEPS: Final = 4
_SLIPS: Final = 3
"""How many slips, of a period or of half of one, are put right one after the other."""
_RIGHTED: Final = 0.97
"""Agreement from which no slip is looked for: a corner can be a module off in a map that agrees by 0.95."""
_LEAST_GAIN: Final = 0.01
"""Of agreement, by a slip put right."""
_SUPPLED: Final = 4
"""Of the stiff maps: how many are fitted again with the third order free."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Fit:
    """A map fitted to the fixed pattern; it may be right."""

    start: Start
    """What was fitted."""
    surface: "NDArray[np.float64]"
    """In the window, shape (10, 2)."""
    agreement: float
    """With the fixed pattern, at most 1."""
    looks: Looks
    """In which it fits best."""


def best_fit(window: Window, start: Start) -> Fit:
    """Return the surface that fits the fixed pattern best, and how well it agrees."""
    firsts = [(look, _fitted(window, start, start.surfaces[:2], look, stiff=True)) for look in LOOKS]
    look, first = max(firsts, key=lambda one: float(one[1].fits.max()))
    levels = _told_apart(window, start, look)
    moved = narrowed(levels, np.concatenate([first.surfaces, start.surfaces[:2]]), start)
    surface, agreement = _best_fitted(window, start, moved[:4], look)
    for _ in range(_SLIPS):
        other, better = (surface, 0.0) if agreement >= _RIGHTED else _unslipped(window, start, surface, look)
        if better < agreement + _LEAST_GAIN:
            break
        surface, agreement = other, better
    return Fit(start=start, surface=surface, agreement=agreement, looks=look)


def fitted_in_rarer_looks(window: Window, one: Fit) -> tuple[Fit, tuple[Looks, ...]]:
    """Return a map fitted again in the rarer look that fits it best, and that look."""
    all_fitted = [
        (look, _fitted(window, one.start, one.surface[np.newaxis], look, stiff=True)) for look in _RARER_LOOKS
    ]
    look, fitted = max(all_fitted, key=lambda each: float(each[1].fits.max()))
    return replace(one, surface=fitted.surfaces[0], looks=look), (look,)


def _unslipped(
    window: Window, start: Start, surface: "NDArray[np.float64]", look: Looks
) -> "tuple[NDArray[np.float64], float]":
    """Return the surface that agrees best of those that one slip away are fitted, and how well it agrees."""
    cells = fixed_cells(start.shape)
    away = [slipped(surface, cells, modules=modules) for modules in (PERIOD, PERIOD / 2.0)]
    return _best_fitted(window, start, np.concatenate(away), look)


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
    return window.view(softened=SOFTENED * start.side, undone=look.told_apart(start.side)).levels


def _fitted(window: Window, start: Start, surfaces: "NDArray[np.float64]", look: Looks, *, stiff: bool) -> Settled:
    return settle(
        window.view(softened=FITTED_SOFTENED * start.side, undone=look.undone(start.side)),
        surfaces,
        fixed_points(start.shape, softened=PATTERN_SOFTENED, spread=look.spread),
        side=start.side,
        rounds=_STEPS,
        stiff=stiff,
        outline=start.expected,
    )
