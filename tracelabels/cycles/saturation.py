"""Is the chamber full of saturated steam? The measured temperature against that of steam at the measured pressure."""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from tracelabels.cycles.findings import Saturation, Suspicion
from tracelabels.cycles.readings import Readings
from tracelabels.cycles.steam import saturation_temperature_c
from tracelabels.cycles.stretches import Stretch

LASTING_S: Final = 30.0
"""A difference counts if it lasts that long, over two readings at least (our choice: a probe lags by seconds)."""
STEAM_FROM_C: Final = 100.0
"""Colder than this, air and vacuum are expected, and nothing is compared."""


def find_saturation(readings: Readings, plateau: Stretch, *, tolerance_k: float) -> Saturation | None:
    """Compare temperature and pressure over a plateau.

    Args:
        readings: the curve.
        plateau: over which readings the worst difference is looked for.
        tolerance_k: how far apart the two may be, in kelvin.

    Returns:
        None if no pressure was measured during the plateau.
    """
    if readings.kpa is None:
        return None
    differences = np.full(len(readings.celsius), np.nan)
    steam = readings.celsius >= STEAM_FROM_C
    differences[steam] = readings.celsius[steam] - saturation_temperature_c(readings.kpa[steam])
    held = slice(plateau.first, plateau.last + 1)
    known = ~np.isnan(differences[held])
    if not known.any():
        return None
    worst = _worst_lasting(differences[held][known], readings.seconds[held][known])
    return Saturation(
        worst_difference_k=worst, suspicion=_suspicion(worst, tolerance_k=tolerance_k), differences_k=differences
    )


def _suspicion(worst_k: float, *, tolerance_k: float) -> Suspicion:
    if worst_k > tolerance_k:
        return Suspicion.SUPERHEAT
    return Suspicion.AIR if worst_k < -tolerance_k else Suspicion.NONE


def _worst_lasting(differences: NDArray[np.float64], seconds: NDArray[np.float64]) -> float:
    """Return the difference that is furthest from nought among those that lasted."""
    step_s = float(np.median(np.diff(seconds))) if len(seconds) > 1 else LASTING_S
    count = min(len(differences), int(np.ceil(LASTING_S / step_s)) + 1)
    hotter, colder = _kept_up(differences, count), -_kept_up(-differences, count)
    return hotter if abs(hotter) >= abs(colder) else colder


def _kept_up(values: NDArray[np.float64], count: int) -> float:
    """Return the greatest level that so many values in a row all reach."""
    least, covered = values, 1
    while covered < count:
        shift = min(covered, count - covered)
        least = np.minimum(least[:-shift], least[shift:])
        covered += shift
    return float(least.max())
