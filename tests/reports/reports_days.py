"""Days of a steriliser for the tests of its logbook."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

from reports_loads import LONG, STERILISER, ZONE, decision, load, spore_test

from tracelabels.custody import (
    CycleKind,
    Decision,
    Kind,
    LoadEnd,
    Name,
    Outcome,
    ReadingsVerdict,
    SteriliserEvent,
    SteriliserEventKind,
)
from tracelabels.reports.logbook import EventEntry, LoadEntry, Logbook, SporeEntry
from tracelabels.sterilization import EvidenceState, SporeResult

DAY_ONE = datetime(2026, 3, 2, 6, 30, tzinfo=UTC)


def entry(number: int, at: datetime, *, counter: int | None = None, pouches: int = 8, **facts: object) -> LoadEntry:
    """Return a load with nothing against it, changed by facts."""
    name = f"L01-{number:04d}"
    here = replace(load(pouches), number=name, started_at=at, cycle_number=counter)
    good = LoadEntry(
        load=here,
        end=LoadEnd(load=Name(Kind.LOAD, name), outcome=Outcome.COMPLETE, at=at + timedelta(minutes=41)),
        rejected=0,
        verdict=ReadingsVerdict.MET,
        indicators=pouches,
        doubtful=0,
        spores=EvidenceState.PASSED,
        decision=decision().release,
        decided_by="cd",
    )
    return replace(good, **facts)


def event(kind: SteriliserEventKind, at: datetime, **facts: object) -> EventEntry:
    return EventEntry(event=SteriliserEvent(steriliser=STERILISER.as_name, event=kind, at=at, **facts), by="ab")


def spores(number: int, at: datetime, result: SporeResult | None) -> SporeEntry:
    one = spore_test(result)
    return SporeEntry(test=replace(one.test, number=f"B01-{number:04d}", at=at), reading=one.reading, by="cd")


def aborted_end(at: datetime) -> LoadEnd:
    return LoadEnd(load=Name(Kind.LOAD, "L01-0003"), outcome=Outcome.ABORTED, at=at, note="E 42, door")


def busy_week() -> Logbook:
    """Return five days with everything in them."""
    hours = [DAY_ONE + timedelta(hours=n) for n in range(120)]
    entries = (
        event(SteriliserEventKind.CLEANED, hours[0]),
        event(
            SteriliserEventKind.AIR_REMOVAL_TEST, hours[1], passed=True, cycle_kind=CycleKind.AIR_REMOVAL, note="even"
        ),
        entry(1, hours[2], counter=1040),
        spores(1, hours[2], SporeResult.NO_GROWTH),
        entry(2, hours[4], counter=1041, rejected=2, decision=decision(excepted=(Name(Kind.POUCH, "x"),)).release),
        event(SteriliserEventKind.LEAK_TEST, hours[24], passed=False, note="0.4 kPa a minute"),
        event(SteriliserEventKind.TAKEN_OUT, hours[25], note=LONG),
        event(SteriliserEventKind.REPAIRED, hours[48], note="door seal", next_due=date(2027, 3, 4)),
        entry(3, hours[49], counter=1044, end=aborted_end(hours[49]), verdict=ReadingsVerdict.NOT_MET, decision=None),
        entry(4, hours[51], counter=1045, decision=decision(is_early=True).release, spores=EvidenceState.INCUBATING),
        spores(2, hours[51], SporeResult.GROWTH),
        entry(5, hours[72], end=None, verdict=None, indicators=0, spores=EvidenceState.FAILED, decision=None),
        entry(6, hours[74], counter=1047, doubtful=1, decision=decision(Decision.REJECTED).release),
        spores(3, hours[74], SporeResult.INVALID),
        entry(7, hours[96], counter=12, pouches=60),
        spores(4, hours[96], None),
    )
    return Logbook(
        practice="Tidewater Restorative",
        zone=ZONE,
        printed_at=DAY_ONE + timedelta(days=9),
        steriliser=STERILISER,
        first_day=date(2026, 3, 2),
        last_day=date(2026, 3, 6),
        entries=entries,
        counter_before=1038,
    )


def a_year() -> Logbook:
    """Return two loads and a test a day, nothing wrong."""
    entries = []
    for day in range(365):
        at = DAY_ONE + timedelta(days=day)
        entries.append(event(SteriliserEventKind.AIR_REMOVAL_TEST, at, passed=True))
        entries += [entry(2 * day + n, at + timedelta(hours=1 + n), counter=2 * day + n + 1) for n in range(2)]
    return replace(busy_week(), entries=tuple(entries), counter_before=None, last_day=date(2027, 3, 1))
