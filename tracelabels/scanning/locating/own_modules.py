"""Maps settled on the symbol's own modules: what was seen through a map is the pattern for the next.

The fixed pattern lies at the sides. Once most modules inside are seen rightly, they say where they lie themselves.
"""

from functools import cache
from typing import TYPE_CHECKING, Final

import numpy as np

from tracelabels.scanning.locating.agreement import sampled
from tracelabels.scanning.locating.descending import FITTED_SOFTENED, PATTERN_SOFTENED, Looks, Settled, settle
from tracelabels.scanning.locating.pattern_points import seen_points
from tracelabels.scanning.locating.surface import module_side, powers_at
from tracelabels.scanning.sampling.deciding import Decided, decide
from tracelabels.scanning.sampling.fixed_cells import SymbolShape, fixed_cells
from tracelabels.scanning.sampling.geometry import RING, module_points
from tracelabels.scanning.sampling.light_fields import LightFields, light_fields

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tracelabels.scanning.locating.window import Window

_ROUNDS: Final = 5
_STIFF_ROUNDS: Final = 2
_STEPS: Final = 3


def settle_on_own_modules(
    window: "Window", shape: SymbolShape, surface: "NDArray[np.float64]", all_looks: tuple[Looks, ...]
) -> "NDArray[np.float64]":
    """Return the surface, shape (10, 2), that fits best what is seen through it.

    Args:
        window: the part of the picture.
        shape: the symbol.
        surface: a map that is right for most modules.
        all_looks: how the photograph may have treated the print.
    """
    looks = all_looks
    for number in range(_ROUNDS):
        settled = [_settled(window, shape, surface, one, stiff=number < _STIFF_ROUNDS) for one in looks]
        at = max(range(len(looks)), key=lambda index: float(settled[index].fits[0]))
        surface, looks = settled[at].surfaces[0], (looks[at],)
    return surface


def _settled(
    window: "Window", shape: SymbolShape, surface: "NDArray[np.float64]", looks: Looks, *, stiff: bool
) -> Settled:
    seen = _seen(window, shape, surface, looks)
    points = seen_points(
        shape,
        np.pad(seen.dark, RING),
        np.pad(seen.confidence, RING, constant_values=1.0),
        softened=PATTERN_SOFTENED,
        spread=looks.spread,
    )
    side = module_side(surface, fixed_cells(shape))
    slopes = window.view(softened=FITTED_SOFTENED * side, undone=looks.undone(side))
    return settle(slopes, surface[np.newaxis], points, side=side, rounds=_STEPS, stiff=stiff)


@cache
def _middle_powers(shape: SymbolShape) -> "NDArray[np.float32]":
    """Return the terms at the middle of every module and of the ring around, shape (10, modules)."""
    cells = fixed_cells(shape)
    middles = module_points(cells.rows, cells.columns, np.zeros((1, 2))).reshape(-1, 2)
    return np.asarray(powers_at(middles, cells).T, dtype=np.float32)


@cache
def _unhidden_fields(shape: SymbolShape) -> LightFields:
    cells = fixed_cells(shape)
    return light_fields(cells, np.ones(cells.dark.shape, dtype=np.bool_))


def _seen(window: "Window", shape: SymbolShape, surface: "NDArray[np.float64]", looks: Looks) -> Decided:
    cells = fixed_cells(shape)
    side = module_side(surface, cells)
    view = window.view(softened=FITTED_SOFTENED * side, undone=looks.told_apart(side))
    levels = (
        sampled(view.levels, _middle_powers(shape), surface[np.newaxis])[0].reshape(cells.dark.shape).astype(np.float64)
    )
    views = (decide(levels, light, cells) for light in _unhidden_fields(shape).seen_in(levels))
    return max(views, key=lambda view: view.agreement)
