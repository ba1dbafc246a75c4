"""Glare: saturated blots, and one that has taken so much of a code that what is left lies beside it, not around it."""

from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

from tracelabels.scanning.picture import part_around

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tracelabels.scanning.locating import Outline

_SATURATED: Final = 252
_ACROSS: Final = 4.0
"""Modules: what is saturated over less is light stock between print."""
_BESIDE: Final = 3.0
"""Modules between print that is seen and glare that has taken what was next to it; its rim is paler than itself."""
_AROUND: Final = 2.0
"""Of the patch's longest extent: glare that has left as much of a code as the patch is within this around it."""
_LEAST_SHARE: Final = 0.15
"""Of the patch: a smaller blot takes no more than error correction gives back."""


def blots_of(levels: "NDArray[np.uint8] | NDArray[np.float32]", across: int) -> "NDArray[np.uint8]":
    """Return 1 where levels are saturated over a square of so many pixels, else 0."""
    saturated = (levels >= _SATURATED).astype(np.uint8)
    square = np.ones((across, across), dtype=np.uint8)
    return np.asarray(cv2.morphologyEx(saturated, cv2.MORPH_OPEN, square), dtype=np.uint8)


def find_blot_beside(grey: "NDArray[np.uint8]", outline: "Outline", module: float) -> float | None:
    """Find the width, in pixels, of the largest blot of glare that lies right beside a patch; None if there is none.

    Args:
        grey: the picture, shape (height, width).
        outline: of the patch.
        module: pixels.
    """
    longest = float(np.ptp(outline.nodes, axis=0).max())
    part, corner = part_around(grey, outline.corners, margin=round(_AROUND * longest))
    blots = blots_of(part, max(3, round(_ACROSS * module)))
    near = np.zeros(part.shape, dtype=np.uint8)
    nodes = np.rint(outline.nodes - np.array(corner)).astype(np.int32)
    cv2.fillPoly(near, [nodes], 1)
    cv2.polylines(near, [nodes], isClosed=True, color=1, thickness=2 * round(_BESIDE * module) + 1)
    count, names = cv2.connectedComponents(blots)
    beside = {int(name) for name in np.unique(np.asarray(names)[near > 0])} - {0} if count > 1 else set()
    areas = [float((np.asarray(names) == name).sum()) for name in beside]
    largest = max(areas, default=0.0)
    return float(np.sqrt(largest)) if largest > _LEAST_SHARE * outline.area else None
