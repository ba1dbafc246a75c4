"""What a steriliser's logbook says over some days: loads, spore tests and events, and gaps of the cycle counter."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date, datetime, tzinfo
from typing import Final, TypeAlias

from tracelabels.custody import (
    Load,
    LoadEnd,
    ReadingsVerdict,
    Release,
    SporeReading,
    SporeTest,
    Steriliser,
    SteriliserEvent,
    SteriliserEventKind,
)
from tracelabels.sterilization import EvidenceState
from tracelabels.words import in_words

MAY_BE_CYCLES: Final = frozenset({SteriliserEventKind.AIR_REMOVAL_TEST, SteriliserEventKind.LEAK_TEST})
"""Tests that many sterilisers run as cycles of their own, which their counter counts."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadEntry:
    """A load."""

    load: Load
    """The load."""
    end: LoadEnd | None
    """How it ended; None if nobody entered it."""
    rejected: int
    """Pouches rejected at unloading."""
    verdict: ReadingsVerdict | None
    """Whether its readings meet its programme; None if no readings are on record."""
    indicators: int
    """Chemical indicators read."""
    doubtful: int
    """Those of them that had not turned, or not clearly."""
    spores: EvidenceState | None
    """What spore tests say of it, as of its time; None if that was not asked."""
    decision: Release | None
    """The decision that counts; None if there is none."""
    decided_by: str | None = None
    """Opaque staff id of who decided."""

    @property
    def at(self) -> datetime:
        """Return when it started."""
        return self.load.started_at


@dataclass(frozen=True, slots=True, kw_only=True)
class SporeEntry:
    """A spore test."""

    test: SporeTest
    """The test."""
    reading: SporeReading | None
    """What it showed; None while it incubates."""
    by: str
    """Opaque staff id of who recorded it."""

    @property
    def at(self) -> datetime:
        """Return when its load started."""
        return self.test.at


@dataclass(frozen=True, slots=True, kw_only=True)
class EventEntry:
    """Something that was done to the steriliser, or tested on it."""

    event: SteriliserEvent
    """What."""
    by: str
    """Opaque staff id of who recorded it."""

    @property
    def at(self) -> datetime:
        """Return when."""
        return self.event.at


Entry: TypeAlias = LoadEntry | SporeEntry | EventEntry


@dataclass(frozen=True, slots=True, kw_only=True)
class Logbook:
    """The logbook of one steriliser over some days."""

    practice: str
    """Name of the practice."""
    zone: tzinfo
    """The practice's time zone, in which every moment is shown."""
    printed_at: datetime
    """When it is printed (UTC)."""
    steriliser: Steriliser
    """Which steriliser."""
    first_day: date
    """The first day."""
    last_day: date
    """The last day, itself inclusive."""
    entries: tuple[Entry, ...]
    """All of these days, in any order."""
    counter_before: int | None = None
    """What the cycle counter showed at the last load before the first day; None if that is not known."""

    @property
    def in_order(self) -> tuple[Entry, ...]:
        """Return the entries by time; a load before the test that rode along in it."""
        kinds = (EventEntry, LoadEntry, SporeEntry)
        return tuple(sorted(self.entries, key=lambda one: (one.at, kinds.index(type(one)))))


@dataclass(frozen=True, slots=True, kw_only=True)
class CounterGap:
    """A place where the cycle counter and the loads on record do not go together."""

    before: str
    """Number of the load at which it shows."""
    sentence: str
    """What is missing or odd."""


@dataclass(slots=True, kw_only=True)
class _Counted:
    """What was seen since the counter was last known."""

    last: int | None
    """What it showed."""
    loads: int = 0
    """Loads without a number since."""
    tests: list[str] = field(default_factory=list)
    """Tests since that may be cycles of their own."""


def counter_gaps(entries: Iterable[Entry], *, counter_before: int | None) -> tuple[CounterGap, ...]:
    """Return where cycles are missing from the record, or the counter does not rise.

    Args:
        entries: in order of time.
        counter_before: what the counter showed at the last load before them; None if that is not known.
    """
    return tuple(_gaps(entries, _Counted(last=counter_before)))


def _gaps(entries: Iterable[Entry], seen: _Counted) -> Iterator[CounterGap]:
    for one in entries:
        if isinstance(one, EventEntry) and one.event.event in MAY_BE_CYCLES:
            seen.tests.append(in_words(one.event.event))
        if not isinstance(one, LoadEntry):
            continue
        shown = one.load.cycle_number
        if shown is None:
            seen.loads += 1
            continue
        sentence = None if seen.last is None else _told(seen, seen.last, shown)
        if sentence is not None:
            yield CounterGap(before=one.load.number, sentence=sentence)
        seen.last, seen.loads, seen.tests = shown, 0, []


def _told(seen: _Counted, last: int, shown: int) -> str | None:
    """Say what does not go together between two numbers of the counter; None if nothing."""
    if shown <= last:
        return f"cycle counter {last}, then {shown}: it was set back, or a number is wrong"
    missing = shown - last - 1 - seen.loads
    if missing < 0:
        return f"cycle counter {last}, then {shown}: {seen.loads} loads between them, more than it counted"
    if missing == 0:
        return None
    cycles = "1 cycle" if missing == 1 else f"{missing} cycles"
    tests = f"; on record between them: {', '.join(seen.tests)}, which may be cycles too" if seen.tests else ""
    return f"cycle counter {last}, then {shown}: {cycles} without a load on record{tests}"
