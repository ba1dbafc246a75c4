"""The spore tests of a steriliser as the rules take them, collected from the ledger."""

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
    tests = [one.value for one in ledger.about(SporeTest, "steriliser", steriliser)]
    events = [one.value for one in ledger.about(SteriliserEvent, "steriliser", steriliser)]
    process = Process(steriliser=steriliser.text, cycle_kind=cycle_kind.value)
    return History.of(
        process,
        [rode_along(ledger, test) for test in tests if test.cycle_kind is cycle_kind],
        [change for event in events for change in _changes(event)],
    )


def rode_along(ledger: Reading, test: SporeTest) -> RodeAlong:
    """Return a test with its result; of several readings a growth counts, else the last."""
    readings = [one.value for one in ledger.about(SporeReading, "test", test.as_name)]
    readings.sort(key=lambda one: (one.result is SporeResult.GROWTH, one.at))
    last = readings[-1] if readings else None
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
