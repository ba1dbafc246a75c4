"""A steriliser's logbook over some days: its loads, spore tests and events, and what its counter says of the rest."""

from datetime import date
from pathlib import Path

from tracelabels.custody import (
    IndicatorReading,
    IndicatorResult,
    Load,
    LoadReadings,
    Name,
    PouchState,
    Release,
    SporeTest,
    Steriliser,
    SteriliserEvent,
    Unloaded,
    standing_indicators,
    verdict_of_readings,
)
from tracelabels.errors import InputError
from tracelabels.records import FactId, Reading
from tracelabels.reports import EventEntry, LoadEntry, Logbook, SporeEntry, logbook_pdf
from tracelabels.workflows.leave_file import FileKind, leave_file, require_place
from tracelabels.workflows.practice import Practice
from tracelabels.workflows.processing_record import ProcessingReader
from tracelabels.workflows.report_load import paper_of, spore_test_shown


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
        loads = [one.value for one in ledger.about(Load, "steriliser", steriliser.as_name)]
        before = [one for one in loads if one.cycle_number is not None and practice.day_of(one.started_at) < first]
        last_before = max(before, key=lambda one: one.started_at, default=None)
        return Logbook(
            practice=practice.settings.practice.name,
            zone=practice.settings.zone,
            printed_at=practice.now(),
            steriliser=steriliser,
            first_day=first,
            last_day=last,
            entries=tuple(
                entry
                for entry in _entries(practice, ledger, steriliser.as_name, loads)
                if first <= practice.day_of(entry.at) <= last
            ),
            counter_before=None if last_before is None else last_before.cycle_number,
        )


def _entries(
    practice: Practice, ledger: Reading, steriliser: Name, loads: list[Load]
) -> list[LoadEntry | SporeEntry | EventEntry]:
    reader = ProcessingReader(ledger, practice.settings.spore_policy)
    tests = ledger.about(SporeTest, "steriliser", steriliser)
    events = ledger.about(SteriliserEvent, "steriliser", steriliser)
    return [
        *(_load(ledger, reader, load) for load in loads),
        *(
            SporeEntry(test=one.value, reading=spore_test_shown(ledger, one.value).reading, by=_by(ledger, one.fact))
            for one in tests
        ),
        *(EventEntry(event=one.value, by=_by(ledger, one.fact)) for one in events),
    ]


def _load(ledger: Reading, reader: ProcessingReader, load: Load) -> LoadEntry:
    readings = reader.of_load(LoadReadings, load)
    indicators = standing_indicators(reader.of_load(IndicatorReading, load))
    evidence = reader.evidence_of(load)
    decisions = sorted(ledger.about(Release, "load", load.as_name), key=lambda one: one.value.at)
    return LoadEntry(
        load=load,
        end=reader.end_of(load),
        rejected=sum(one.state is not PouchState.SOUND for one in reader.of_load(Unloaded, load)),
        verdict=verdict_of_readings(load, readings, evidence) if readings else None,
        indicators=len(indicators),
        doubtful=sum(one.result is not IndicatorResult.TURNED for one in indicators),
        spores=evidence.state,
        decision=decisions[-1].value if decisions else None,
        decided_by=_by(ledger, decisions[-1].fact) if decisions else None,
    )


def _by(ledger: Reading, at: FactId) -> str:
    fact = ledger.find_fact(at)
    return "unknown" if fact is None else fact.by
