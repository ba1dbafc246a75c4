"""Is this log the log of that load? By the clocks; what lies outside the load is left away before it is judged.

The steriliser's loads before and after it end a load's time: a logger that ran on saw them too.
"""

import math
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from decimal import Decimal
from itertools import pairwise
from typing import Final

import numpy as np

from tracelabels.custody import Load, LoadEnd, SteriliserEvent, SteriliserEventKind
from tracelabels.cycles import Readings
from tracelabels.cycles.log import LoggedCycle
from tracelabels.records import Reading
from tracelabels.words import local_minute
from tracelabels.workflows.practice import Practice

BEFORE: Final = timedelta(minutes=30)
"""A logger may start so long before somebody enters the load's start."""
AFTER: Final = timedelta(minutes=60)
"""It may run so long after the load's end."""
LONGEST: Final = timedelta(hours=4)
"""A cycle whose end nobody entered is taken to be over by then."""
_FEWEST = _SEVERAL = 2
_STEAM_C: Final = 100.0
_LASTING_S: Final = 60.0
_COMPARE: Final = "compare them, and enter clock_compared with --at before the load"
_ALMOST_K: Final = 5.0
"""A cycle that failed so far below its set temperature is one all the same; pulses of steam stay below (our choice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LogOfLoad:
    """The part of a log that belongs to a load."""

    logged: LoggedCycle
    """As read, cut to the load's time where clocks allow it."""
    against: tuple[str, ...]
    """Why it cannot be the log of this load."""
    notes: tuple[str, ...]
    """What is to be looked at."""


def log_of_load(practice: Practice, ledger: Reading, load: Load, logged: LoggedCycle) -> LogOfLoad:
    """Compare a log's clock with a load's start and end, and cut the log to them."""
    if logged.started_at is None:
        note = "the log has no clock of its own: nothing but its name shows that it is of this load"
        return LogOfLoad(logged=logged, against=(), notes=(note,))
    zone, offset = practice.settings.zone, _offset(ledger, load)
    clock = logged.started_at.replace(tzinfo=zone) - timedelta(seconds=offset)
    first, last = _time_of(ledger, load)
    cut = logged.readings.between((first - clock).total_seconds(), (last - clock).total_seconds())
    if len(cut.seconds) < _FEWEST:
        return LogOfLoad(logged=logged, against=(_elsewhere(load, clock, practice),), notes=())
    notes = [] if not offset else [f"the logger's clock was {offset:+g} s off when it was last compared"]
    left = len(logged.readings.seconds) - len(cut.seconds)
    if left:
        notes.append(
            f"{left} readings lie outside of this load's time and were left away; if the logger's clock is wrong, "
            f"{_COMPARE}"
        )
    return LogOfLoad(logged=_with(logged, cut, clock, zone_first=first), against=(), notes=tuple(notes))


def cycles_within(readings: Readings, set_c: float) -> tuple[Readings, ...]:
    """Return each cycle of a log: every time that it came near the set temperature, and was below steam before.

    Args:
        readings: of one or more cycles.
        set_c: set temperature in degrees Celsius.
    """
    is_hot, is_cold = readings.celsius >= set_c - _ALMOST_K, readings.celsius < _STEAM_C
    told = np.flatnonzero(is_hot | is_cold)
    runs = [run for run in np.split(told, np.flatnonzero(np.diff(is_hot[told])) + 1) if len(run) and is_hot[run[0]]]
    lasting = [run for run in runs if np.ptp(readings.seconds[run[[0, -1]]]) >= _LASTING_S]
    if len(lasting) < _SEVERAL:
        return (readings,)
    ends = [
        float(readings.seconds[earlier[-1] + int(np.argmin(readings.celsius[earlier[-1] : later[0]]))])
        for earlier, later in pairwise(lasting)
    ]
    return tuple(readings.between(start, end) for start, end in pairwise((-math.inf, *ends, math.inf)))


def _with(logged: LoggedCycle, cut: Readings, clock: datetime, *, zone_first: datetime) -> LoggedCycle:
    """Return a log with the readings that are left, its clock moved to the first of them."""
    skipped = logged.readings.seconds >= (zone_first - clock).total_seconds()
    moved = timedelta(seconds=float(logged.readings.seconds[skipped][0]))
    started = None if logged.started_at is None else logged.started_at + moved
    return replace(logged, readings=cut, started_at=started)


def _elsewhere(load: Load, clock: datetime, practice: Practice) -> str:
    zone = practice.settings.zone
    return (
        f"by its clock the log begins {local_minute(clock, zone)}, and load {load.number} "
        f"{local_minute(load.started_at, zone)}: "
        f"it is not this load's, or the logger's clock is wrong ({_COMPARE})"
    )


def _time_of(ledger: Reading, load: Load) -> tuple[datetime, datetime]:
    """Return from when to when a log may be this load's, and no other's of the same steriliser."""
    first, last = load.started_at - BEFORE, _end_of(ledger, load) + AFTER
    for other in (one.value for one in ledger.about(Load, "steriliser", load.steriliser)):
        if (other.started_at, other.number) < (load.started_at, load.number):
            first = max(first, min(_end_of(ledger, other), load.started_at))
        elif other.number != load.number:
            last = min(last, other.started_at)
    return first, last


def _end_of(ledger: Reading, load: Load) -> datetime:
    ends = ledger.about(LoadEnd, "load", load.as_name)
    return ends[-1].value.at if ends else load.started_at + LONGEST


def _offset(ledger: Reading, load: Load) -> float:
    """Return how far the logger's clock was ahead when it was last compared before the load, in seconds."""
    found = _latest(ledger, load, SteriliserEventKind.CLOCK_COMPARED)
    return 0.0 if found is None or found.offset_s is None else float(found.offset_s)


def stated_probe_error(ledger: Reading, load: Load) -> Decimal | None:
    """Return how far the probe was off at its last calibration before a load, in kelvin; None if nobody entered it."""
    found = _latest(ledger, load, SteriliserEventKind.CALIBRATED)
    return None if found is None else found.error_k


def _latest(ledger: Reading, load: Load, kind: SteriliserEventKind) -> SteriliserEvent | None:
    events = [one.value for one in ledger.about(SteriliserEvent, "steriliser", load.steriliser)]
    before = [one for one in events if one.event is kind and one.at <= load.started_at]
    return max(before, key=lambda one: one.at, default=None)
