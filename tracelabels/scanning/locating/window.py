"""The part of a picture around an outline, its light made even, at a size that is cheap to look at."""

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

from tracelabels.scanning.locating.outlines import stock_of
from tracelabels.scanning.sampling.sharpening import Blur, Patch, sharpened

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tracelabels.scanning.locating.outlines import Outline

_AROUND: Final = 0.25
"""Of the symbol's side: taken along on every side."""
_LARGEST: Final = 110.0
"""Pixels of the symbol's side: five a module are enough to place it."""
_SMALL: Final = 60.0
_SMALLEST: Final = 45.0
_PERCENT: Final = 100.0
SHARP: Final = Blur(bell=0.0)
_SOFTEST: Final = 0.45
_STEPS: Final = 5.0
"""Softenings are told apart by a fifth of their logarithm."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Slopes:
    """Levels and how they change."""

    levels: "NDArray[np.float32]"
    """In percent of the stock, shape (height, width)."""
    across: "NDArray[np.float32]"
    """Change a pixel to the right."""
    down: "NDArray[np.float32]"
    """Change a pixel downwards."""

    @property
    def pictures(self) -> "tuple[NDArray[np.float32], NDArray[np.float32], NDArray[np.float32]]":
        """Return all three."""
        return self.levels, self.across, self.down


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Window:
    """A part of a picture; places in it are pixels, the middle of the first at (0.5, 0.5)."""

    even: "NDArray[np.float32]"
    """Levels in percent of the stock around, shape (height, width)."""
    scale: tuple[float, float]
    """Pixels here for one of the picture, right and down."""
    corner: tuple[float, float]
    """The window's top left in pixels of the picture."""
    seen: dict[tuple[int, Blur], Slopes] = field(default_factory=dict)
    """Views made so far."""

    def nodes_here(self, nodes: "NDArray[np.float64]") -> "NDArray[np.float64]":
        """Return points of the picture, shape (n, 2), as points of the window."""
        return np.asarray((nodes - np.array(self.corner)) * np.array(self.scale))

    def surface_in_picture(self, surface: "NDArray[np.float64]") -> "NDArray[np.float64]":
        """Return a surface of the window as one of the picture."""
        there = surface / np.array(self.scale)
        there[0] += np.array(self.corner)
        return np.asarray(there)

    def view(self, *, softened: float, undone: Blur = SHARP) -> Slopes:
        """Return the window with a blur undone and then softened, all lengths in pixels."""
        near = Blur(bell=round(undone.bell * 4.0) / 4.0, streak=round(undone.streak * 4.0) / 4.0, angle=undone.angle)
        key = (round(float(np.log(max(softened, _SOFTEST))) * _STEPS), near)
        if key not in self.seen:
            as_it_is = Patch(grey=self.even, left=0, top=0, module=1.0)
            levels = cv2.GaussianBlur(sharpened(as_it_is, near), (0, 0), float(np.exp(key[0] / _STEPS)))
            across, down = (cv2.Scharr(levels, cv2.CV_32F, *turn) / 32.0 for turn in ((1, 0), (0, 1)))
            self.seen[key] = Slopes(
                levels=np.asarray(levels, dtype=np.float32), across=np.asarray(across), down=np.asarray(down)
            )
        return self.seen[key]


def window_around(grey: "NDArray[np.uint8]", outline: "Outline") -> Window:
    """Return the window around an outline.

    Args:
        grey: the picture, shape (height, width).
        outline: in pixels of the picture.
    """
    side = float(np.sqrt(outline.area))
    height, width = grey.shape
    reach = _AROUND * side + 4.0
    left, top = np.maximum(np.floor(outline.nodes.min(axis=0) - reach), 0).astype(int).tolist()
    right, bottom = np.minimum(np.ceil(outline.nodes.max(axis=0) + reach), (width, height)).astype(int).tolist()
    part = grey[top:bottom, left:right].astype(np.float32)
    times = _times(side)
    if times != 1.0:
        size = (max(1, round(part.shape[1] * times)), max(1, round(part.shape[0] * times)))
        how = cv2.INTER_AREA if times < 1.0 else cv2.INTER_CUBIC
        part = np.asarray(cv2.resize(part, size, interpolation=how), dtype=np.float32)
    calm = np.asarray(cv2.GaussianBlur(part, (0, 0), 0.7 * max(times, 1.0)), dtype=np.float32)
    even = _PERCENT * part / stock_of(calm, side * times)
    scale = (part.shape[1] / (right - left), part.shape[0] / (bottom - top))
    return Window(even=np.asarray(even, dtype=np.float32), scale=scale, corner=(float(left), float(top)))


def _times(side: float) -> float:
    """Return by how much a window is enlarged: below two pixels a module, slopes between pixels say too little."""
    if side < _SMALLEST:
        return 2.0
    return 1.5 if side < _SMALL else min(1.0, _LARGEST / side)
