"""Temperatures and pressures over time, as the computing takes them: one unit each, time rising, gaps named."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """A stretch of time, in seconds since the first reading."""

    start_s: float
    """Where it begins."""
    end_s: float
    """Where it ends."""

    @property
    def minutes(self) -> float:
        """Return its length in minutes."""
        return (self.end_s - self.start_s) / 60


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Readings:
    """Readings of one cycle at one place; all arrays have shape (readings,)."""

    seconds: NDArray[np.float64]
    """Time since the first reading in seconds; strictly rising."""
    celsius: NDArray[np.float64]
    """Temperature in degrees Celsius."""
    kpa: NDArray[np.float64] | None = None
    """Absolute pressure in kilopascal; None if there is none. NaN where a row had none."""
    step_k: float = 0.0
    """Smallest step that the temperatures are written in, in kelvin; a reading may be off by half of it."""
    gaps: tuple[Span, ...] = ()
    """Stretches between two readings that are too long to say what happened in them."""

    def between(self, start_s: float, end_s: float) -> "Readings":
        """Return the readings of a stretch of time, whose first one is at 0 seconds again."""
        inside = (self.seconds >= start_s) & (self.seconds <= end_s)
        first = float(self.seconds[inside][0]) if inside.any() else 0.0
        return Readings(
            seconds=self.seconds[inside] - first,
            celsius=self.celsius[inside],
            kpa=None if self.kpa is None else self.kpa[inside],
            step_k=self.step_k,
            gaps=tuple(
                Span(start_s=gap.start_s - first, end_s=gap.end_s - first)
                for gap in self.gaps
                if gap.start_s >= first and gap.end_s <= end_s
            ),
        )
