"""What is due: tests, services, loads and pouches left half way, lots that expire, labels nobody accounted for."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from tracelabels.custody import (
    MAY_BE_CYCLES,
    Consumable,
    ConsumablePeriod,
    Decision,
    Destruction,
    Kind,
    Load,
    LoadEnd,
    Name,
    Outcome,
    PouchOpening,
    Release,
    SporeReading,
    SporeTest,
    Steriliser,
    SteriliserEvent,
    Unloaded,
    Use,
    taken_out,
)
from tracelabels.errors import InputError
from tracelabels.records import Reading
from tracelabels.sterilization import CountedCycle, MaybeCycle, counter_gaps, next_due
from tracelabels.words import in_words
from tracelabels.workflows.enter_steriliser import service_record
from tracelabels.workflows.practice import Practice


class DueKind(StrEnum):
    """What is due."""

    SPORE_TEST = "spore_test"
    SPORE_READING = "spore_reading"
    SERVICE = "service"
    """Service, calibration or whatever else of a steriliser was given a next day."""
    COUNTER = "counter"
    """Cycles that the steriliser counted and nobody recorded."""
    RETURN = "return"
    """A steriliser is out of service."""
    LOAD_END = "load_end"
    UNLOADING = "unloading"
    RELEASE = "release"
    POUCH = "pouch"
    """A pouch that was never in a load."""
    LOT = "lot"
    """A lot in use that expires."""
    LABELS = "labels"
    """Labels neither applied nor destroyed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DueItem:
    """One thing that is due."""

    kind: DueKind
    """What."""
    name: Name
    """Of what."""
    on: date | None
    """The day; None for now, before anything else."""
    is_overdue: bool
    """The day has passed, or it had to come before what is running now."""
    sentence: str
    """The same in words."""


def list_due(practice: Practice, *, within: int = 7) -> tuple[DueItem, ...]:
    """Return everything that is due today or in the next days, what is due now first, then by day.

    Args:
        practice: whose.
        within: how many days ahead.

    Raises:
        InputError: fewer than no days.
    """
    if within < 0:
        raise InputError(given=f"{within} days", expected="0 or more", remedy="correct the number")
    with practice.ledger.read() as ledger:
        found = [
            *_sterilisers(practice, ledger),
            *_readings(practice, ledger),
            *_loads(practice, ledger),
            *_pouches(ledger),
            *_lots(practice, ledger),
            *_labels(ledger),
        ]
    last = practice.today + timedelta(days=within)
    wanted = [one for one in found if one.on is None or one.on <= last]
    return tuple(sorted(wanted, key=lambda one: (one.on or date.min, one.kind, one.name)))


def _sterilisers(practice: Practice, ledger: Reading) -> Iterator[DueItem]:
    today, policy = practice.today, practice.settings.spore_policy
    for recorded in ledger.every(Steriliser):
        one = recorded.value
        for kind in one.cycle_kinds:
            record = service_record(ledger, one, kind)
            words = f"steriliser {one.code}, {in_words(kind)} cycles"
            due = next_due(record.history, policy)
            late = due.on is None or due.on < today
            sentence = f"spore test of {words}: {due.sentence}"
            yield DueItem(kind=DueKind.SPORE_TEST, name=one.as_name, on=due.on, is_overdue=late, sentence=sentence)
            out = taken_out(record, practice.now())
            if out is not None:
                sentence = f"{words}: out of service{f' ({out.note})' if out.note else ''}"
                yield DueItem(kind=DueKind.RETURN, name=one.as_name, on=None, is_overdue=False, sentence=sentence)
        yield from _services(ledger, one, today)
        yield from _counters(practice, ledger, one)


def _services(ledger: Reading, one: Steriliser, today: date) -> Iterator[DueItem]:
    """Give the next day of each kind of event; a later event of the kind without a day ends the earlier one's."""
    events = [found.value for found in ledger.about(SteriliserEvent, "steriliser", one.as_name)]
    latest = {(event.event, event.cycle_kind): event for event in sorted(events, key=lambda event: event.at)}
    for event in latest.values():
        if event.next_due is not None:
            sentence = f"steriliser {one.code}: {in_words(event.event)} is due again"
            late = event.next_due < today
            yield DueItem(kind=DueKind.SERVICE, name=one.as_name, on=event.next_due, is_overdue=late, sentence=sentence)


def _counters(practice: Practice, ledger: Reading, one: Steriliser) -> Iterator[DueItem]:
    """Give gaps of the steriliser's own counter: cycles that were run and are not on record, nor accounted for."""
    loads = [found.value for found in ledger.about(Load, "steriliser", one.as_name)]
    events = [found.value for found in ledger.about(SteriliserEvent, "steriliser", one.as_name)]
    cycles = [CountedCycle(load=load.number, at=load.started_at, counter=load.cycle_number) for load in loads]
    tests = [MaybeCycle(what=in_words(event.event), at=event.at) for event in events if event.event in MAY_BE_CYCLES]
    for gap in counter_gaps(cycles, tests):
        if not gap.may_be_tests:
            day, sentence = practice.day_of(gap.at), f"steriliser {one.code}: {gap.sentence}"
            yield DueItem(kind=DueKind.COUNTER, name=one.as_name, on=day, is_overdue=True, sentence=sentence)


def _readings(practice: Practice, ledger: Reading) -> Iterator[DueItem]:
    for name in ledger.without(Kind.SPORE_TEST, SporeReading, "test"):
        test = ledger.require(SporeTest, name.text).value
        local = test.due_at.astimezone(practice.settings.zone)
        sentence = f"spore test {test.number} in load {test.load.text} is to be read from {local:%Y-%m-%d %H:%M}"
        yield DueItem(
            kind=DueKind.SPORE_READING,
            name=name,
            on=local.date(),
            is_overdue=local.date() < practice.today,
            sentence=sentence,
        )


def _loads(practice: Practice, ledger: Reading) -> Iterator[DueItem]:
    """Give loads without an end, a scan out of every pouch, or a decision; an aborted load needs no decision."""
    for name in ledger.without(Kind.LOAD, LoadEnd, "load"):
        load = ledger.require(Load, name.text).value
        yield _load(practice, load, DueKind.LOAD_END, "nobody entered how it ended")
    for name in ledger.without(Kind.LOAD, Release, "load"):
        load = ledger.require(Load, name.text).value
        ends = [one.value.outcome for one in ledger.about(LoadEnd, "load", name)]
        if not ends:
            continue
        out = {one.value.pouch for one in ledger.about(Unloaded, "load", name)}
        missing = [pouch for pouch in load.pouches if pouch not in out]
        if missing:
            yield _load(practice, load, DueKind.UNLOADING, f"{len(missing)} pouches were not scanned out")
        if ends[-1] is not Outcome.ABORTED and load.pouches:
            yield _load(practice, load, DueKind.RELEASE, "not released, rejected or put in quarantine")
    for name in _in_quarantine(ledger):
        load = ledger.require(Load, name.text).value
        yield _load(practice, load, DueKind.RELEASE, "in quarantine: release or reject it once it can be told")


def _in_quarantine(ledger: Reading) -> Iterator[Name]:
    """Give loads whose last decision is to wait: nobody else reminds of them."""
    decisions = sorted((one.value for one in ledger.every(Release)), key=lambda one: one.at)
    last = {one.load: one.decision for one in decisions}
    yield from (name for name, decision in last.items() if decision is Decision.QUARANTINE)


def _load(practice: Practice, load: Load, kind: DueKind, words: str) -> DueItem:
    day = practice.day_of(load.started_at)
    late = day < practice.today
    return DueItem(kind=kind, name=load.as_name, on=day, is_overdue=late, sentence=f"load {load.number}: {words}")


def _pouches(ledger: Reading) -> Iterator[DueItem]:
    for name in ledger.without(Kind.POUCH, Load, "pouches"):
        pouch = ledger.find_pouch(name.text)
        if pouch is None or _is_gone(ledger, name):
            continue
        day = pouch.value.sealed_on
        sentence = f"pouch {name.text} was sealed on {day.isoformat()} and never in a load"
        yield DueItem(kind=DueKind.POUCH, name=name, on=day, is_overdue=False, sentence=sentence)


def _is_gone(ledger: Reading, pouch: Name) -> bool:
    """Say whether a pouch was opened, used or destroyed."""
    opened, used = ledger.about(PouchOpening, "pouch", pouch), ledger.about(Use, "items", pouch)
    return bool(opened or used or ledger.about(Destruction, "item", pouch))


def _lots(practice: Practice, ledger: Reading) -> Iterator[DueItem]:
    for recorded in ledger.every(Consumable):
        lot = recorded.value
        ended = [one.value.to_day for one in ledger.about(ConsumablePeriod, "consumable", lot.name)]
        if lot.expiry is None or any(day is not None for day in ended):
            continue
        late = lot.expiry < practice.today
        words = "expired" if late else "expires"
        sentence = f"{lot.name} {words} on {lot.expiry.isoformat()}"
        yield DueItem(kind=DueKind.LOT, name=lot.name, on=lot.expiry, is_overdue=late, sentence=sentence)


def _labels(ledger: Reading) -> Iterator[DueItem]:
    for number, count in ledger.labels_unaccounted():
        sentence = f"print run {number}: {count} labels neither applied nor destroyed"
        name = Name(Kind.PRINT_RUN, number)
        yield DueItem(kind=DueKind.LABELS, name=name, on=None, is_overdue=False, sentence=sentence)
