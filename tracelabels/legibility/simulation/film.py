"""A label on a pouch whose film buckles a little.

The film's height over the bench is z = h cos(2 pi (u cos w + v sin w) / l + f): waves of the height h, 0 to 2 mm, and
the length l = 12 mm (common practice, no source), that run in the direction w and start at the phase f. The line of
sight o + t d meets it where t = (z(u, v) - o_z) / d_z, found by repeating that four times from z = 0: for waves this
flat each time brings the error down by the product of the film's slope and the line's slant.
Assumption: the label follows the film without stretching; lengths along the waves are taken as lengths on the bench,
which is short by (pi h / l)^2, 0.3 % for h = 0.2 mm.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from tracelabels.legibility.simulation.surfaces import Meeting

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tracelabels.legibility.simulation.view import Rays

WAVE_MM = 12.0
_ROUNDS = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Film:
    """A buckled film."""

    height: float
    """From the middle to the crest of a wave, mm."""

    direction: float
    """Degrees from the label's right in which the waves run."""

    phase: float
    """Degrees; 0 puts a crest at the label's centre."""

    def lift(self, points: "NDArray[np.float64]") -> "NDArray[np.float64]":
        """Return the places, shape (n, 3), of label points (u, v), shape (n, 2)."""
        height = self.height * np.cos(self._angle(*points.T.astype(np.float32)))
        return np.column_stack([points, height])

    def meet(self, rays: "Rays") -> Meeting:
        """Return where the lines of sight meet the film."""
        ox, oy, oz = (np.float32(value) for value in rays.origin)
        dx, dy, dz = rays.directions
        t = -oz / dz
        for _ in range(_ROUNDS):
            t = (np.float32(self.height) * np.cos(self._angle(ox + t * dx, oy + t * dy)) - oz) / dz
        u, v = ox + t * dx, oy + t * dy
        slope = np.float32(self.height * 2.0 * np.pi / WAVE_MM) * np.sin(self._angle(u, v))
        across, down = (np.float32(part) for part in self._way())
        length = np.sqrt(1.0 + slope**2)
        normal = np.stack([slope * across / length, slope * down / length, 1.0 / length])
        return Meeting(u=u, v=v, met=t > 0.0, normal=normal.astype(np.float32))

    def _way(self) -> tuple[float, float]:
        return float(np.cos(np.radians(self.direction))), float(np.sin(np.radians(self.direction)))

    def _angle(self, u: "NDArray[np.float32]", v: "NDArray[np.float32]") -> "NDArray[np.float32]":
        across, down = self._way()
        turn = 2.0 * np.pi / WAVE_MM
        return u * np.float32(turn * across) + v * np.float32(turn * down) + np.float32(np.radians(self.phase))
