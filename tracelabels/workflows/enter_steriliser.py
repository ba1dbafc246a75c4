"""Enter a steriliser, and its days: cleaned, tested, calibrated, serviced, repaired, moved, out of service and back."""

from dataclasses import dataclass
from datetime import datetime
from typing import Final

from tracelabels.custody import (
    CycleKind,
    Reason,
    ServiceRecord,
    Steriliser,
    SteriliserEvent,
    SteriliserEventKind,
    return_reasons,
    taken_out,
)
from tracelabels.errors import InputError
from tracelabels.records import Reading
from tracelabels.words import in_words
from tracelabels.workflows.practice import Practice
from tracelabels.workflows.spore_record import spore_history

TESTS: Final = frozenset({SteriliserEventKind.AIR_REMOVAL_TEST, SteriliserEventKind.LEAK_TEST})
"""Events that pass or fail."""
_MOST_ERROR_K: Final = 10
_MOST_OFFSET_S: Final = 10 * 366 * 86400


def enter_steriliser(
    practice: Practice, steriliser: Steriliser, *, by: str, installed_at: datetime | None = None
) -> Steriliser:
    """Record a steriliser; it counts as installed, and untested until a spore test has passed.

    Raises:
        InputError: no cycle kind is given.
        LedgerError: its code is taken.
    """
    if not steriliser.cycle_kinds:
        raise InputError(
            given=f"steriliser {steriliser.code} without a cycle kind",
            expected=f"one or more of {', '.join(kind.value for kind in CycleKind)}",
            remedy="look into its manual",
        )
    moment = practice.when(installed_at)
    installed = SteriliserEvent(steriliser=steriliser.as_name, event=SteriliserEventKind.INSTALLED, at=moment)
    with practice.write(by=by, at=moment) as ledger:
        ledger.record(steriliser)
        ledger.record(installed)
    return steriliser


def record_event(practice: Practice, event: SteriliserEvent, *, by: str) -> SteriliserEvent:
    """Record what was done to a steriliser or tested on it; a return to service has rules of its own.

    Raises:
        InputError: a test without a result, a result without a test, or a return to service.
        LedgerError: the steriliser is not on record.
    """
    _require_sound(event)
    practice.when(event.at)
    with practice.write(by=by, at=event.at) as ledger:
        ledger.record(event)
    return event


def _require_sound(event: SteriliserEvent) -> None:
    if event.event is SteriliserEventKind.RETURNED:
        raise InputError(
            given="a return to service entered as an event of the day",
            expected="a return to service by its own rules",
            remedy="use 'tracelabels return-to-service'",
        )
    if event.event in TESTS and event.passed is None:
        raise InputError(
            given=f"{in_words(event.event)} without a result",
            expected="whether it passed or failed",
            remedy="add --passed or --failed",
        )
    if event.event not in TESTS and event.passed is not None:
        raise InputError(
            given=f"{in_words(event.event)} with a test's result",
            expected="a result of tests only",
            remedy="leave out --passed and --failed, and say in --note what was found",
        )
    _require_numbers_to_suit(event)


def _require_numbers_to_suit(event: SteriliserEvent) -> None:
    """Refuse a number that would be lost: a probe's error is found by calibrating, an offset by comparing clocks."""
    is_calibrated = event.event is SteriliserEventKind.CALIBRATED
    if event.error_k is not None and not (is_calibrated and 0 <= event.error_k <= _MOST_ERROR_K):
        raise InputError(
            given=f"{in_words(event.event)} with an error of {event.error_k} K",
            expected=f"one of 0 to {_MOST_ERROR_K} K, of a calibration",
            remedy="correct it, or leave out --error",
        )
    is_compared, offset = event.event is SteriliserEventKind.CLOCK_COMPARED, event.offset_s
    if is_compared is not (offset is not None and abs(offset) <= _MOST_OFFSET_S):
        said = "no offset" if offset is None else f"an offset of {offset} s"
        raise InputError(
            given=f"{in_words(event.event)} with {said}",
            expected="seconds that the logger is ahead (negative if behind, at most ten years), of clocks that were "
            "compared and of nothing else",
            remedy="correct --offset; 0 if both agree",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Returned:
    """A steriliser that was returned to service, or the reasons why it was not."""

    event: SteriliserEvent | None
    """As recorded; None if it was refused."""
    refused: tuple[Reason, ...]
    """Every reason against it; if it was let through all the same, what was overridden."""


def return_to_service(
    practice: Practice,
    code: str,
    *,
    by: str,
    cycle_kind: CycleKind | None = None,
    override: str | None = None,
    at: datetime | None = None,
) -> Returned:
    """Return a steriliser to service after three consecutive passes, or by a named person's override.

    An override lets the steriliser run again. What a growth reaches goes on until three passes are on record.

    Args:
        practice: whose.
        code: of the steriliser.
        by: opaque staff id.
        cycle_kind: for which cycles; None for all that are out of service.
        override: the reason to return it without the passes.
        at: when.

    Raises:
        InputError, LedgerError: an override without a reason; no such steriliser.
    """
    if override is not None and not override.strip():
        raise InputError(given="an override without a reason", expected="the reason in words", remedy="say why")
    moment = practice.when(at)
    with practice.write(by=by, at=moment) as ledger:
        steriliser = ledger.require(Steriliser, code).value
        if (reasons := _against_return(ledger, steriliser, cycle_kind, moment)) and override is None:
            return Returned(event=None, refused=reasons)
        event = SteriliserEvent(
            steriliser=steriliser.as_name,
            event=SteriliserEventKind.RETURNED,
            at=moment,
            cycle_kind=cycle_kind,
            note=f"overridden by {by}: {override} ({_said(reasons)})" if reasons else None,
        )
        ledger.record(event)
    return Returned(event=event, refused=reasons)


def _said(reasons: tuple[Reason, ...]) -> str:
    return "; ".join(reason.sentence for reason in reasons)


def _against_return(
    ledger: Reading, steriliser: Steriliser, cycle_kind: CycleKind | None, at: datetime
) -> tuple[Reason, ...]:
    kinds = steriliser.cycle_kinds if cycle_kind is None else (cycle_kind,)
    records = [service_record(ledger, steriliser, kind) for kind in kinds]
    out = [record for record in records if taken_out(record, at) is not None]
    found = [reason for record in out or records[:1] for reason in return_reasons(record, at)]
    return tuple(dict.fromkeys(found))


def service_record(ledger: Reading, steriliser: Steriliser, cycle_kind: CycleKind) -> ServiceRecord:
    """Collect what is known of a steriliser and one kind of its cycles."""
    events = ledger.about(SteriliserEvent, "steriliser", steriliser.as_name)
    return ServiceRecord(
        steriliser=steriliser,
        cycle_kind=cycle_kind,
        events=tuple(one.value for one in events),
        history=spore_history(ledger, steriliser.as_name, cycle_kind),
    )
