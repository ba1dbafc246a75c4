"""Where the bars of a linear symbol lie in a picture.

A reader follows one row of pixels through the bars, so its corners say little about how the bars lean and how high they
are. The lean is the direction across which the picture changes most (its structure tensor) along the row that was read;
the height is how far, along the bars, the rows go on looking like the symbol. The four corners are then refined on the
edges of all bars.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

from tracelabels.legibility.grades.grid import Grid, grid_from_corners, levels_at
from tracelabels.legibility.grades.refining import refined

if TYPE_CHECKING:
    from numpy.typing import NDArray

_LIKENESS: Final = 0.6
"""Correlation with the symbol above which a row belongs to the bars."""
_HEIGHT_SHARE: Final = 1.0
"""Rows are tried as far as the symbol is wide, to either side."""
_BAND: Final = 8
"""Pixels beside the row that was read in which the lean is measured."""
_BANDS: Final = 8
"""The height is cut into so many bands when its corners are refined."""
_PER_MODULE: Final = 4
"""Samples a module when rows are compared."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Bars:
    """A block of bars; pixels, counted from the picture's corner."""

    start: "NDArray[np.float64]"
    """(x, y) on the left edge of the first bar, on the row that was read."""
    module: "NDArray[np.float64]"
    """From one module to the next, at a right angle to the bars, (x, y)."""
    along: "NDArray[np.float64]"
    """One pixel along the bars, (x, y)."""
    low: float
    """How far the bars reach against ``along``, pixels, not above 0 by much."""
    high: float
    """How far the bars reach with ``along``, pixels."""

    def at(self, u: "NDArray[np.float64]", height: float) -> "NDArray[np.float64]":
        """Return the pixels, shape (..., 2), of places u in modules from the first bar's left edge on one line.

        Args:
            u: modules.
            height: pixels along the bars from the row that was read.
        """
        places: NDArray[np.float64] = self.start + u[..., None] * self.module + height * self.along
        return places

    def corners(self, columns: int) -> "NDArray[np.float64]":
        """Return the four corners, clockwise from the symbol's own top left, shape (4, 2)."""
        ends = np.array([0.0, float(columns)])
        top, bottom = self.at(ends, self.low), self.at(ends, self.high)
        return np.stack([top[0], top[1], bottom[1], bottom[0]])


def locate(image: "NDArray[np.uint8]", corners: "tuple[tuple[int, int], ...]", modules: "NDArray[np.bool_]") -> Grid:
    """Return where the bars lie: an even grid of one row, as high as the bars.

    Args:
        image: grey picture.
        corners: as the reader gave them, clockwise from the symbol's own top left.
        modules: the symbol, one row, True is dark.
    """
    around = np.array(corners, dtype=np.float64) + np.array([(0, 0), (1, 0), (1, 1), (0, 1)])
    left, right = (around[0] + around[3]) / 2.0, (around[1] + around[2]) / 2.0
    across = _direction(image, left, right)
    width = float((right - left) @ across)
    along = np.array([-across[1], across[0]])
    place = _Bars(
        start=(left + right) / 2.0 - across * width / 2.0,
        module=across * width / len(modules),
        along=along,
        low=0.0,
        high=0.0,
    )
    heights = np.arange(-_HEIGHT_SHARE * width, _HEIGHT_SHARE * width + 1.0)
    low, high = _reach(heights, _likeness(image, place, heights, modules))
    found = _Bars(start=place.start, module=place.module, along=along, low=low, high=high)
    bands = np.tile(modules, (_BANDS, 1))
    rough = grid_from_corners(found.corners(len(modules)), rows=_BANDS, columns=len(modules))
    # Only the corners are taken over: between them the bars have to stand where they should by themselves.
    exact = refined(image, rough, bands)
    return grid_from_corners(exact.corners, rows=1, columns=len(modules))


def _direction(
    image: "NDArray[np.uint8]", left: "NDArray[np.float64]", right: "NDArray[np.float64]"
) -> "NDArray[np.float64]":
    """Return the unit vector across the bars, pointing from left to right."""
    near = np.clip(np.floor(np.minimum(left, right)).astype(int) - _BAND, 0, None)
    far = np.ceil(np.maximum(left, right)).astype(int) + _BAND
    part = cv2.GaussianBlur(image[near[1] : far[1], near[0] : far[0]].astype(np.float32), (0, 0), 1.0)
    # The rim is left out: beyond it the picture is mirrored, which would hide the lean.
    rim = (slice(2, -2), slice(2, -2))
    dx = cv2.Scharr(part, cv2.CV_32F, 1, 0)[rim].astype(np.float64)
    dy = cv2.Scharr(part, cv2.CV_32F, 0, 1)[rim].astype(np.float64)
    tensor = np.array([[(dx * dx).sum(), (dx * dy).sum()], [(dx * dy).sum(), (dy * dy).sum()]])
    across: NDArray[np.float64] = np.linalg.eigh(tensor)[1][:, -1]
    return across if (right - left) @ across >= 0.0 else -across


def _likeness(
    image: "NDArray[np.uint8]", place: _Bars, heights: "NDArray[np.float64]", modules: "NDArray[np.bool_]"
) -> "NDArray[np.float64]":
    """Return for each row how much it looks like the symbol, -1 to 1."""
    u = (np.arange(len(modules) * _PER_MODULE) + 0.5) / _PER_MODULE
    wanted = np.repeat(np.where(modules, -1.0, 1.0), _PER_MODULE)
    wanted -= wanted.mean()
    seen = levels_at(image, np.stack([place.at(u, float(height)) for height in heights]))
    seen = seen - seen.mean(axis=1, keepdims=True)
    spread = np.linalg.norm(seen, axis=1) * np.linalg.norm(wanted)
    likeness: NDArray[np.float64] = (seen @ wanted) / np.maximum(spread, 1e-9)
    return likeness


def _reach(heights: "NDArray[np.float64]", likeness: "NDArray[np.float64]") -> tuple[float, float]:
    """Return the longest run of rows that look like the symbol; if there is none, the row that was read."""
    alike = np.concatenate([[False], likeness > _LIKENESS, [False]])
    changes = np.flatnonzero(alike[1:] != alike[:-1])
    runs = list(zip(changes[0::2], changes[1::2] - 1, strict=True))
    if not runs:
        return -1.0, 1.0
    first, last = max(runs, key=lambda run: run[1] - run[0])
    return float(heights[first]) - 1.0, float(heights[last]) + 1.0
