"""Readings of a load: a logger's file kept as evidence, or typed from gauge or printout; judged by its programme.

What computing says is recorded beside what stands. A person may be stricter at any time; may say that the programme is
met where computing cannot tell, with the reason; and never where computing says that it is not.
"""

from dataclasses import dataclass, field, fields, replace
from decimal import Decimal
from typing import Any, Final

from tracelabels.custody import (
    GaugeReading,
    Goods,
    Load,
    LoadReadings,
    ProbePlace,
    ReadAs,
    ReadingsSource,
    ReadingsVerdict,
)
from tracelabels.cycles import CycleFindings, Programme, Readings, judge, readings_from_gauge
from tracelabels.cycles.log import LoggedCycle, LogOptions, read_log
from tracelabels.errors import InputError, LogError
from tracelabels.records import Reading
from tracelabels.words import in_words
from tracelabels.workflows.keep_evidence import keep_evidence
from tracelabels.workflows.load_programme import programme_of
from tracelabels.workflows.log_of_load import cycles_within, log_of_load, stated_probe_error
from tracelabels.workflows.practice import Practice

FEWEST_TYPED: Final = 2
"""Fewer typed readings are no curve: nothing is computed from them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingsOrder:
    """What was read, and what a person says of it."""

    source: ReadingsSource
    """Logger, gauge or printout."""
    probe: ProbePlace
    """Where it was measured."""
    verdict: ReadingsVerdict | None = None
    """Whether the programme is met, as a person judges; None to leave it to computing."""
    typed: tuple[GaugeReading, ...] = ()
    """What was typed."""
    reasons: tuple[str, ...] = ()
    """Why a person judges so."""
    options: LogOptions = field(default_factory=LogOptions)
    """What is said about a logger's file, and not left to be guessed."""
    probe_error_k: Decimal | None = None
    """How far the probe may be off; None: as its last calibration says, if that is on record."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingsFile:
    """A logger's file, or a picture of a printout."""

    name: str
    """Its name."""
    content: bytes
    """Its content."""


def source_of(file: ReadingsFile | None) -> ReadingsSource:
    """Return where readings come from: text is a logger's, a picture or a PDF a printout's, no file a gauge's."""
    from tracelabels.scanning import find_picture_kind  # noqa: PLC0415  heavy: only who has a file

    if file is None:
        return ReadingsSource.GAUGE
    return ReadingsSource.LOGGER if find_picture_kind(file.content) is None else ReadingsSource.PRINTOUT


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordedReadings:
    """Readings on record, and what was computed from them."""

    readings: LoadReadings
    """As recorded."""
    logged: LoggedCycle | None
    """The logger's file as read, cut to the load's time; None without one."""
    findings: CycleFindings | None
    """What was computed; None if nothing was."""


def record_readings(
    practice: Practice, number: str, order: ReadingsOrder, *, by: str, file: ReadingsFile | None = None
) -> RecordedReadings:
    """Judge the readings of a load by its programme, and record them.

    Raises:
        InputError: no reading is given, a logger's without its file, a file that is another load's, a judgement
            without a reason, or one that says *met* where computing says *not met*.
        LogError: a logger's file cannot be read; nothing was recorded.
        LedgerError: there is no such load.
    """
    _require_sound(order, file)
    with practice.write(by=by) as ledger:
        load = ledger.require(Load, number).value
        done = compute_readings(practice, ledger, load, order, file)
        verdict, reasons = _judged(order, done, set_c=load.temperature_c, by=by)
        evidence = None
        if file is not None:
            evidence = keep_evidence(practice, ledger, file.content, name=file.name, about=load.as_name).digest
            _require_unused(ledger, load, evidence, file.name)
        readings = LoadReadings(
            load=load.as_name,
            source=order.source,
            probe=order.probe,
            verdict=verdict,
            reasons=reasons,
            evidence=evidence,
            typed=order.typed,
            computed=None if done.findings is None else done.findings.verdict,
            probe_error_k=done.probe_error_k,
            read_as=_read_as(order.options),
        )
        ledger.record(readings)
    return RecordedReadings(readings=readings, logged=done.logged, findings=done.findings)


@dataclass(frozen=True, slots=True, kw_only=True)
class Computed:
    """What was computed from the readings of a load."""

    logged: LoggedCycle | None = None
    """The logger's file, cut to the load's time; None without one."""
    findings: CycleFindings | None = None
    """None if there is nothing to compute from."""
    readings: Readings | None = None
    """The curve that it was computed from."""
    probe_error_k: Decimal | None = None
    """How far the probe may be off, as stated or as its last calibration says; None if neither is on record."""


def compute_readings(
    practice: Practice, ledger: Reading, load: Load, order: ReadingsOrder, file: ReadingsFile | None
) -> Computed:
    """Compute what the readings of a load say of its programme; nothing from a picture or a single value."""
    programme = programme_of(practice, ledger, load)
    error = stated_probe_error(ledger, load) if order.probe_error_k is None else order.probe_error_k
    off = None if error is None else float(error)
    if order.source is ReadingsSource.LOGGER and file is not None:
        logged = _read(order, file)
        if logged is None:
            return Computed(probe_error_k=error)
        part = log_of_load(practice, ledger, load, logged)
        found = _judge_each(part.logged.readings, programme, order.probe, off, load.goods)
        doubted = _doubted(found, part.against, part.notes)
        return Computed(logged=part.logged, findings=doubted, readings=part.logged.readings, probe_error_k=error)
    if len(order.typed) >= FEWEST_TYPED:
        typed = readings_from_gauge(order.typed)
        found = _judge_each(typed.readings, programme, order.probe, off, load.goods)
        found = replace(found, notes=(*found.notes, *typed.notes))
        return Computed(findings=found, readings=typed.readings, probe_error_k=error)
    return Computed()


def _judge_each(
    readings: Readings, programme: Programme, probe: ProbePlace, probe_error_k: float | None, goods: Goods
) -> CycleFindings:
    """Judge readings; where several cycles lie in a load's time, a good one never speaks for a bad one."""

    def judged(one: Readings) -> CycleFindings:
        return judge(one, programme=programme, probe=probe, probe_error_k=probe_error_k, goods=goods)

    found, cycles = judged(readings), cycles_within(readings, programme.band.set_c)
    verdicts = [judged(one).verdict or ReadingsVerdict.CANNOT_TELL for one in cycles] if len(cycles) > 1 else []
    if len(set(verdicts)) <= 1:
        return found
    said = ", ".join(map(in_words, verdicts))
    why = f"{len(cycles)} cycles lie within this load's time ({said}), and which of them is this load's cannot be told"
    return replace(found, verdict=ReadingsVerdict.CANNOT_TELL, reasons=(why, *found.reasons))


def _read(order: ReadingsOrder, file: ReadingsFile) -> LoggedCycle | None:
    """Read a log; one that cannot be read is left to a person who has judged it, with the reason."""
    try:
        return read_log(file.content, order.options, name=file.name)
    except LogError:
        if order.verdict is None or not order.reasons:
            raise
        return None


def _doubted(found: CycleFindings, against: tuple[str, ...], notes: tuple[str, ...]) -> CycleFindings:
    """Return findings with what the clocks say: of another load's log nothing can be told."""
    if against:
        found = replace(found, verdict=ReadingsVerdict.CANNOT_TELL, reasons=(*against, *found.reasons))
    return replace(found, notes=(*found.notes, *notes))


def _judged(
    order: ReadingsOrder, done: Computed, *, set_c: Decimal, by: str
) -> tuple[ReadingsVerdict, tuple[str, ...]]:
    """Return the verdict that stands, and why; a person's word beside the computed one."""
    computed = None if done.findings is None else done.findings.verdict
    why = () if done.findings is None else done.findings.reasons
    if order.verdict is None or (computed is order.verdict and not order.reasons):
        if computed is None:
            raise InputError(
                given="readings that nothing can be computed from, without a judgement",
                expected="a logger's file, two typed readings or more, or a person's judgement",
                remedy="add --file or --reading, or judge with --verdict",
            )
        return computed, why
    if order.verdict is ReadingsVerdict.MET:
        _require_hot(order, set_c)
    if computed is ReadingsVerdict.NOT_MET and order.verdict is not ReadingsVerdict.NOT_MET:
        raise InputError(
            given=f"readings judged as {in_words(order.verdict)} which by computing are not met: {why[0]}",
            expected="no judgement against the readings",
            remedy="leave --verdict out; if the file was read wrongly, say how with the options for logs",
        )
    if order.verdict is not ReadingsVerdict.MET or computed is ReadingsVerdict.CANNOT_TELL:
        _require_reason(order.verdict, order.reasons)
    said = () if computed is None else (f"computing said {in_words(computed)}: {why[0]}",)
    return order.verdict, (*order.reasons, *said, f"judged by {by}")


def _require_hot(order: ReadingsOrder, set_c: Decimal) -> None:
    """Refuse the word *met* for typed readings too few to compute from, none of which reaches the set temperature."""
    if order.typed and max(one.temperature_c for one in order.typed) < set_c:
        raise InputError(
            given=f"readings judged as met, none of which reaches {set_c} C",
            expected="one at the load's set temperature at least",
            remedy="correct the reading, or judge it as not met",
        )


def _require_reason(verdict: ReadingsVerdict, reasons: tuple[str, ...]) -> None:
    if not reasons:
        raise InputError(
            given=f"readings judged as {in_words(verdict)} without a reason",
            expected="the reason in words",
            remedy="add --reason",
        )


def _require_sound(order: ReadingsOrder, file: ReadingsFile | None) -> None:
    if order.source is ReadingsSource.LOGGER and file is None:
        raise InputError(
            given="readings of a logger without its file",
            expected="the file that the logger wrote",
            remedy="add it with --file, or enter what the gauge showed",
        )
    if file is not None and (order.source is ReadingsSource.LOGGER) is not (source_of(file) is ReadingsSource.LOGGER):
        raise InputError(
            given=f"{file.name} as readings of a {order.source.value}",
            expected="a logger's file as a logger's, a picture or a PDF as a printout's or a gauge's",
            remedy="leave --source out",
        )
    if order.source is ReadingsSource.LOGGER and order.typed:
        raise InputError(
            given="a logger's file and typed readings beside it",
            expected="one of both: each is judged by itself, and what is not met outweighs",
            remedy="record them one after the other",
        )
    if file is None and not order.typed and order.verdict in {None, ReadingsVerdict.MET}:
        raise InputError(
            given="readings that meet the programme, and none of them",
            expected="a file, or what was read at least once",
            remedy="add --file, or --reading MINUTE=DEGREES, with the pressure after an @ if it was read",
        )
    if order.verdict not in {None, ReadingsVerdict.MET}:
        _require_reason(order.verdict, order.reasons)


def _require_unused(ledger: Reading, load: Load, digest: str, name: str) -> None:
    """Refuse a file that is on record as another load's, by its content as it was kept."""
    others = [one.value.load for one in ledger.having(LoadReadings, "evidence", digest)]
    other = next((one for one in others if one != load.as_name), None)
    if other is not None:
        raise InputError(
            given=f"{name}, which is on record as the readings of load {other.text}",
            expected=f"the file of load {load.number}",
            remedy="look for the right file; one file is never the readings of two loads",
        )


def _read_as(options: LogOptions) -> tuple[ReadAs, ...]:
    """Return what was said about a file, so that it can be read again the same way."""
    return tuple(
        ReadAs(option=one.name, value=str(getattr(options, one.name)))
        for one in fields(options)
        if getattr(options, one.name) != one.default
    )


def as_options(read_as: tuple[ReadAs, ...]) -> LogOptions:
    """Return recorded options as the reading of logs takes them."""
    said: dict[str, Any] = {one.option: one.value for one in read_as}
    if "atmosphere_kpa" in said:
        said["atmosphere_kpa"] = float(said["atmosphere_kpa"])
    return LogOptions(**said)
