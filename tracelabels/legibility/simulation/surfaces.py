"""What a label sticks to: flat ground, or a tube that lies on the bench.

A label's own coordinates are u (to its right) and v (down), mm from its centre. Bent round a tube of radius R whose
axis runs along v, and turned about that axis by the angle a, the point (u, v) lies at

    x = R sin(u / R + a),    y = v,    z = R + R cos(u / R + a).

The line of sight o + t d meets the tube at the smaller root of the quadratic in t from x^2 + (z - R)^2 = R^2.
The tube is taken as a whole cylinder of one diameter, which the lower part of a lab tube is not.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from tracelabels.symbols import TubeAxis

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tracelabels.legibility.simulation.view import Rays


@dataclass(frozen=True, slots=True, kw_only=True)
class Meeting:
    """Where lines of sight meet a surface; every array has the shape (rows, columns)."""

    u: "NDArray[np.float32]"
    """The label's coordinate to the right, mm."""

    v: "NDArray[np.float32]"
    """The label's coordinate down, mm."""

    met: "NDArray[np.bool_]"
    """Whether the line meets the surface at all."""

    normal: "NDArray[np.float32]"
    """The surface's normal in the piece's axes, shape (3, rows, columns)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Flat:
    """A label that lies flat on the bench."""

    def lift(self, points: "NDArray[np.float64]") -> "NDArray[np.float64]":
        """Return the places, shape (n, 3), of label points (u, v), shape (n, 2)."""
        return np.column_stack([points, np.zeros(len(points))])

    def meet(self, rays: "Rays") -> Meeting:
        """Return where the lines of sight meet the plane z = 0."""
        dx, dy, dz = rays.directions
        t = np.float32(-rays.origin[2]) / dz
        normal = np.zeros_like(rays.directions)
        normal[2] = 1.0
        return Meeting(
            u=np.float32(rays.origin[0]) + t * dx,
            v=np.float32(rays.origin[1]) + t * dy,
            met=t > 0.0,
            normal=normal,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Cylinder:
    """A label bent round a tube."""

    diameter: float
    """Of the tube, mm."""

    axis: TubeAxis
    """The label's side along which the tube's axis runs."""

    off_axis: float
    """Degrees by which the label's centre is turned round the tube, away from the top."""

    def lift(self, points: "NDArray[np.float64]") -> "NDArray[np.float64]":
        """Return the places, shape (n, 3), of label points (u, v), shape (n, 2)."""
        around, along = (points.T if self.axis is TubeAxis.HEIGHT else points.T[::-1])[:2]
        radius = self.diameter / 2.0
        angle = around / radius + np.radians(self.off_axis)
        x, z = radius * np.sin(angle), radius + radius * np.cos(angle)
        return np.column_stack([x, along, z] if self.axis is TubeAxis.HEIGHT else [along, x, z])

    def meet(self, rays: "Rays") -> Meeting:
        """Return where the lines of sight meet the tube's side."""
        order = [0, 1, 2] if self.axis is TubeAxis.HEIGHT else [1, 0, 2]
        ox, oy, oz = rays.origin[order].astype(np.float32)
        dx, dy, dz = rays.directions[order]
        radius = np.float32(self.diameter / 2.0)
        a = dx**2 + dz**2
        b = ox * dx + (oz - radius) * dz
        inside = b**2 - a * (ox**2 + (oz - radius) ** 2 - radius**2)
        met = inside > 0.0
        t = (-b - np.sqrt(np.where(met, inside, 0.0))) / a
        x, y, z = ox + t * dx, oy + t * dy, oz + t * dz
        around = radius * (np.arctan2(x, z - radius) - np.float32(np.radians(self.off_axis)))
        normal = np.stack([x / radius, np.zeros_like(x), (z - radius) / radius])[order]
        upright = self.axis is TubeAxis.HEIGHT
        return Meeting(u=around if upright else y, v=y if upright else around, met=met & (t > 0.0), normal=normal)

    def shows_end(self, rays: "Rays", length: float) -> "NDArray[np.bool_]":
        """Say which lines of sight meet the end, facing the camera, of a tube of some length in mm."""
        order = [0, 1, 2] if self.axis is TubeAxis.HEIGHT else [1, 0, 2]
        ox, oy, oz = rays.origin[order].astype(np.float32)
        dx, dy, dz = rays.directions[order]
        radius = np.float32(self.diameter / 2.0)
        facing = np.float32(np.sign(oy) * length / 2.0)
        with np.errstate(divide="ignore", invalid="ignore"):
            t = (facing - oy) / dy
            apart = (ox + t * dx) ** 2 + (oz + t * dz - radius) ** 2
        return np.asarray((abs(oy) > length / 2.0) & (t > 0.0) & (apart < radius**2), dtype=np.bool_)
