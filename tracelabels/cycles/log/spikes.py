"""Single readings that no chamber can follow: away from smooth surroundings and back, faster than heat can move.

Where the pressure moved with it a reading is no spike, whatever its size: then steam really went.
"""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from tracelabels.cycles.steam import saturation_temperature_c

FASTEST_K_PER_S: Final = 2.0
"""Faster no chamber and probe go to a new temperature and back. Common practice, no source."""
LEAST_K: Final = 5.0
"""Smaller ones are no matter of reading: they count."""
FASTEST_KPA_PER_S: Final = 20.0
LEAST_KPA: Final = 30.0
"""The same for pressure."""
SMOOTH: Final = 0.25
"""The steps on both sides of a spike are smaller than this share of it."""


def find_temperature_spikes(
    seconds: NDArray[np.float64], celsius: NDArray[np.float64], kpa: NDArray[np.float64] | None
) -> NDArray[np.int64]:
    """Return the places of single temperatures that jump away and back while the pressure does not.

    Args:
        seconds: strictly rising, shape (readings,).
        celsius: shape (readings,).
        kpa: absolute pressure of the same readings, shape (readings,); None if there is none.
    """
    places, away = _jumps(seconds, celsius, FASTEST_K_PER_S, LEAST_K)
    if kpa is None or not places.size:
        return places
    moved = _away(saturation_temperature_c(kpa), places)
    return places[~(moved * np.sign(away) > np.abs(away) / 2)]


def find_pressure_spikes(
    seconds: NDArray[np.float64], kpa: NDArray[np.float64], celsius: NDArray[np.float64]
) -> NDArray[np.int64]:
    """Return the places of single pressures that jump away and back while the temperature does not."""
    places, _ = _jumps(seconds, kpa, FASTEST_KPA_PER_S, LEAST_KPA)
    steam = _away(saturation_temperature_c(kpa), places)
    return places[~(_away(celsius, places) * np.sign(steam) > np.abs(steam) / 2)]


def _away(values: NDArray[np.float64], places: NDArray[np.int64]) -> NDArray[np.float64]:
    """How far values are from the middle of their neighbours."""
    return np.asarray(values[places] - (values[places - 1] + values[places + 1]) / 2, dtype=np.float64)


def _jumps(
    seconds: NDArray[np.float64], values: NDArray[np.float64], fastest: float, least: float
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Return where single values jump away and back, and by how much."""
    if len(values) < 3:  # noqa: PLR2004 - a spike has two neighbours
        return np.array([], dtype=np.int64), np.array([])
    steps, lasts = np.diff(values), np.diff(seconds)
    far = (np.abs(steps) > least) & (np.abs(steps) > fastest * lasts)
    places: NDArray[np.int64] = np.flatnonzero(far[:-1] & far[1:] & (steps[:-1] * steps[1:] < 0)) + 1
    away = _away(values, places)
    rough = np.abs(values[places + 1] - values[places - 1])
    before, after = np.maximum(places - 2, 0), np.minimum(places + 2, len(values) - 1)
    rough = np.maximum(rough, np.abs(values[places - 1] - values[before]))
    rough = np.maximum(rough, np.abs(values[places + 1] - values[after]))
    # Where a place has no second neighbour it is compared with itself, which is smooth enough.
    is_spike = rough < SMOOTH * np.abs(away)
    return places[is_spike], away[is_spike]
