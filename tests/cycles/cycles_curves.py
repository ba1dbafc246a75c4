"""Curves for the tests of computing over cycles."""

from collections.abc import Sequence

import numpy as np

from tracelabels.cycles import Readings, Span
from tracelabels.cycles.steam import saturation_pressure_kpa


def curve(*corners: tuple[float, float], every_s: float = 1.0) -> Readings:
    """Read a curve that goes straight from corner (seconds, degrees Celsius) to corner, every so many seconds."""
    at, celsius = np.array(corners, dtype=float).T
    seconds = np.append(np.arange(at[0], at[-1] - 1e-9, every_s), at[-1])
    return Readings(seconds=seconds, celsius=np.interp(seconds, at, celsius))


def cycle(
    hold_s: float, celsius: float = 134.5, *, up_s: float = 600, down_s: float = 300, every_s: float = 1.0
) -> Readings:
    """Read a cycle from 20 degrees Celsius up, that long at a level, and down to 80 again."""
    corners = ((0, 20), (up_s, celsius), (up_s + hold_s, celsius), (up_s + hold_s + down_s, 80))
    return curve(*corners, every_s=every_s)


def in_steam(readings: Readings, *, colder_by_k: float = 0.0, gauge_kpa: float = 0.0) -> Readings:
    """Add the pressure of saturated steam, of steam that is so much hotter than measured, less the air's pressure."""
    kpa = saturation_pressure_kpa(readings.celsius + colder_by_k) - gauge_kpa
    return Readings(
        seconds=readings.seconds, celsius=readings.celsius, kpa=kpa, step_k=readings.step_k, gaps=readings.gaps
    )


def without(readings: Readings, spans: Sequence[tuple[float, float]]) -> Readings:
    """Leave out what lies between, and name the gaps as a log's reader does: from reading to reading."""
    seconds = readings.seconds
    keep = np.all([(seconds <= start) | (seconds >= end) for start, end in spans], axis=0)
    kept = seconds[keep]
    gaps = tuple(
        Span(start_s=float(kept[kept <= start][-1]), end_s=float(kept[kept >= end][0])) for start, end in spans
    )
    kpa = None if readings.kpa is None else readings.kpa[keep]
    return Readings(seconds=kept, celsius=readings.celsius[keep], kpa=kpa, step_k=readings.step_k, gaps=gaps)
