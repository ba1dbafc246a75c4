"""Units and zero of a pressure: what numbers look like beside the temperature, and absolute kilopascal made of them.

Two witnesses stand apart: a cold steriliser shows the air's pressure (nothing, on a gauge), and steam at the plateau
has the pressure that its temperature says.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tracelabels.cycles.steam import saturation_temperature_c

KPA: Final[dict[str, float]] = {
    "kPa": 1.0,
    "bar": 100.0,
    "mbar": 0.1,
    "psi": 4.4482216152605 / 0.64516,
    "MPa": 1000.0,
    "kgf/cm2": 98.0665,
    "atm": 101.325,
    "mmHg": 101.325 / 760,
    "Pa": 0.001,
}
"""Kilopascal in one of each: pound-force 4.4482216152605 N, inch 25.4 mm, standard acceleration 9.80665 m/s2, standard
atmosphere 101325 Pa (exact by definition; NIST SP 811, appendix B, from memory); mmHg is taken as the torr."""
GUESSABLE: Final = ("kPa", "bar", "mbar", "psi", "MPa")
"""Bar, atmosphere and kilogram-force per square centimetre lie too close together to be told apart by numbers."""
REFERENCES: Final = ("absolute", "gauge")
AIR_KPA: Final = (65.0, 108.0)
"""The air's pressure from 3,500 m of height to the highest at the sea."""
GAUGE_REST_KPA: Final = 8.0
"""How far from nothing a gauge may be at rest."""
LEAST_VACUUM_KPA: Final = -3.0
"""Nothing is below vacuum but a gauge's own error."""
HOT_C: Final = 105.0
NEAR_PEAK_K: Final = 3.0
AGREES_K: Final = 3.0
"""Within so much of saturated steam the plateau speaks for a unit and zero."""
WITH_AIR_K: Final = 15.0
"""So far from saturated steam is one with as much air as steam; another unit is farther off by far."""
MOST_ROWS: Final = 20_000
"""So many rows are looked at to tell units apart."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PressureFit:
    """How numbers look as pressures of one unit and zero."""

    unit: str
    """The unit."""
    reference: str
    """``absolute`` or ``gauge``."""
    rests_at_air: bool | None
    """Whether the first or the last reading shows the air's pressure; None if there is none."""
    difference_k: float
    """Temperature minus that of saturated steam at the plateau, in kelvin; NaN without a plateau."""
    is_possible: bool
    """Whether nothing is below vacuum."""

    @property
    def is_steam(self) -> bool:
        """Whether the plateau is saturated steam."""
        return abs(self.difference_k) <= AGREES_K

    @property
    def is_likely(self) -> bool:
        """Whether the plateau is steam with some air at most; without one, whether it rests at the air's pressure."""
        if np.isnan(self.difference_k):
            return self.rests_at_air is True
        return abs(self.difference_k) <= WITH_AIR_K

    @property
    def is_proved(self) -> bool:
        """Whether both witnesses speak for it."""
        return self.is_possible and self.is_steam and self.rests_at_air is True


def as_kpa(values: NDArray[np.float64], unit: str, reference: str, atmosphere_kpa: float) -> NDArray[np.float64]:
    """Turn pressures of a unit into absolute kilopascal."""
    return values * KPA[unit] + (atmosphere_kpa if reference == "gauge" else 0.0)


def fit_pressure(
    values: NDArray[np.float64], celsius: NDArray[np.float64], unit: str, reference: str, atmosphere_kpa: float
) -> PressureFit:
    """Say how pressures look in a unit and zero, beside temperatures of the same rows.

    Args:
        values: as written, shape (rows,); NaN where there is none.
        celsius: degrees Celsius, shape (rows,).
        unit: one of ``KPA``.
        reference: ``absolute`` or ``gauge``.
        atmosphere_kpa: the air's pressure.
    """
    some = _spread(len(values))
    values, celsius = values[some], celsius[some]
    kpa = as_kpa(values, unit, reference, atmosphere_kpa)
    both = np.isfinite(kpa) & np.isfinite(celsius)
    kpa, celsius = kpa[both], celsius[both]
    return PressureFit(
        unit=unit,
        reference=reference,
        rests_at_air=_rests(kpa, reference, atmosphere_kpa),
        difference_k=_difference(kpa, celsius),
        is_possible=bool(kpa.size) and float(np.mean(kpa < LEAST_VACUUM_KPA)) < 0.01,  # noqa: PLR2004 - but for spikes
    )


def _spread(rows: int) -> NDArray[np.int64]:
    """Return rows evenly spread, the first and the last among them; all of them unless there are very many."""
    return np.arange(rows) if rows <= MOST_ROWS else np.linspace(0, rows - 1, MOST_ROWS).astype(np.int64)


def _rests(kpa: NDArray[np.float64], reference: str, atmosphere_kpa: float) -> bool | None:
    if not kpa.size:
        return None
    low, high = AIR_KPA
    if reference == "gauge":
        low, high = atmosphere_kpa - GAUGE_REST_KPA, atmosphere_kpa + GAUGE_REST_KPA
    return any(low <= float(kpa[end]) <= high for end in (0, -1))


def _difference(kpa: NDArray[np.float64], celsius: NDArray[np.float64]) -> float:
    lasting = np.minimum(celsius[1:], celsius[:-1])
    if not lasting.size or lasting.max() < HOT_C:
        return float("nan")
    hot = np.flatnonzero(
        (celsius >= max(HOT_C, lasting.max() - NEAR_PEAK_K)) & (celsius <= lasting.max() + NEAR_PEAK_K)
    )
    differences = celsius[hot] - saturation_temperature_c(kpa[hot])
    differences = differences[np.isfinite(differences)]
    return float(np.median(differences)) if differences.size else float("inf")


def all_fits(
    values: NDArray[np.float64], celsius: NDArray[np.float64], units: tuple[str, ...], atmosphere_kpa: float
) -> list[PressureFit]:
    """Say how pressures look in each of some units, absolute and on a gauge."""
    return [
        fit_pressure(values, celsius, unit, reference, atmosphere_kpa) for unit in units for reference in REFERENCES
    ]
