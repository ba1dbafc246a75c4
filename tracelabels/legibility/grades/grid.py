"""The grid of a symbol in a picture: where the lines between its modules truly run.

A grid is a lattice of intersections in pixels. Places in it are counted in modules from the symbol's top left corner, u
to the right and v down; between intersections they are interpolated, beyond the last line they run on straight. Pixels
count from the picture's corner, so that the middle of the first pixel is (0.5, 0.5).
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Grid:
    """A lattice of intersections."""

    lattice: "NDArray[np.float64]"
    """Pixels (x, y) of the intersections, shape (rows + 1, columns + 1, 2), without quiet zone."""
    growth: tuple[float, float] = (0.0, 0.0)
    """How much wider, and how much higher, a dark module is than the grid says, in modules."""

    @property
    def rows(self) -> int:
        """Return the number of rows of modules."""
        return len(self.lattice) - 1

    @property
    def columns(self) -> int:
        """Return the number of columns of modules."""
        return int(self.lattice.shape[1]) - 1

    @property
    def pitch(self) -> tuple[float, float]:
        """Return the average size of a module from left to right and from top to bottom, pixels."""
        across = np.linalg.norm(self.lattice[:, -1] - self.lattice[:, 0], axis=1).mean() / self.columns
        down = np.linalg.norm(self.lattice[-1] - self.lattice[0], axis=1).mean() / self.rows
        return float(across), float(down)

    @property
    def corners(self) -> tuple[tuple[float, float], ...]:
        """Return the four corners in pixels, clockwise from the symbol's own top left."""
        return tuple((float(x), float(y)) for x, y in self.lattice[[0, 0, -1, -1], [0, -1, -1, 0]])

    def at(self, u: "NDArray[np.float64]", v: "NDArray[np.float64]") -> "NDArray[np.float64]":
        """Return the pixels, shape (..., 2), of places (u, v) in modules."""
        column = np.clip(u.astype(int), 0, self.columns - 1)
        row = np.clip(v.astype(int), 0, self.rows - 1)
        right, down = u - column, v - row
        flat = self.lattice.reshape(-1, 2)
        first = row * (self.columns + 1) + column
        places = np.empty((*u.shape, 2))
        for axis in (0, 1):
            line = flat[:, axis]
            upper, lower = line[first], line[first + self.columns + 1]
            upper += (line[first + 1] - upper) * right
            lower += (line[first + self.columns + 2] - lower) * right
            places[..., axis] = upper + (lower - upper) * down
        return places

    def even(self) -> "NDArray[np.float64]":
        """Return the intersections of the even grid with the same four corners, shape as the lattice.

        Perspective is taken out, because it belongs to the camera: the even grid is the perspective picture of a flat,
        evenly spaced one.
        """
        corners = self.lattice[[0, 0, -1, -1], [0, -1, -1, 0]]
        return grid_from_corners(corners, rows=self.rows, columns=self.columns).lattice


def grid_from_corners(corners: "Sequence[Sequence[float]] | NDArray[np.float64]", *, rows: int, columns: int) -> Grid:
    """Return the even grid between four corners.

    Args:
        corners: (x, y) in pixels, clockwise from the symbol's own top left.
        rows: rows of modules.
        columns: columns of modules.
    """
    flat = np.array([(0, 0), (columns, 0), (columns, rows), (0, rows)], dtype=np.float32)
    seen = np.asarray(corners, dtype=np.float32)
    view = cv2.getPerspectiveTransform(flat, seen)
    u, v = np.meshgrid(np.arange(columns + 1.0), np.arange(rows + 1.0))
    places = np.stack([u, v, np.ones_like(u)], axis=-1) @ np.asarray(view, dtype=np.float64).T
    lattice: NDArray[np.float64] = places[..., :2] / places[..., 2:]
    return Grid(lattice=lattice)


def levels_at(image: "NDArray[np.uint8]", places: "NDArray[np.float64]") -> "NDArray[np.float64]":
    """Return the grey levels at places in pixels, shape (..., 2), interpolated between pixels."""
    flat = places.reshape(len(places), -1, 2) - 0.5
    # One axis at a time: numpy is slow over a short last axis.
    near, far = (np.array([most(flat[..., axis]) for axis in (0, 1)]) for most in (np.min, np.max))
    first = np.clip(np.floor(near).astype(int) - 1, 0, np.array(image.shape[::-1]) - 1)
    last = np.clip(np.ceil(far).astype(int) + 2, first + 1, image.shape[::-1])
    # As float, because whole grey levels would round the interpolation; only the part that is asked for.
    part = image[first[1] : last[1], first[0] : last[0]].astype(np.float32)
    at = (flat - first).astype(np.float32)
    levels = cv2.remap(part, at[..., 0], at[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(levels, dtype=np.float64).reshape(places.shape[:-1])
