"""The record of a load on one page, for the inspector's folder: collected from the ledger, computed anew, drawn."""

from collections.abc import Iterable
from pathlib import Path

from tracelabels.custody import (
    Hold,
    IndicatorReading,
    Load,
    LoadReadings,
    Name,
    Pouch,
    ReadingsSource,
    Release,
    SporeReading,
    SporeResult,
    SporeTest,
    Steriliser,
    Unloaded,
    verdict_of_readings,
)
from tracelabels.records import FactId, Reading, Recorded
from tracelabels.reports import (
    CurveChart,
    DecisionShown,
    LoadReport,
    PageSize,
    PouchShown,
    ReadingsShown,
    SporeTestShown,
    load_report_pdf,
)
from tracelabels.words import some
from tracelabels.workflows.keep_evidence import find_content
from tracelabels.workflows.leave_file import FileKind, leave_file, require_place
from tracelabels.workflows.practice import Practice
from tracelabels.workflows.processing_record import ProcessingReader
from tracelabels.workflows.record_readings import ReadingsFile, ReadingsOrder, as_options, compute_readings
from tracelabels.workflows.templates import list_sheets


def leave_load_report(practice: Practice, number: str, out: Path) -> LoadReport:
    """Leave the page of a load as a PDF; return what stands on it.

    Raises:
        InputError: a place that is taken, or a file of evidence that is missing or was changed.
        LedgerError: there is no such load.
    """
    require_place(out, FileKind.PDF)
    report = collect_load_report(practice, number)
    leave_file(out, load_report_pdf(report, paper_of(practice)))
    return report


def paper_of(practice: Practice) -> PageSize:
    """Return the paper that the practice prints its pouch labels on."""
    named = practice.settings.printing.pouch_sheet
    widths = [float(sheet.page_width) for sheet in list_sheets() if sheet.name == named]
    return PageSize.of(widths[0]) if widths else PageSize.A4


def collect_load_report(practice: Practice, number: str) -> LoadReport:
    """Return everything on record about a load, with its readings computed anew from the evidence.

    Raises:
        InputError: a file of evidence is missing or was changed.
        LedgerError: there is no such load.
    """
    with practice.ledger.read() as ledger:
        recorded = ledger.require(Load, number)
        load = recorded.value
        reader = ProcessingReader(ledger, practice.settings.spore_policy)
        evidence = reader.evidence_of(load)
        readings = reader.recorded_of_load(LoadReadings, load)
        pouches = {name: _find_pouch(ledger, name) for name in load.pouches}
        return LoadReport(
            practice=practice.settings.practice.name,
            zone=practice.settings.zone,
            printed_at=practice.now(),
            steriliser=ledger.require(Steriliser, load.steriliser.text).value,
            load=load,
            fact=str(recorded.fact),
            end=reader.end_of(load),
            contents=[_shown(ledger, reader, load, name, pouch) for name, pouch in pouches.items()],
            verdict=verdict_of_readings(load, [one.value for one in readings], evidence),
            readings=tuple(_readings(practice, ledger, load, one) for one in readings),
            indicators=reader.of_load(IndicatorReading, load),
            spores=evidence,
            rode_along=tuple(spore_test_shown(ledger, one) for one in reader.of_load(SporeTest, load)),
            decisions=tuple(_decision(ledger, one) for one in reader.decisions_of(load)),
            holds=_holds(reader, load, [one for one in pouches.values() if one is not None]),
        )


def _find_pouch(ledger: Reading, name: Name) -> Pouch | None:
    found = ledger.find_pouch(name.text)
    return None if found is None else found.value


def _shown(ledger: Reading, reader: ProcessingReader, load: Load, name: Name, pouch: Pouch | None) -> PouchShown:
    out = [one for one in reader.of_load(Unloaded, load) if one.pouch == name]
    return PouchShown(
        serial=name.text,
        holds=() if pouch is None else _insides(ledger, reader, pouch),
        state=out[-1].state if out else None,
        note=out[-1].note if out else None,
    )


def _insides(ledger: Reading, reader: ProcessingReader, pouch: Pouch) -> tuple[str, ...]:
    """Return what a pouch holds in words: each tube with what is in it, each instrument."""
    return (*(_tube(ledger, reader, serial) for serial in pouch.tubes), *pouch.instruments)


def _tube(ledger: Reading, reader: ProcessingReader, serial: str) -> str:
    tube = ledger.find_tube(serial)
    number = None if tube is None else tube.value.preparation
    preparation = None if number is None else reader.find_preparation(number)
    if preparation is None or not preparation.bottles:
        return f"tube {serial}, empty"
    names = some(dict.fromkeys(bottle.product.name for bottle in preparation.bottles))
    return f"tube {serial}: {names}, {preparation.number}"


def _readings(practice: Practice, ledger: Reading, load: Load, one: Recorded[LoadReadings]) -> ReadingsShown:
    """Compute recorded readings anew, from the very file that was kept, read the way it was read then."""
    recorded = one.value
    order = ReadingsOrder(
        source=recorded.source,
        probe=recorded.probe,
        verdict=recorded.verdict,
        typed=recorded.typed,
        reasons=recorded.reasons,
        options=as_options(recorded.read_as),
        probe_error_k=recorded.probe_error_k,
    )
    done = compute_readings(practice, ledger, load, order, _file(practice, ledger, recorded))
    if done.findings is None or done.readings is None:
        return ReadingsShown(recorded=recorded, fact=str(one.fact))
    logged = done.logged
    return ReadingsShown(
        recorded=recorded,
        fact=str(one.fact),
        chart=CurveChart(
            readings=done.readings, findings=done.findings, started_at=logged.started_at if logged else None
        ),
        guesses=logged.guesses if logged else (),
        oddities=logged.oddities if logged else (),
    )


def _file(practice: Practice, ledger: Reading, recorded: LoadReadings) -> ReadingsFile | None:
    if recorded.source is not ReadingsSource.LOGGER or recorded.evidence is None:
        return None
    content = find_content(practice, ledger, recorded.evidence)
    return None if content is None else ReadingsFile(name=f"{recorded.evidence[:12]}.csv", content=content)


def spore_test_shown(ledger: Reading, test: SporeTest) -> SporeTestShown:
    """Return a spore test with what it showed, by the reading that counts: a growth, else the last."""
    readings = [one.value for one in ledger.about(SporeReading, "test", test.as_name)]
    counts = max(readings, key=lambda one: (one.result is SporeResult.GROWTH, one.at), default=None)
    return SporeTestShown(test=test, reading=counts)


def _decision(ledger: Reading, one: Recorded[Release]) -> DecisionShown:
    return DecisionShown(release=one.value, by=who_recorded(ledger, one.fact), fact=str(one.fact))


def who_recorded(ledger: Reading, at: FactId) -> str:
    """Return the opaque staff id of who recorded a fact."""
    fact = ledger.find_fact(at)
    return "unknown" if fact is None else fact.by


def _holds(reader: ProcessingReader, load: Load, pouches: Iterable[Pouch]) -> tuple[Hold, ...]:
    names = [*reader.went_with(load), *(name for pouch in pouches for name in reader.origins_of(pouch))]
    return reader.holds_on(*dict.fromkeys(names))
