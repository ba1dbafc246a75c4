"""The spore tests of a steriliser as the rules take them, collected from the ledger."""

from collections import defaultdict
from collections.abc import Iterable
from typing import Final

from tracelabels.custody import (
    CycleKind,
    Name,
    SporeReading,
    SporeResult,
    SporeTest,
    SteriliserEvent,
    SteriliserEventKind,
)
from tracelabels.records import Reading
from tracelabels.sterilization import Change, ChangeKind, History, Process, RodeAlong

_CHANGES: Final = {
    SteriliserEventKind.INSTALLED: ChangeKind.INSTALLED,
    SteriliserEventKind.REPAIRED: ChangeKind.REPAIRED,
    SteriliserEventKind.MOVED: ChangeKind.MOVED,
    SteriliserEventKind.RETURNED: ChangeKind.RETURNED,
}


def spore_history(ledger: Reading, steriliser: Name, cycle_kind: CycleKind) -> History:
    """Collect what is known today of the spore tests of one steriliser and cycle kind."""
    tests = [one for one in ledger.about(SporeTest, "steriliser", steriliser) if one.value.cycle_kind is cycle_kind]
    readings: dict[Name, list[SporeReading]] = defaultdict(list)
    for reading in ledger.about_each(SporeReading, "test", [one.thing for one in tests]):
        readings[reading.value.test].append(reading.value)
    events = [one.value for one in ledger.about(SteriliserEvent, "steriliser", steriliser)]
    return History.of(
        Process(steriliser=steriliser.text, cycle_kind=cycle_kind.value),
        [_with_result(one.value, readings[one.value.as_name]) for one in tests],
        [change for event in events for change in _changes(event)],
    )


def rode_along(ledger: Reading, test: SporeTest) -> RodeAlong:
    """Return a test with its result; of several readings a growth counts, else the last."""
    return _with_result(test, [one.value for one in ledger.about(SporeReading, "test", test.as_name)])


def _with_result(test: SporeTest, readings: Iterable[SporeReading]) -> RodeAlong:
    found = sorted(readings, key=lambda one: (one.result is SporeResult.GROWTH, one.at))
    last = found[-1] if found else None
    return RodeAlong(
        test=test.number,
        process=Process(steriliser=test.steriliser.text, cycle_kind=test.cycle_kind.value),
        load=test.load.text,
        load_at=test.at,
        result=last.result if last else None,
        read_at=last.at if last else None,
        in_reference_tube=test.in_reference_tube,
    )


def _changes(event: SteriliserEvent) -> tuple[Change, ...]:
    """Return what an event means for spore tests; a failed test of the day shows a defect."""
    kind = ChangeKind.FOUND_DEFECTIVE if event.passed is False else _CHANGES.get(event.event)
    if kind is None:
        return ()
    cycle_kind = event.cycle_kind.value if event.cycle_kind else None
    return (Change(steriliser=event.steriliser.text, kind=kind, at=event.at, cycle_kind=cycle_kind),)
