"""How long the spores of a biological indicator (BI) live in steam of 121 degrees Celsius, by its certificate.

Times are for saturated steam at the temperature that the D value was found at. They judge an indicator, not a load.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from math import log10
from typing import Final

from tracelabels.errors import InputError

SURVIVING_DECADES: Final = 2
"""USP 35, biological indicators: survival time is not less than D (log10 P - 2)."""
KILLED_DECADES: Final = 4
"""USP 35: kill time is not more than D (log10 P + 4)."""
ASSURED_DECADES: Final = 6
"""Until one spore is left in a million indicators: D (log10 P + 6)."""
LEAST_POPULATION: Final = 1e5
"""ISO 11138-3:2017, population of an indicator for moist heat; value from memory."""
LEAST_D_MINUTES: Final = 1.5
"""ISO 11138-3:2017, D value at 121 degrees Celsius; value from memory."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SporeTimes:
    """What an indicator must outlive, and what must kill it."""

    survival_minutes: float
    """After so long all indicators of a lot still grow."""
    kill_minutes: float
    """After so long none does."""
    assured_minutes: float
    """After so long one indicator in a million still does."""


def spore_times(*, population: float, d_minutes: float) -> SporeTimes:
    """Return survival and kill times from population and D value.

    >>> spore_times(population=1e6, d_minutes=1.5).kill_minutes
    15.0

    Args:
        population: spores on each indicator.
        d_minutes: minutes that leave one spore of ten alive.

    Raises:
        InputError: a population or a D value that no indicator has.
    """
    _require_sound(population, d_minutes)
    decades = log10(population)
    return SporeTimes(
        survival_minutes=d_minutes * (decades - SURVIVING_DECADES),
        kill_minutes=d_minutes * (decades + KILLED_DECADES),
        assured_minutes=d_minutes * (decades + ASSURED_DECADES),
    )


def _require_sound(population: float, d_minutes: float) -> None:
    if not 10**SURVIVING_DECADES < population <= 1e12:  # noqa: PLR2004  no carrier holds more
        raise InputError(
            given=f"a biological indicator with {population:g} spores",
            expected="more than 100, as on its certificate (1.0e5 or more for moist heat)",
            remedy="copy the population from the certificate, such as 2.3e6",
        )
    if not 0 < d_minutes <= 60:  # noqa: PLR2004  no spore of moist heat is so hard to kill
        raise InputError(
            given=f"a D value of {d_minutes:g} minutes",
            expected="minutes at 121 degrees Celsius, as on its certificate (1.5 or more)",
            remedy="copy the D value from the certificate",
        )


def doubts_of_lot(*, population: float | None, d_minutes: float | None) -> Iterator[str]:
    """Give what makes a lot too weak a witness; nothing if its certificate is not known."""
    if population is not None and population < LEAST_POPULATION:
        yield f"its {population:g} spores are fewer than {LEAST_POPULATION:g} (ISO 11138-3)"
    if d_minutes is not None and d_minutes < LEAST_D_MINUTES:
        yield f"its D value of {d_minutes:g} minutes is below {LEAST_D_MINUTES:g} (ISO 11138-3)"
