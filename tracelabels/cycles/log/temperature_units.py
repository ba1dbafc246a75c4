"""Degrees Celsius, degrees Fahrenheit or kelvin: what numbers look like, and turning them into degrees Celsius."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

UNITS: Final = ("C", "F", "K")
COLDEST_C: Final = -40.0
HOTTEST_C: Final = 200.0
"""Beyond these a number is no temperature of a steam steriliser but a broken probe or another unit."""
ROOM_C: Final = (5.0, 50.0)
"""Where a cold steriliser starts. Common practice, no source."""
STEAM_C: Final = (90.0, 160.0)
"""Where the hottest part of a steam cycle is; as degrees Celsius, Fahrenheit (194 to 320) and kelvin (363 to 433) the
numbers do not overlap. Common practice, no source."""
MOST_OUTSIDE: Final = 0.05
FIRST_ROWS: Final = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """How numbers look as temperatures of one unit."""

    unit: str
    """The unit."""
    start_c: float
    """The lowest of the first readings, in degrees Celsius."""
    peak_c: float
    """The highest that lasted for two readings, among those that a steriliser can show."""
    outside: float
    """Share of the numbers that no steriliser can show."""

    @property
    def starts_at_room(self) -> bool:
        """Whether it starts at room temperature."""
        return ROOM_C[0] <= self.start_c <= ROOM_C[1]

    @property
    def reaches_steam(self) -> bool:
        """Whether nearly all can be shown and the hottest part is what steam in a steriliser reaches."""
        return self.outside <= MOST_OUTSIDE and STEAM_C[0] <= self.peak_c <= STEAM_C[1]

    @property
    def is_possible(self) -> bool:
        """Whether it could be a cycle at all, one that was aborted early too."""
        return self.outside <= MOST_OUTSIDE and self.start_c >= ROOM_C[0] and self.peak_c <= STEAM_C[1]


def as_celsius(values: NDArray[np.float64], unit: str) -> NDArray[np.float64]:
    """Turn temperatures of a unit into degrees Celsius.

    Source: the definitions of the degree Celsius (SI Brochure, 9th edition, 2.3.1) and of the degree Fahrenheit.
    """
    if unit == "F":
        return (values - 32.0) / 1.8
    return values - 273.15 if unit == "K" else values


def step_in_kelvin(step: float, unit: str) -> float:
    """Turn a difference of temperatures into kelvin."""
    return step / 1.8 if unit == "F" else step


def fits(values: NDArray[np.float64]) -> dict[str, Fit]:
    """Say how numbers look in each unit.

    Args:
        values: as written, shape (rows,); NaN where there is none.
    """
    numbers = values[np.isfinite(values)]
    return {unit: _fit(as_celsius(numbers, unit), unit) for unit in UNITS}


def _fit(celsius: NDArray[np.float64], unit: str) -> Fit:
    shown = celsius[(celsius >= COLDEST_C) & (celsius <= HOTTEST_C)]
    if not shown.size:
        return Fit(unit=unit, start_c=np.nan, peak_c=np.nan, outside=1.0)
    lasting = np.minimum(shown[1:], shown[:-1]) if len(shown) > 1 else shown
    return Fit(
        unit=unit,
        start_c=float(shown[:FIRST_ROWS].min()),
        peak_c=float(lasting.max()),
        outside=1 - len(shown) / len(celsius),
    )


def likeliest(found: dict[str, Fit]) -> Fit | None:
    """Return the unit that numbers look like most; None if they look like no steriliser's temperatures."""
    steam = [fit for fit in found.values() if fit.reaches_steam]
    if steam:
        return max(steam, key=lambda fit: fit.starts_at_room)
    possible = [fit for fit in found.values() if fit.is_possible]
    return max(possible, key=lambda fit: fit.starts_at_room, default=None)
