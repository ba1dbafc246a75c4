"""A steriliser's logbook over some days: its loads, spore tests and events, and what its counter says of the rest."""

from collections.abc import Callable, Iterable, Iterator
from datetime import date, datetime
from pathlib import Path

from tracelabels.custody import (
    IndicatorReading,
    IndicatorResult,
    Load,
    LoadReadings,
    Name,
    PouchState,
    SporeTest,
    Steriliser,
    SteriliserEvent,
    Unloaded,
    standing_indicators,
    verdict_of_readings,
)
from tracelabels.errors import InputError
from tracelabels.records import Reading, Recorded
from tracelabels.reports import EventEntry, LoadEntry, Logbook, SporeEntry, logbook_pdf
from tracelabels.workflows.leave_file import FileKind, leave_file, require_place
from tracelabels.workflows.practice import Practice
from tracelabels.workflows.processing_record import ProcessingReader
from tracelabels.workflows.report_load import paper_of, spore_test_shown, who_recorded


def leave_logbook(practice: Practice, code: str, out: Path, *, first: date, last: date) -> Logbook:
    """Leave a steriliser's logbook as a PDF; return what stands in it.

    Raises:
        InputError: a place that is taken, or a last day before the first.
        LedgerError: there is no such steriliser.
    """
    require_place(out, FileKind.PDF)
    book = collect_logbook(practice, code, first=first, last=last)
    leave_file(out, logbook_pdf(book, paper_of(practice)))
    return book


def collect_logbook(practice: Practice, code: str, *, first: date, last: date) -> Logbook:
    """Return everything on record about a steriliser from one day to another, both included.

    Raises:
        InputError: the last day lies before the first.
        LedgerError: there is no such steriliser.
    """
    if last < first:
        raise InputError(
            given=f"{first.isoformat()} to {last.isoformat()}",
            expected="a last day on or after the first",
            remedy="correct the days",
        )
    with practice.ledger.read() as ledger:
        steriliser = ledger.require(Steriliser, code).value
        loads = ledger.about(Load, "steriliser", steriliser.as_name)
        counted = [one.value for one in loads if one.value.cycle_number is not None]
        before = [one for one in counted if practice.day_of(one.started_at) < first]
        last_before = max(before, key=lambda one: one.started_at, default=None)
        return Logbook(
            practice=practice.settings.practice.name,
            zone=practice.settings.zone,
            printed_at=practice.now(),
            steriliser=steriliser,
            first_day=first,
            last_day=last,
            entries=tuple(
                _entries(practice, ledger, steriliser.as_name, loads, lambda at: first <= practice.day_of(at) <= last)
            ),
            counter_before=None if last_before is None else last_before.cycle_number,
        )


def _entries(
    practice: Practice,
    ledger: Reading,
    steriliser: Name,
    loads: Iterable[Recorded[Load]],
    is_wanted: Callable[[datetime], bool],
) -> Iterator[LoadEntry | SporeEntry | EventEntry]:
    """Give the entries of the days that are wanted; of other days nothing is asked but the day."""
    reader = ProcessingReader(ledger, practice.settings.spore_policy)
    wanted = [one for one in loads if is_wanted(one.value.started_at)]
    reader.look_ahead(wanted)
    yield from (_load(ledger, reader, one.value) for one in wanted)
    for test in ledger.about(SporeTest, "steriliser", steriliser):
        if is_wanted(test.value.at):
            reading = spore_test_shown(ledger, test.value).reading
            yield SporeEntry(test=test.value, reading=reading, by=who_recorded(ledger, test.fact))
    for event in ledger.about(SteriliserEvent, "steriliser", steriliser):
        if is_wanted(event.value.at):
            yield EventEntry(event=event.value, by=who_recorded(ledger, event.fact))


def _load(ledger: Reading, reader: ProcessingReader, load: Load) -> LoadEntry:
    readings = reader.of_load(LoadReadings, load)
    indicators = standing_indicators(reader.of_load(IndicatorReading, load))
    evidence = reader.evidence_of(load)
    decisions = reader.decisions_of(load)
    return LoadEntry(
        load=load,
        end=reader.end_of(load),
        rejected=sum(one.state is not PouchState.SOUND for one in reader.of_load(Unloaded, load)),
        verdict=verdict_of_readings(load, readings, evidence) if readings else None,
        indicators=len(indicators),
        doubtful=sum(one.result is not IndicatorResult.TURNED for one in indicators),
        spores=evidence.state,
        decision=decisions[-1].value if decisions else None,
        decided_by=who_recorded(ledger, decisions[-1].fact) if decisions else None,
    )
