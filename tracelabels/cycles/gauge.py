"""Readings that a person typed from gauge or printout, as the computing takes them.

A gauge is read once a minute or so: between two readings a straight line is all that can be said. A dip between them
is not seen, so a stretch longer than what people are asked for counts as a gap, and that is told with every verdict.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise
from typing import Final

import numpy as np

from tracelabels.custody import GaugeReading
from tracelabels.cycles.readings import Readings, Span
from tracelabels.errors import LogError

LONGEST_MINUTES: Final = 2
"""Readings are asked for every minute; beyond two minutes nobody watched. Common practice, no source."""
COLDEST_C, HOTTEST_C = Decimal(-20), Decimal(200)
LEAST_KPA, GREATEST_KPA = Decimal(0), Decimal(1000)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TypedCycle:
    """Typed readings in order, with what is to be said of them."""

    readings: Readings
    """As computing takes them."""
    notes: tuple[str, ...]
    """What a reader of the verdict must know: how far apart they are, and what lies between them."""


def readings_from_gauge(typed: Sequence[GaugeReading]) -> TypedCycle:
    """Take typed readings, in any order.

    Raises:
        LogError: fewer than two, two for the same minute, a time before the start, or a value that no steriliser shows.
    """
    for reading in typed:
        _require_possible(reading)
    ordered = sorted(typed, key=lambda reading: reading.minute)
    _require_sound(ordered)
    seconds = np.array([float(60 * (reading.minute - ordered[0].minute)) for reading in ordered])
    pressures = [reading.pressure_kpa for reading in ordered]
    kpa = np.array([np.nan if pressure is None else float(pressure) for pressure in pressures])
    steps = np.diff(seconds)
    gaps = tuple(
        Span(start_s=float(seconds[place]), end_s=float(seconds[place + 1]))
        for place in np.flatnonzero(steps > 60 * LONGEST_MINUTES).tolist()
    )
    readings = Readings(
        seconds=seconds,
        celsius=np.array([float(reading.temperature_c) for reading in ordered]),
        kpa=None if all(pressure is None for pressure in pressures) else kpa,
        step_k=float(min(_step(reading.temperature_c) for reading in ordered)),
        gaps=gaps,
    )
    return TypedCycle(readings=readings, notes=_notes(len(ordered), float(steps.max()), gaps))


def _step(value: Decimal) -> Decimal:
    """Return the worth of the last digit of a number as it was typed."""
    exponent = value.as_tuple().exponent
    return Decimal(1).scaleb(min(exponent, 0)) if isinstance(exponent, int) else Decimal(1)


def _notes(count: int, longest_s: float, gaps: tuple[Span, ...]) -> tuple[str, ...]:
    apart = f"{count} typed readings, up to {longest_s / 60:g} minutes apart: between them straight lines are assumed"
    notes = [f"{apart}, and what the temperature did there nobody saw"]
    if gaps:
        stretches = ", ".join(f"minute {gap.start_s / 60:g} to {gap.end_s / 60:g}" for gap in gaps)
        notes.append(f"nothing was read for more than {LONGEST_MINUTES} minutes: {stretches} (from the first reading)")
    return tuple(notes)


def _require_sound(ordered: Sequence[GaugeReading]) -> None:
    if len(ordered) < 2:  # noqa: PLR2004 - a stretch of time has two ends
        raise LogError(
            given=f"{len(ordered) or 'no'} typed readings",
            expected="at least two, with the minute and the temperature of each",
            remedy="type what the gauge showed every minute from the start to the end",
        )
    for first, second in pairwise(ordered):
        if first.minute == second.minute:
            raise LogError(
                given=f"two readings for minute {first.minute}: {first.temperature_c} and {second.temperature_c}",
                expected="one reading for a minute",
                remedy="leave out the wrong one, or write the second as a part of a minute",
            )


def _require_possible(reading: GaugeReading) -> None:
    kpa = reading.pressure_kpa
    limits = (
        (reading.minute, Decimal(0), Decimal(1440), "a minute from 0 to 1440"),
        (reading.temperature_c, COLDEST_C, HOTTEST_C, f"degrees Celsius from {COLDEST_C} to {HOTTEST_C}"),
        (kpa, LEAST_KPA, GREATEST_KPA, f"an absolute pressure from {LEAST_KPA} to {GREATEST_KPA} kPa"),
    )
    for value, least, most, what in limits:
        if value is not None and not (value.is_finite() and least <= value <= most):
            raise LogError(
                given=f"{value} at minute {reading.minute}",
                expected=what,
                remedy="type it as the gauge showed it, in degrees Celsius and kilopascal",
            )
