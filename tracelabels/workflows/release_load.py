"""Decide about a load: release it, reject it, or keep it in quarantine."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime

from tracelabels.custody import (
    Decision,
    IndicatorReading,
    Kind,
    Load,
    LoadAtRelease,
    LoadReadings,
    Name,
    Reason,
    ReasonKind,
    Release,
    ReleasePolicy,
    Unloaded,
    excepted_pouches,
    is_early,
    release_reasons,
)
from tracelabels.errors import InputError
from tracelabels.records import Reading, Writing
from tracelabels.settings import SterilisationSection
from tracelabels.workflows.practice import Practice, require_own_serial
from tracelabels.workflows.processing_record import ProcessingReader
from tracelabels.workflows.request_keys import answered


@dataclass(frozen=True, slots=True, kw_only=True)
class DecisionOrder:
    """What is decided."""

    decision: Decision
    """Released, rejected or quarantine."""
    second: str | None = None
    """Opaque staff id of the second person."""
    reasons: tuple[str, ...] = ()
    """Why, in words; needed unless it is released."""
    excepted: tuple[str, ...] = ()
    """Serials of pouches to leave out besides those that came out unsound."""
    at: datetime | None = None
    """When; None for now."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Decided:
    """A decision that was recorded, or the reasons why it was not."""

    release: Release | None
    """As recorded; None if it was refused."""
    refused: tuple[Reason, ...]
    """Every reason against it; nothing was recorded if there is one."""
    left_out: tuple[tuple[Name, str], ...]
    """Pouches that it does not release, each with the reason."""


def decide_load(
    practice: Practice, number: str, order: DecisionOrder, *, by: str, request_key: str | None = None
) -> Decided:
    """Record a decision about a load; the latest one counts.

    A release asks every rule; a rejection or quarantine needs only its reason, and may be entered at any time.

    Raises:
        InputError: no reason is given for a rejection or quarantine, or the time lies before the load.
        LedgerError: there is no such load.
    """
    _require_sound(order)
    moment = practice.when(order.at)
    with practice.write(by=by, at=moment) as ledger:
        load = ledger.require(Load, number).value
        before = answered(ledger, Release, request_key, is_same=lambda one: _is_same(one, load, order))
        if before is not None:
            left_out = tuple((pouch, "left out") for pouch in before.excepted)
            return Decided(release=before, refused=(), left_out=left_out)
        known = load_at_release(practice, ledger, load)
        _require_after(practice, known, order.decision, moment)
        chosen, unknown = _chosen(load, order.excepted)
        refused = (*unknown, *_against(practice, known, order, by=by))
        left_out = tuple({**excepted_pouches(known), **chosen}.items())
        if refused:
            return Decided(release=None, refused=refused, left_out=left_out)
        release = _record(ledger, known, order, left_out, moment, request_key)
    return Decided(release=release, refused=(), left_out=left_out)


def _is_same(release: Release, load: Load, order: DecisionOrder) -> bool:
    """Say whether a decision is about this load, the same, and leaves out at least what is asked for."""
    chosen = {require_own_serial(serial) for serial in order.excepted}
    is_left_out = order.decision is not Decision.RELEASED or chosen <= {one.text for one in release.excepted}
    return is_left_out and (release.load, release.decision) == (load.as_name, order.decision)


def _require_after(practice: Practice, known: LoadAtRelease, decision: Decision, moment: datetime) -> None:
    """Nothing is decided before the load started, and it is not released before it ended."""
    what, load = f"a decision about load {known.load.number}", known.load
    practice.require_after(moment, load.started_at, what=what, follows="the load's start")
    if known.end is not None and decision is Decision.RELEASED:
        practice.require_after(moment, known.end.at, what=what, follows="the load's end")


def _require_sound(order: DecisionOrder) -> None:
    if order.decision is not Decision.RELEASED and not order.reasons:
        raise InputError(
            given=f"{order.decision.value} without a reason",
            expected="the reason in words",
            remedy="add --reason",
        )


def _against(practice: Practice, known: LoadAtRelease, order: DecisionOrder, *, by: str) -> tuple[Reason, ...]:
    if order.decision is not Decision.RELEASED:
        return ()
    return release_reasons(known, release_policy(practice.settings.sterilisation), by=by, second=order.second)


def release_policy(section: SterilisationSection) -> ReleasePolicy:
    """Return the practice's rules for releases."""
    return ReleasePolicy(
        needs_second=section.second_person_for_release,
        early_release=section.early_release,
        who=frozenset(section.who_may_release),
    )


def load_at_release(practice: Practice, ledger: Reading, load: Load) -> LoadAtRelease:
    """Collect what is known of a load when a decision about it is to be made."""
    reader = ProcessingReader(ledger, practice.settings.spore_policy)
    held = [pouch for pouch in load.pouches if reader.holds_on(*reader.origins_of_serial(pouch.text))]
    return LoadAtRelease(
        load=load,
        end=reader.end_of(load),
        readings=reader.of_load(LoadReadings, load),
        unloaded=reader.of_load(Unloaded, load),
        indicators=reader.of_load(IndicatorReading, load),
        evidence=reader.evidence_of(load),
        holds=reader.holds_on(*reader.went_with(load)),
        held=frozenset(held),
        release=reader.release_of(load),
    )


def _chosen(load: Load, serials: Iterable[str]) -> tuple[dict[Name, str], tuple[Reason, ...]]:
    """Return the pouches that somebody leaves out, and what is wrong with the choice."""
    names = [Name(Kind.POUCH, require_own_serial(serial)) for serial in serials]
    unknown = tuple(
        Reason(kind=ReasonKind.NOT_IN_LOAD, sentence=f"{name} is not in load {load.number}")
        for name in names
        if name not in load.pouches
    )
    return {name: "left out by name" for name in names if name in load.pouches}, unknown


def _record(
    ledger: Writing,
    known: LoadAtRelease,
    order: DecisionOrder,
    left_out: tuple[tuple[Name, str], ...],
    at: datetime,
    request_key: str | None,
) -> Release:
    release = Release(
        load=known.load.as_name,
        decision=order.decision,
        at=at,
        second=order.second,
        is_early=order.decision is Decision.RELEASED and is_early(known),
        reasons=order.reasons,
    )
    if order.decision is Decision.RELEASED:
        release = replace(release, excepted=tuple(pouch for pouch, _ in left_out))
    ledger.record(release, request_key=request_key)
    return release
