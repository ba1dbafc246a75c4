"""Whether a place still looks as it did when it was read.

The place as it was read is kept at a few hundred cells and searched for near where it was. By trial with simulated
pairs (eight shapes and scales, 2 to 5 pixels a module, the words left as they were) the same symbol agrees at 0.89 to
1.00 if it is about as sharp as it was, a label whose serial is the next one at 0.83 at most, at 0.91 if both are
blurred until no plain read succeeds. So a likeness never stands for a reading for long.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

from tracelabels.scanning.picture import Corners, moved, part_around, sides

if TYPE_CHECKING:
    from numpy.typing import NDArray

_SIDE = 48
"""Pixels: the side of a square with the area of what is kept; two a module for the sizes that are printed."""

_REACH = 0.3
"""Of the longer side: how far around it is searched for, as hands tremble from one frame to the next."""

_ALIKE = 0.92
"""Least correlation of grey levels."""

_LEAST = 8
"""Pixels: nothing smaller is kept, for it could look like anything."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Look:
    """A place as it was when it was read."""

    grey: "NDArray[np.uint8]"
    """Its upright bounding box, reduced."""

    scale: float
    """Pixels of ``grey`` per pixel of the frame."""


def look_at(grey: "NDArray[np.uint8]", corners: Corners) -> Look | None:
    """Return how a place looks, or None if too little of it lies in the frame.

    Args:
        grey: the frame, shape (height, width).
        corners: of the place, in its pixels.
    """
    part, _ = part_around(grey, corners, margin=0)
    if min(part.shape) < _LEAST:
        return None
    scale = _SIDE / float(np.sqrt(part.size))
    return Look(grey=_reduced(part, scale), scale=scale)


def find_again(look: Look, grey: "NDArray[np.uint8]", corners: Corners) -> Corners | None:
    """Return where a place is now, or None if nothing near where it was looks like it.

    Args:
        look: how it looked when it was read.
        grey: the frame, shape (height, width).
        corners: where it was last.
    """
    reach = round(_REACH * max(sides(corners)))
    part, (left, top) = part_around(grey, corners, margin=reach)
    around = _reduced(part, look.scale) if min(part.shape) >= _LEAST else part
    if around.shape[0] < look.grey.shape[0] or around.shape[1] < look.grey.shape[1]:
        return None
    _, best, _, (x, y) = cv2.minMaxLoc(cv2.matchTemplate(around, look.grey, cv2.TM_CCOEFF_NORMED))
    if best < _ALIKE:
        return None
    right = round(left + x / look.scale) - min(corner_x for corner_x, _ in corners)
    down = round(top + y / look.scale) - min(corner_y for _, corner_y in corners)
    return moved(corners, right, down)


def _reduced(part: "NDArray[np.uint8]", scale: float) -> "NDArray[np.uint8]":
    way = cv2.INTER_AREA if scale < 1.0 else cv2.INTER_LINEAR
    size = max(1, round(part.shape[1] * scale)), max(1, round(part.shape[0] * scale))
    return np.asarray(cv2.resize(part, size, interpolation=way), dtype=np.uint8)
