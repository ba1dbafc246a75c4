"""A patch with its surroundings, turned upright by its four sides, which may be bowed."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

from tracelabels.scanning.locating.surface import EXPONENTS, surface_through

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tracelabels.scanning.locating import Outline

_SHORTEST: Final = 110.0
_LONGEST: Final = 280.0
"""Samples along a side: more say nothing new, and take time."""
_LEAST: Final = 8
_AROUND: Final = 0.25
"""Of the shorter side, sampled beyond each side."""
_LEAST_AROUND: Final = 4.0
_ORDERS: Final = 4
"""Powers of u and of v in a surface: none to the third."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Upright:
    """Samples of a patch and of what surrounds it."""

    framed: "NDArray[np.float32]"
    """Grey levels with the surroundings, shape (height + 2 margin, width + 2 margin)."""
    is_inside: "NDArray[np.bool_]"
    """Whether a sample lies in the picture, same shape."""
    margin: int
    """Samples beyond each side."""
    step: float
    """Pixels of the picture from one sample to the next; 1 or more."""
    ways: tuple[tuple[float, float], tuple[float, float]]
    """In the picture, one step (x, y) to the right in the patch, and one downwards: unit lengths."""

    @property
    def levels(self) -> "NDArray[np.float32]":
        """Return the patch without its surroundings, shape (height, width)."""
        return self.framed[self.margin : -self.margin, self.margin : -self.margin]


def find_upright(grey: "NDArray[np.uint8]", outline: "Outline") -> Upright | None:
    """Return a patch turned upright; None if it is too small to be measured.

    Args:
        grey: the picture, shape (height, width).
        outline: the patch's sides.
    """
    nodes = outline.nodes
    across, down = nodes[2] + nodes[4] - nodes[0] - nodes[6], nodes[4] + nodes[6] - nodes[0] - nodes[2]
    width, height = float(np.hypot(*across)) / 2.0, float(np.hypot(*down)) / 2.0
    step = max(1.0, min(width, height) / _SHORTEST, max(width, height) / _LONGEST)
    columns, rows = round(width / step), round(height / step)
    if min(columns, rows) < _LEAST:
        return None
    margin = round(max(_LEAST_AROUND, _AROUND * min(columns, rows)))
    u, v = (2.0 * (np.arange(-margin, count + margin) + 0.5) / count - 1.0 for count in (columns, rows))
    places = _places(u, v, surface_through(nodes))
    ways = tuple((float(way[0]), float(way[1])) for way in (across / (2.0 * width), down / (2.0 * height)))
    return Upright(
        framed=_sampled(grey, places, step),
        is_inside=np.asarray(((places >= 0.0) & (places <= grey.shape[::-1])).all(axis=2)),
        margin=margin,
        step=step,
        ways=(ways[0], ways[1]),
    )


def _places(
    u: "NDArray[np.float64]", v: "NDArray[np.float64]", surface: "NDArray[np.float64]"
) -> "NDArray[np.float64]":
    """Return the pixels (x, y) of every u and v under a surface, shape (rows, columns, 2): its terms are products."""
    terms = np.zeros((_ORDERS, _ORDERS, 2))
    for (of_u, of_v), term in zip(EXPONENTS, surface, strict=True):
        terms[of_v, of_u] = term
    right, below = (np.vander(each, _ORDERS, increasing=True) for each in (u, v))
    return np.stack([below @ terms[:, :, axis] @ right.T for axis in (0, 1)], axis=-1)


def _sampled(grey: "NDArray[np.uint8]", places: "NDArray[np.float64]", step: float) -> "NDArray[np.float32]":
    """Return the levels at places (x, y), shape (rows, columns, 2), averaged over a step's pixels."""
    height, width = grey.shape
    left, top = np.clip(np.floor(places.min(axis=(0, 1))) - 2, 0, (width - 1, height - 1)).astype(int).tolist()
    ends = np.clip(np.ceil(places.max(axis=(0, 1))) + 2, (left + 1, top + 1), (width, height))
    right, bottom = ends.astype(int).tolist()
    part = grey[top:bottom, left:right]
    if step > 1.0:
        size = (max(1, round((right - left) / step)), max(1, round((bottom - top) / step)))
        part = np.asarray(cv2.resize(part, size, interpolation=cv2.INTER_AREA), dtype=np.uint8)
    scale = np.array([part.shape[1] / (right - left), part.shape[0] / (bottom - top)])
    at = ((places - (left, top)) * scale - 0.5).astype(np.float32)
    seen = cv2.remap(part.astype(np.float32), at[..., 0], at[..., 1], cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(seen, dtype=np.float32)
