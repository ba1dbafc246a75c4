"""The spore tests of a steriliser as the rules take them, collected from the ledger."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
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


@dataclass(frozen=True, slots=True, kw_only=True)
class SporeFacts:
    """What is on record about the spore tests of one steriliser and cycle kind."""

    process: Process
    """What they speak for."""
    tests: tuple[SporeTest, ...]
    """The tests."""
    readings: Mapping[Name, Sequence[SporeReading]]
    """The readings of each test."""
    events: tuple[SteriliserEvent, ...]
    """What happened to the steriliser."""

    def history(self) -> History:
        """Return what is known today."""
        return self._history(self.tests, self.readings, self.events)

    def history_known_at(self, moment: datetime) -> History:
        """Return what there was to know at a moment: tests of loads started before, and what was read by then."""
        return self._history(
            [one for one in self.tests if one.at < moment],
            {test: [one for one in read if one.at <= moment] for test, read in self.readings.items()},
            [one for one in self.events if one.at <= moment],
        )

    def _history(
        self,
        tests: Iterable[SporeTest],
        readings: Mapping[Name, Sequence[SporeReading]],
        events: Iterable[SteriliserEvent],
    ) -> History:
        return History.of(
            self.process,
            [_with_result(one, readings.get(one.as_name, ())) for one in tests],
            [change for event in events for change in _changes(event)],
        )


def spore_facts(ledger: Reading, steriliser: Name, cycle_kind: CycleKind) -> SporeFacts:
    """Collect what is on record about the spore tests of one steriliser and cycle kind."""
    tests = [one for one in ledger.about(SporeTest, "steriliser", steriliser) if one.value.cycle_kind is cycle_kind]
    readings: dict[Name, list[SporeReading]] = defaultdict(list)
    for reading in ledger.about_each(SporeReading, "test", [one.thing for one in tests]):
        readings[reading.value.test].append(reading.value)
    return SporeFacts(
        process=Process(steriliser=steriliser.text, cycle_kind=cycle_kind.value),
        tests=tuple(one.value for one in tests),
        readings=readings,
        events=tuple(one.value for one in ledger.about(SteriliserEvent, "steriliser", steriliser)),
    )


def spore_history(ledger: Reading, steriliser: Name, cycle_kind: CycleKind) -> History:
    """Collect what is known today of the spore tests of one steriliser and cycle kind."""
    return spore_facts(ledger, steriliser, cycle_kind).history()


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
