"""What a steriliser's logbook says over some days: loads, spore tests and events, and gaps of the cycle counter."""

from dataclasses import dataclass
from datetime import date, datetime, tzinfo
from typing import TypeAlias

from tracelabels.custody import (
    MAY_BE_CYCLES,
    Load,
    LoadEnd,
    ReadingsVerdict,
    Release,
    SporeReading,
    SporeTest,
    Steriliser,
    SteriliserEvent,
)
from tracelabels.sterilization import CountedCycle, CounterGap, EvidenceState, MaybeCycle, counter_gaps
from tracelabels.words import in_words


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


def gaps_of(book: Logbook) -> tuple[CounterGap, ...]:
    """Return where cycles are missing from a logbook, or the counter does not rise."""
    cycles = [
        CountedCycle(load=one.load.number, at=one.at, counter=one.load.cycle_number)
        for one in book.in_order
        if isinstance(one, LoadEntry)
    ]
    tests = [
        MaybeCycle(what=in_words(one.event.event), at=one.at)
        for one in book.in_order
        if isinstance(one, EventEntry) and one.event.event in MAY_BE_CYCLES
    ]
    return counter_gaps(cycles, tests, counter_before=book.counter_before)
