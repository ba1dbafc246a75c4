"""All that is measured on a patch, as one value; lengths in samples, which are ``step`` pixels of the picture."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from tracelabels.scanning.advising.around import Side, sides_of
from tracelabels.scanning.advising.blots import blots_of
from tracelabels.scanning.advising.edges import Spread, calmed, edge_spread
from tracelabels.scanning.advising.marks import (
    are_dark,
    evened,
    light_lines,
    longest_gap,
    module_width,
    sharp_module_width,
)
from tracelabels.scanning.locating.outlines import stock_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tracelabels.scanning.advising.upright import Upright

TOLD_APART: Final = 243.0
"""Grey level that stock must stay below for a saturated spot to be told from it."""
_BLOT: Final = 2.0
_BLOT_ON_WHITE: Final = 4.0
"""Modules: what is saturated over so much, on stock that is not or that is, is glare; stock alone is never so wide."""
_BESIDE: Final = 2.0
"""Modules beyond a side in which glare counts."""
_NO_PRINT: Final = 0.06


@dataclass(frozen=True, slots=True, kw_only=True)
class CodeMeasures:
    """What was measured on a patch that may be a code."""

    step: float
    """Pixels of the picture a sample; 1 unless the code is very large."""
    size: tuple[float, float]
    """Width and height."""
    module: tuple[float, float]
    """A module's width along rows and along columns, blur undone."""
    spread: Spread
    """Of edges."""
    dark: float
    """Grey level of print."""
    light: float
    """Grey level of stock."""
    sides: tuple[Side, Side, Side, Side]
    """Top, right, bottom, left."""
    glare: float
    """Share of the patch that is saturated in blots of more than a few modules."""
    shadow: float
    """How many times lighter the lightest stock within the patch is than the darkest."""
    gap: float
    """The widest band of rows or columns without print, by a module's longer side."""
    fullest: float
    """Print share of the fullest tenth of rows and columns."""
    light_lines: tuple[int, int]
    """Rows and columns that are light from end to end."""

    @property
    def modules(self) -> tuple[float, float]:
        """Return about how many modules there are along rows and along columns."""
        return self.size[0] / self.module[0], self.size[1] / self.module[1]

    @property
    def squeezed(self) -> float:
        """Return a module's shorter by its longer side."""
        return min(self.module) / max(self.module)


def measure_code(upright: "Upright") -> CodeMeasures:
    """Measure a patch that was turned upright."""
    framed = calmed(upright.framed)
    inner = (slice(upright.margin, -upright.margin),) * 2
    stock = stock_of(framed, min(upright.levels.shape))
    calm, even = framed[inner], evened(framed, stock)[inner]
    dark = are_dark(even)
    low, high = np.percentile(calm, (5, 95)).tolist()
    spread = edge_spread(calm, high - low, module_width(dark))
    module = sharp_module_width(upright.levels, spread.least)
    sides = sides_of(upright, framed, stock, dark, module)
    light = max(high, float(np.median([side.beyond for side in sides])))
    shares = [float(np.percentile(dark.mean(axis=axis), 90)) for axis in (0, 1)]
    height, width = calm.shape
    return CodeMeasures(
        step=upright.step,
        size=(float(width), float(height)),
        module=module,
        spread=spread,
        dark=low,
        light=light,
        sides=sides,
        glare=_glare(upright, sides, module),
        shadow=_shadow(stock[inner]),
        gap=longest_gap(dark, empty=_NO_PRINT) / max(module),
        fullest=max(shares),
        light_lines=light_lines(even),
    )


def _glare(upright: "Upright", sides: tuple[Side, ...], module: tuple[float, float]) -> float:
    """Return the share of saturated samples that lie in blots, those beside the patch counted as well.

    What glare has taken from a corner is no longer within the outline of the print that is left.
    """
    levels = upright.framed
    stock = float(np.median([side.beyond for side in sides]))
    is_told_apart = stock < TOLD_APART
    width = max(3, round((_BLOT if is_told_apart else _BLOT_ON_WHITE) * min(module)))
    blots = blots_of(levels, width)
    reach = [max(0, upright.margin - round(_BESIDE * side)) if is_told_apart else upright.margin for side in module]
    near = blots[reach[1] : len(blots) - reach[1], reach[0] : blots.shape[1] - reach[0]]
    return float(near.sum() / upright.levels.size)


def _shadow(stock: "NDArray[np.float32]") -> float:
    """Return how many times lighter the lightest stock is than the darkest."""
    low, high = np.percentile(stock, (10, 90)).tolist()
    return float(high / max(low, 1.0))
