"""Where the camera stands.

A pinhole camera at distance d above the bench's origin. The bench is turned before it by ``tilt`` (about x: the far
side goes away) and ``swing`` (about y: the right side goes away). A point (x, y, z) in the camera's axes falls on the
pixel

    X = width / 2 + s x d / (d - z),    Y = height / 2 + s y d / (d - z),    s = pixels per mm at the origin.

A camera that is itself turned about its line of sight (``roll``) turns that picture about its middle: a right angle on
the bench stays what it was in the picture, which it does not if the label is turned on a bench that leans.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Rays:
    """Lines of sight through pixels, as origin + t * direction."""

    origin: "NDArray[np.float64]"
    """Where all of them start: the camera, shape (3,), mm."""

    directions: "NDArray[np.float32]"
    """One direction a pixel, shape (3, rows, columns)."""

    def moved(self, place: "Pose") -> "Rays":
        """Return the same lines in the axes of a piece that lies on the bench."""
        back = turn_matrix(place.turn).T
        return Rays(
            origin=back @ (self.origin - np.array([place.x, place.y, 0.0])),
            directions=np.tensordot(back.astype(np.float32), self.directions, axes=1),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Pose:
    """How a piece lies on the bench."""

    x: float
    """Its centre, mm to the right of the picture's centre."""

    y: float
    """Its centre, mm below the picture's centre."""

    turn: float
    """Degrees anticlockwise in the plane of the bench."""


def turn_matrix(degrees: float) -> "NDArray[np.float64]":
    """Return the rotation in the plane of the bench, anticlockwise as the viewer sees it (y points down)."""
    sine, cosine = np.sin(np.radians(degrees)), np.cos(np.radians(degrees))
    return np.array([[cosine, sine, 0.0], [-sine, cosine, 0.0], [0.0, 0.0, 1.0]])


def bench_matrix(tilt: float, swing: float) -> "NDArray[np.float64]":
    """Return the rotation from the bench's axes to the camera's."""
    st, ct = np.sin(np.radians(tilt)), np.cos(np.radians(tilt))
    ss, cs = np.sin(np.radians(swing)), np.cos(np.radians(swing))
    about_x = np.array([[1.0, 0.0, 0.0], [0.0, ct, -st], [0.0, st, ct]])
    about_y = np.array([[cs, 0.0, ss], [0.0, 1.0, 0.0], [-ss, 0.0, cs]])
    turned: NDArray[np.float64] = about_x @ about_y
    return turned


@dataclass(frozen=True, slots=True, kw_only=True)
class Pinhole:
    """The camera of this module's formula."""

    width: int
    """Pixels from left to right."""

    height: int
    """Pixels from top to bottom."""

    px_per_mm: float
    """Scale at the origin."""

    distance: float
    """From the pinhole to the origin, mm."""

    tilt: float
    """Degrees about x."""

    swing: float
    """Degrees about y."""

    roll: float = 0.0
    """Degrees anticlockwise by which the picture is turned."""

    def project(self, points: "NDArray[np.float64]") -> "NDArray[np.float64]":
        """Return the pixels, shape (n, 2), of points on the bench, shape (n, 3), mm."""
        seen = points @ bench_matrix(self.tilt, self.swing).T
        nearer = self.distance / (self.distance - seen[:, 2:])
        centre = np.array([self.width / 2.0, self.height / 2.0])
        turned = seen[:, :2] @ turn_matrix(self.roll)[:2, :2].T
        pixels: NDArray[np.float64] = centre + self.px_per_mm * nearer * turned
        return pixels

    def rays(self, box: tuple[int, int, int, int], samples: int) -> Rays:
        """Return the lines of sight of a box of pixels, each pixel split into samples x samples.

        Args:
            box: left, top, right, bottom, in pixels.
            samples: samples along each side of a pixel.
        """
        left, top, right, bottom = box
        across = (np.arange((right - left) * samples) + 0.5) / samples + left - self.width / 2.0
        down = (np.arange((bottom - top) * samples) + 0.5) / samples + top - self.height / 2.0
        back = (turn_matrix(self.roll) @ bench_matrix(self.tilt, self.swing)).T
        columns, rows = np.meshgrid(across / self.px_per_mm, down / self.px_per_mm)
        seen = np.stack([columns, rows, np.full_like(columns, -self.distance)]).astype(np.float32)
        return Rays(
            origin=back @ np.array([0.0, 0.0, self.distance]),
            directions=np.tensordot(back.astype(np.float32), seen, axes=1),
        )
