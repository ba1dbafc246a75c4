"""Readings of a load: typed from gauge or printout, or a logger's file kept as evidence.

For now a person judges whether they meet the programme; what is recorded says so.
"""

from dataclasses import dataclass, replace

from tracelabels.custody import (
    GaugeReading,
    Load,
    LoadReadings,
    ProbePlace,
    ReadingsSource,
    ReadingsVerdict,
)
from tracelabels.errors import InputError
from tracelabels.words import in_words
from tracelabels.workflows.keep_evidence import keep_evidence
from tracelabels.workflows.practice import Practice


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingsOrder:
    """What was read, and what a person says of it."""

    source: ReadingsSource
    """Logger, gauge or printout."""
    probe: ProbePlace
    """Where it was measured."""
    verdict: ReadingsVerdict
    """Whether the programme is met."""
    typed: tuple[GaugeReading, ...] = ()
    """What was typed."""
    reasons: tuple[str, ...] = ()
    """Why it is not met, or cannot be told."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingsFile:
    """A logger's file, or a picture of a printout."""

    name: str
    """Its name."""
    content: bytes
    """Its content."""


def record_readings(
    practice: Practice, number: str, order: ReadingsOrder, *, by: str, file: ReadingsFile | None = None
) -> LoadReadings:
    """Record the readings of a load, with who judged them.

    Raises:
        InputError: no reading is given, a logger's without its file, or *not met* without a reason.
        LedgerError: there is no such load.
    """
    _require_sound(order, file)
    with practice.write(by=by) as ledger:
        load = ledger.require(Load, number).value
        readings = LoadReadings(
            load=load.as_name,
            source=order.source,
            probe=order.probe,
            verdict=order.verdict,
            reasons=(*order.reasons, f"judged by {by}"),
            typed=order.typed,
        )
        if file is not None:
            kept = keep_evidence(practice, ledger, file.content, name=file.name, about=load.as_name)
            readings = replace(readings, evidence=kept.digest)
        ledger.record(readings)
    return readings


def _require_sound(order: ReadingsOrder, file: ReadingsFile | None) -> None:
    if order.source is ReadingsSource.LOGGER and file is None:
        raise InputError(
            given="readings of a logger without its file",
            expected="the file that the logger wrote",
            remedy="add it with --file, or enter what the gauge showed",
        )
    if file is None and not order.typed and order.verdict is ReadingsVerdict.MET:
        raise InputError(
            given="readings that meet the programme, and none of them",
            expected="a file, or what was read at least once",
            remedy="add --file, or --reading MINUTE=DEGREES, with the pressure after an @ if it was read",
        )
    if order.verdict is not ReadingsVerdict.MET and not order.reasons:
        raise InputError(
            given=f"readings judged as {in_words(order.verdict)} without a reason",
            expected="the reason in words",
            remedy="add --reason",
        )
