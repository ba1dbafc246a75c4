"""Dark, light or unknown, with a confidence."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

from tracelabels.scanning.sampling.light_fields import LightField, field_of_fixed

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tracelabels.scanning.sampling.fixed_cells import FixedCells

_BEYOND: Final = 0.15
"""Of the contrast: what is so much lighter than stock is glare."""
_SATURATED: Final = 250.0
"""Grey level from which a pixel says no more than that it was too bright."""
_STOCK_BELOW: Final = 243.0
"""Grey level that stock must stay below, for a saturated module to be told from it."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Decided:
    """What was seen of a symbol, without quiet zone; all of shape (rows, columns)."""

    dark: "NDArray[np.bool_]"
    """Whether a module is dark; fixed modules are as they must be."""
    confidence: "NDArray[np.float64]"
    """0 at the threshold, 1 at the level of its colour and beyond."""
    agreement: float
    """Share of the fixed modules that look as they must."""


def decide(levels: "NDArray[np.float64]", field: LightField, cells: "FixedCells") -> Decided:
    """Decide which modules are dark."""
    inside = (slice(1, -1), slice(1, -1))
    away = ((field.threshold - levels) / (field.contrast / 2.0))[inside]
    dark, known = cells.dark[inside], cells.known[inside]
    return Decided(
        dark=np.where(known, dark, away > 0.0),
        confidence=np.minimum(np.abs(away), 1.0),
        agreement=float((dark == (away > 0.0))[known].mean()),
    )


def glared(levels: "NDArray[np.float64]", cells: "FixedCells") -> "NDArray[np.bool_]":
    """Return the modules that are lighter than stock can be: glare; shape (rows + 2, columns + 2).

    Args:
        levels: of the picture as it is; undoing a blur overshoots.
        cells: the fixed pattern.
    """
    light = levels[cells.known & ~cells.dark]
    contrast = float(np.median(light) - np.median(levels[cells.known & cells.dark]))
    field = field_of_fixed(cells, levels < np.median(light) + _BEYOND * max(contrast, 1.0)).seen_in(levels)
    saturated = (levels > _SATURATED) & (field.light < _STOCK_BELOW)
    return np.asarray((levels > field.light + _BEYOND * field.contrast) | saturated, dtype=np.bool_)


def around(hidden: "NDArray[np.bool_]", dark: "NDArray[np.bool_]") -> "NDArray[np.bool_]":
    """Return what is hidden with its light neighbours: glare has a rim in which dark modules look light."""
    cross = np.ones((3, 3), dtype=np.uint8)
    wider = np.asarray(cv2.dilate(hidden.astype(np.uint8), cross)) > 0
    return np.asarray(hidden | (wider & ~dark), dtype=np.bool_)
