"""Spore tests (biological indicators, BI): one rides along in a load, incubates, and is read.

Growth takes the steriliser out of service for that kind of cycle and holds every load that it reaches, in the same
unit of writing: the chair stops them at once.
"""

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from tracelabels.custody import (
    Consumable,
    ConsumableKind,
    Hold,
    HoldCause,
    Load,
    Reason,
    ReasonKind,
    SporeReading,
    SporeResult,
    SporeTest,
    Steriliser,
    SteriliserEvent,
    SteriliserEventKind,
    is_returned_since,
    lot_name,
    taken_out,
)
from tracelabels.errors import InputError, LedgerError
from tracelabels.records import Reading, Series, Writing
from tracelabels.sterilization import AffectedInterval, affected_interval, doubts_of_lot
from tracelabels.words import in_words, local_minute
from tracelabels.workflows.enter_steriliser import service_record
from tracelabels.workflows.hold_stock import new_hold
from tracelabels.workflows.practice import Practice
from tracelabels.workflows.request_keys import answered
from tracelabels.workflows.spore_record import rode_along, spore_history


@dataclass(frozen=True, slots=True, kw_only=True)
class SporeOrder:
    """A spore test that rides along."""

    lot: str
    """Lot of the indicator."""
    placement: str
    """Where it sits in the load."""
    lot_expiry: date | None = None
    """Last day of use of that lot; None: as entered with the lot, if it was."""
    incubation_hours: int | None = None
    """After how many hours it is read; None for the practice's usual time."""
    has_control: bool = True
    """An unprocessed indicator of the lot is incubated beside it."""
    by_laboratory: bool = False
    """It is sent to a laboratory."""
    in_reference_tube: bool = False
    """It sits inside a tube of the same fill."""
    laboratory: str | None = None
    """Which laboratory it is sent to."""
    sent_at: datetime | None = None
    """When it was sent."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SporeStarted:
    """A spore test that was recorded, or the reasons why it was not."""

    test: SporeTest | None
    """As recorded; None if it was refused."""
    refused: tuple[Reason, ...]
    """Every reason against it."""
    warnings: tuple[Reason, ...] = ()
    """What is to be looked at although it counts."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SporeRead:
    """A spore test that was read, and what follows."""

    reading: SporeReading
    """As recorded."""
    interval: AffectedInterval | None
    """Which times a growth reaches; None without growth."""
    hold: Hold | None
    """The hold on every load that it reaches so far; None without growth."""


def start_spore_test(
    practice: Practice, number: str, order: SporeOrder, *, by: str, request_key: str | None = None
) -> SporeStarted:
    """Record a spore test that rides along in a load.

    Raises:
        LedgerError: the load is not on record.
    """
    with practice.write(by=by) as ledger:
        before = answered(
            ledger, SporeTest, request_key, is_same=lambda one: one.load.text == number and is_ordered(one, order)
        )
        if before is not None:
            return SporeStarted(test=before, refused=())
        load = ledger.require(Load, number).value
        refused = lot_reasons(practice, ledger, order, load.started_at)
        if refused:
            return SporeStarted(test=None, refused=refused)
        test = new_spore_test(practice, ledger, load, order)
        ledger.record(test, request_key=request_key)
        warnings = lot_warnings(ledger, order)
    return SporeStarted(test=test, refused=(), warnings=warnings)


def lot_warnings(ledger: Reading, order: SporeOrder) -> tuple[Reason, ...]:
    """Return what makes a lot of indicators too weak a witness, by its certificate as it was entered."""
    found = ledger.find(Consumable, lot_name(ConsumableKind.SPORE_TESTS, order.lot).text)
    if found is None:
        return ()
    lot = found.value
    doubts = doubts_of_lot(
        population=None if lot.population is None else float(lot.population),
        d_minutes=None if lot.d_value_minutes is None else float(lot.d_value_minutes),
    )
    return tuple(
        Reason(kind=ReasonKind.WEAK_SPORES, sentence=f"spore tests of lot {order.lot}: {doubt}") for doubt in doubts
    )


def is_ordered(test: SporeTest, order: SporeOrder) -> bool:
    """Say whether a test is the one that an order asks for."""
    asked = (order.lot, order.placement, order.in_reference_tube, order.has_control, order.by_laboratory)
    return (test.lot, test.placement, test.in_reference_tube, test.has_control, test.by_laboratory) == asked


def lot_reasons(practice: Practice, ledger: Reading, order: SporeOrder, at: datetime) -> tuple[Reason, ...]:
    """Return what speaks against a lot of indicators: an expired one proves nothing (California HSC 119315)."""
    day, expiry = practice.day_of(at), _expiry_of(ledger, order)
    if expiry is None or expiry >= day:
        return ()
    sentence = f"spore tests of lot {order.lot} expired on {expiry.isoformat()}"
    return (Reason(kind=ReasonKind.EXPIRED, sentence=sentence),)


def new_spore_test(practice: Practice, ledger: Writing, load: Load, order: SporeOrder) -> SporeTest:
    """Return a spore test with a number of its own, to be recorded in an open unit."""
    hours = order.incubation_hours or practice.settings.sterilisation.incubation_hours
    return SporeTest(
        number=ledger.next_numbered(Series.SPORE_TEST),
        steriliser=load.steriliser,
        cycle_kind=load.cycle_kind,
        load=load.as_name,
        lot=order.lot,
        placement=order.placement,
        at=load.started_at,
        due_at=load.started_at + timedelta(hours=hours),
        lot_expiry=_expiry_of(ledger, order),
        has_control=order.has_control,
        by_laboratory=order.by_laboratory or order.laboratory is not None,
        in_reference_tube=order.in_reference_tube,
        laboratory=order.laboratory,
        sent_at=order.sent_at,
    )


def _expiry_of(ledger: Reading, order: SporeOrder) -> date | None:
    lot = ledger.find(Consumable, lot_name(ConsumableKind.SPORE_TESTS, order.lot).text)
    return order.lot_expiry or (lot.value.expiry if lot else None)


def read_spore_test(
    practice: Practice,
    number: str,
    result: SporeResult,
    *,
    by: str,
    at: datetime | None = None,
    note: str | None = None,
    control_grew: bool | None = None,
    request_key: str | None = None,
) -> SporeRead:
    """Record what a spore test showed; growth holds all that it reaches, and takes the steriliser out of service.

    Args:
        practice: whose.
        number: of the test.
        result: what it showed.
        by: opaque staff id.
        at: when it was read; None for now.
        note: anything else in words.
        control_grew: whether the control, which saw no steam, grew; None if there is none or nobody looked.
        request_key: names the request; asked again, it gives the same answer and writes nothing.

    Raises:
        InputError: no growth before the incubation ends, a growth before the load started, or the control disagrees.
        LedgerError: the test is not on record, or was read before.
    """
    moment = practice.when(at)
    with practice.write(by=by, at=moment) as ledger:
        test = ledger.require(SporeTest, number).value
        before = answered(ledger, SporeReading, request_key, is_same=lambda one: _is_same(one, test, result))
        if before is not None:
            return SporeRead(reading=before, interval=_interval(ledger, test, before), hold=None)
        _require_readable(practice, ledger, test, result, moment)
        _require_control_to_agree(test, result, control_grew)
        reading = SporeReading(test=test.as_name, result=result, at=moment, note=note, control_grew=control_grew)
        ledger.record(reading, request_key=request_key)
        interval = _interval(ledger, test, reading)
        hold = None if interval is None else _stop_what_grew(practice, ledger, test, interval, moment)
    return SporeRead(reading=reading, interval=interval, hold=hold)


def _stop_what_grew(
    practice: Practice, ledger: Writing, test: SporeTest, interval: AffectedInterval, moment: datetime
) -> Hold:
    """Hold every load that a growth reaches, and take the steriliser out of service for that kind of cycle."""
    hold = _hold_affected(ledger, test, interval, moment)
    _take_out(ledger, test, moment, now=max(moment, practice.now()))
    return hold


def _is_same(reading: SporeReading, test: SporeTest, result: SporeResult) -> bool:
    return (reading.test, reading.result) == (test.as_name, result)


def _require_readable(
    practice: Practice, ledger: Reading, test: SporeTest, result: SporeResult, moment: datetime
) -> None:
    practice.require_after(moment, test.at, what=f"a reading of spore test {test.number}", follows="its load's start")
    last = rode_along(ledger, test)
    if last.result is not None and result is not SporeResult.GROWTH:
        raise LedgerError(
            given=f"spore test {test.number}, which was read as {in_words(last.result)} before",
            expected="a test that still incubates, or a growth seen later",
            remedy="correct that reading, with the reason, if it was wrong",
        )
    if result is SporeResult.NO_GROWTH and moment < test.due_at:
        raise InputError(
            given=f"no growth of spore test {test.number} before its incubation ends",
            expected=f"a reading at {local_minute(test.due_at, practice.settings.zone)} or later",
            remedy="read it again then; only a growth may be entered earlier",
        )


def _require_control_to_agree(test: SporeTest, result: SporeResult, control_grew: bool | None) -> None:  # noqa: FBT001  an answer: yes, no, not given
    """Hold the result to the control: without growth there, no growth says nothing; a growth always counts."""
    if control_grew is None:
        return
    if not test.has_control:
        raise InputError(
            given=f"a control of spore test {test.number}, which has none",
            expected="no word on the control",
            remedy="leave it out, or correct the test",
        )
    wanted = {SporeResult.NO_GROWTH: True, SporeResult.INVALID: False}
    if wanted.get(result, control_grew) is not control_grew:
        raise InputError(
            given=f"spore test {test.number} as {in_words(result)} while its control "
            f"{'grew' if control_grew else 'did not grow'}",
            expected="no growth only if the control grew, invalid only if it did not",
            remedy="look at both again; repeat the test if the control did not grow",
        )


def _interval(ledger: Reading, test: SporeTest, reading: SporeReading) -> AffectedInterval | None:
    if reading.result is not SporeResult.GROWTH:
        return None
    history = spore_history(ledger, test.steriliser, test.cycle_kind)
    return affected_interval(rode_along(ledger, test), history)


def _hold_affected(ledger: Writing, test: SporeTest, interval: AffectedInterval, moment: datetime) -> Hold:
    """Hold every load that a growth reaches."""
    loads = [one.value for one in ledger.about(Load, "steriliser", test.steriliser)]
    reached = [
        load.as_name
        for load in sorted(loads, key=lambda load: (load.started_at, load.number))
        if load.cycle_kind is test.cycle_kind and interval.holds(load.number, load.started_at)
    ]
    reason = f"spore test {test.number} in load {test.load.text} grew: after {interval.after.name}"
    items = tuple(reached) or (test.load,)
    hold = new_hold(ledger, items, cause=HoldCause.SPORE_GROWTH, reason=reason, at=moment)
    ledger.record(hold)
    return hold


def _take_out(ledger: Writing, test: SporeTest, moment: datetime, *, now: datetime) -> None:
    """Take the steriliser out of service for that kind of cycle, if it is in service now.

    A reading that is entered late, after a return to service, takes it out from now on: the return did not know it.
    """
    record = service_record(ledger, ledger.require(Steriliser, test.steriliser.text).value, test.cycle_kind)
    if taken_out(record, now) is not None:
        return
    out = SteriliserEvent(
        steriliser=test.steriliser,
        event=SteriliserEventKind.TAKEN_OUT,
        at=now if is_returned_since(record, moment) else moment,
        cycle_kind=test.cycle_kind,
        note=f"spore test {test.number} grew",
    )
    ledger.record(out)
