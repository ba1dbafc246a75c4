"""Recall: put everything that a cause reaches in quarantine at once, reach every client, count the stock, close it."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Final

from tracelabels.custody import (
    ClientStanding,
    Destroyed,
    Destruction,
    Hold,
    HoldCause,
    HoldLifted,
    Kind,
    Name,
    Recall,
    RecallAction,
    RecallStep,
    StockCount,
    count_stock,
    reasons_not_to_give_up,
    reasons_to_stay_open,
    stand_of,
)
from tracelabels.errors import InputError
from tracelabels.records import Reading, Series, Writing
from tracelabels.words import in_words
from tracelabels.workflows.hold_stock import new_hold
from tracelabels.workflows.name_cause import Cause, find_cause
from tracelabels.workflows.note_left_file import FILE_STEPS
from tracelabels.workflows.practice import Practice
from tracelabels.workflows.request_keys import answered
from tracelabels.workflows.trace import ITEMS, Trace, trace_cause

_HELD: Final = (*ITEMS, Kind.PREPARATION, Kind.LOAD, Kind.CONSUMABLE, Kind.PRINT_RUN)
_OF_CLIENTS: Final = frozenset({RecallStep.CLIENT_REACHED, RecallStep.CLIENT_ATTEMPT, RecallStep.CLIENT_UNREACHABLE})


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """How a recall stands today."""

    recall: Recall
    """The recall as it was recorded."""
    trace: Trace
    """What its cause reaches today."""
    clients: tuple[ClientStanding, ...]
    """Every client, those reached since it was recorded too."""
    stock: StockCount
    """Stock found against stock expected."""
    reached_since: tuple[Name, ...]
    """Items, clients and incidents that its cause reaches today and did not when it was recorded."""
    actions: tuple[RecallAction, ...]
    """What was done, in order."""
    is_held: bool
    """Whether what it reached is still kept back."""
    reasons: tuple[str, ...]
    """What keeps it open; empty if it may be closed."""

    @property
    def is_closed(self) -> bool:
        """Say whether somebody closed it."""
        return any(one.step is RecallStep.CLOSED for one in self.actions)


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """Something that was done in a recall."""

    step: RecallStep
    """What."""
    client: str | None = None
    """Code of the client, for what is about a client."""
    serials: tuple[str, ...] = ()
    """Serials of bottles, tubes and pouches, for what is about stock."""
    place: str | None = None
    """Where stock was looked for."""
    note: str | None = None
    """Anything else in words; nothing personal."""
    at: datetime | None = None
    """When; None for now."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StepDone:
    """What came of a step."""

    standing: Standing
    """How the recall stands afterwards."""
    refused: tuple[str, ...] = ()
    """Why nothing was recorded; empty if it was."""


def start_recall(practice: Practice, what: str, *, reason: str, by: str, request_key: str | None = None) -> Standing:
    """Record a recall and keep back everything it reaches, in one step: the gate refuses it from then on.

    Args:
        practice: where.
        what: the cause, as for a trace.
        reason: why, in words.
        by: opaque staff id.
        request_key: asked twice with the same key, it is recorded once.

    Raises:
        InputError: nothing on record is called so, or no reason is given.
    """
    if not reason.strip():
        raise InputError(given="a recall without a reason", expected="the reason in words", remedy="say why")
    with practice.write(by=by) as unit:
        before = answered(unit, Recall, request_key, is_same=lambda one: _is_cause(practice, unit, one, what))
        if before is not None:
            return _standing(practice, unit, before)
        cause = find_cause(practice, unit, what)
        found = trace_cause(practice, unit, cause)
        value = Recall(
            number=unit.next_numbered(Series.RECALL),
            cause=cause.question,
            reason=reason.strip(),
            at=practice.now(),
            roots=found.roots,
            items=tuple(one.name for one in found.items),
            clients=found.clients,
            incidents=found.incidents,
        )
        unit.record(value, request_key=request_key)
        _keep_back(unit, value, (*found.forward.of_kind(*_HELD), *value.items))
        return _standing_of(unit, value, found)


def _is_cause(practice: Practice, ledger: Reading, recall: Recall, what: str) -> bool:
    """Say whether a recall has this cause; one that names nothing any more is told by its words."""
    return recall.cause == what.strip() or recall.cause == find_cause(practice, ledger, what).question


def _said(action: RecallAction) -> tuple[Name, RecallStep, Name | None, set[str]]:
    return action.recall, action.step, action.client, {one.text for one in action.items}


def _keep_back(unit: Writing, value: Recall, reached: Iterable[Name]) -> None:
    held = tuple(sorted(set(reached)))
    if not held:
        return
    cause = HoldCause.SPORE_GROWTH if value.cause.startswith("bi:") else HoldCause.RECALL
    reason = f"recall {value.number}: {value.reason}"
    unit.record(new_hold(unit, held, cause=cause, reason=reason, at=value.at, recall=value.as_name))


def find_recall(practice: Practice, number: str) -> Standing | None:
    """Return how a recall stands today; None if there is none of this number."""
    with practice.ledger.read() as ledger:
        found = ledger.find(Recall, number)
        return None if found is None else _standing(practice, ledger, found.value)


def clients_of(practice: Practice, ledger: Reading, recall: Recall) -> frozenset[Name]:
    """Return the clients that a recall reached when it was recorded, and those that its cause reaches today."""
    return frozenset(one.client for one in _standing(practice, ledger, recall).clients)


def take_step(practice: Practice, number: str, step: Step, *, by: str, request_key: str | None = None) -> StepDone:
    """Record what was done in a recall; destroyed items are recorded as destroyed, too.

    Calling a client unreachable without attempts on record, and closing a recall with open ends, are refused with
    every reason.

    Raises:
        InputError: the step lacks its client or its items, they are not on record, or its time is still to come.
        LedgerError: there is no such recall, or something was destroyed before.
    """
    _require_complete(step)
    at = practice.when(step.at)
    with practice.write(by=by, at=at) as unit:
        value = unit.require(Recall, number).value
        standing = _standing(practice, unit, value)
        client = None if step.client is None else Name(Kind.CLIENT, step.client)
        asked = (value.as_name, step.step, client, set(step.serials))
        before = answered(unit, RecallAction, request_key, is_same=lambda one: _said(one) == asked)
        if before is not None:
            return StepDone(standing=standing)
        refused = _reasons_against(step.step, client, standing)
        if refused:
            return StepDone(standing=standing, refused=refused)
        items = tuple(dict.fromkeys(_item_called(unit, serial) for serial in step.serials))
        action = RecallAction(
            recall=value.as_name, step=step.step, at=at, client=client, items=items, place=step.place, note=step.note
        )
        unit.record(action, request_key=request_key)
        if step.step is RecallStep.ITEM_DESTROYED:
            how = step.note or f"in recall {number}"
            for item in items:
                done = Destruction(item=item, what=Destroyed.WHOLE, at=at, how=how)
                unit.record(done, claims=[("destroyed", item)])
        return StepDone(standing=_standing(practice, unit, value))


def _require_complete(step: Step) -> None:
    lacks = None
    if step.step in _OF_CLIENTS and step.client is None:
        lacks = "a client's code"
    elif step.step is RecallStep.ITEM_DESTROYED and not step.serials:
        lacks = "at least one serial"
    elif step.step is RecallStep.NOTE and not step.note:
        lacks = "words"
    elif step.step in FILE_STEPS:
        lacks = "its file, which is noted where it is left"
    if lacks is not None:
        what = in_words(step.step)
        raise InputError(given=f"the step '{what}' without {lacks}", expected=lacks, remedy="give it")


def _reasons_against(step: RecallStep, client: Name | None, standing: Standing) -> tuple[str, ...]:
    if standing.is_closed and step is not RecallStep.NOTE:
        return ("the recall was closed; only notes are added",)
    if client is not None and step in _OF_CLIENTS:
        own = next((one for one in standing.clients if one.client == client), None)
        if own is None:
            return (f"{client} is not reached by this recall",)
        if step is RecallStep.CLIENT_UNREACHABLE:
            return reasons_not_to_give_up(own)
    return standing.reasons if step is RecallStep.CLOSED else ()


def _item_called(ledger: Reading, serial: str) -> Name:
    kinds = ledger.kinds_of_serial(serial)
    if not kinds:
        raise InputError(
            given=f"serial {serial!r}",
            expected="a bottle, a tube or a pouch on record",
            remedy="check it; what is found and not on record belongs into a note",
        )
    return Name(kinds[0], serial)


def _standing(practice: Practice, ledger: Reading, value: Recall) -> Standing:
    return _standing_of(ledger, value, trace_cause(practice, ledger, _cause_today(practice, ledger, value)))


def _standing_of(ledger: Reading, value: Recall, found: Trace) -> Standing:
    recorded = ledger.about(RecallAction, "recall", value.as_name)
    actions = tuple(sorted((one.value for one in recorded), key=lambda one: one.at))
    clients = tuple(sorted({*value.clients, *found.clients}))
    erased = ledger.erased_among([ledger.require_thing(one) for one in clients])
    gone = {ledger.name_of(one) for one in erased}
    stands = tuple(stand_of(one, actions, is_erased=one in gone) for one in clients)
    expected = [one.name for one in found.items if one.is_expected]
    now = (*(one.name for one in found.items), *found.clients, *found.incidents)
    holds = ledger.about(Hold, "recall", value.as_name)
    return Standing(
        recall=value,
        trace=found,
        clients=stands,
        stock=count_stock(expected, actions),
        reached_since=tuple(sorted(set(now) - {*value.items, *value.clients, *value.incidents})),
        actions=actions,
        is_held=any(not ledger.about(HoldLifted, "hold", one.value.as_name) for one in holds),
        reasons=reasons_to_stay_open(stands, counts_agree=found.completeness.holds),
    )


def _cause_today(practice: Practice, ledger: Reading, value: Recall) -> Cause:
    """Return what the cause stands for today: a growth's interval may have gone on since."""
    then = {ledger.require_thing(one): one.kind for one in value.roots}
    try:
        today = find_cause(practice, ledger, value.cause)
    except InputError:
        note = f"{value.cause} names nothing any more: what it stood for then is followed"
        return Cause(question=value.cause, roots=then, notes=(note,))
    return replace(today, roots={**then, **today.roots})
