"""Unload: every label is scanned again, and each pouch is looked at."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from tracelabels.custody import Kind, Load, LoadEnd, Name, PouchState, Reason, Unloaded, reason_not_ended
from tracelabels.errors import InputError, LedgerError
from tracelabels.records import Writing
from tracelabels.words import in_words
from tracelabels.workflows.practice import Practice, require_own_serial


@dataclass(frozen=True, slots=True, kw_only=True)
class CameOut:
    """One pouch as it came out."""

    serial: str
    """Its serial, scanned."""
    state: PouchState = PouchState.SOUND
    """Sound, wet, torn, its indicator not turned."""
    note: str | None = None
    """What was seen."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Unloading:
    """What was recorded, and what does not agree with the load."""

    recorded: tuple[Unloaded, ...]
    """Pouches recorded now."""
    rejected: tuple[Name, ...]
    """Those of them that are not sound, each rejected singly."""
    missing: tuple[Name, ...]
    """Pouches of the load that nobody has scanned out yet."""
    extra: tuple[str, ...]
    """Serials scanned that were never scanned into the load; nothing was recorded of them."""
    refused: tuple[Reason, ...]
    """Every reason against unloading; nothing was recorded if there is one."""


def unload(
    practice: Practice, number: str, pouches: Sequence[CameOut], *, by: str, at: datetime | None = None
) -> Unloading:
    """Record how each pouch of a load came out; what does not agree with the load is named.

    Raises:
        InputError: a serial is none of ours, one pouch comes in two states, or the time lies before the load's end.
        LedgerError: there is no such load, or a pouch was scanned out in another state before.
    """
    moment = practice.when(at)
    seen = _seen(pouches)
    with practice.write(by=by, at=moment) as ledger:
        load = ledger.require(Load, number).value
        ends = ledger.about(LoadEnd, "load", load.as_name)
        if not ends:
            refused = (reason_not_ended(load),)
            return Unloading(recorded=(), rejected=(), missing=load.pouches, extra=(), refused=refused)
        end = ends[-1].value.at
        practice.require_after(moment, end, what=f"unloading of load {number}", follows="the load's end")
        before = {one.value.pouch: one.value for one in ledger.about(Unloaded, "load", load.as_name)}
        known = {serial: one for serial, one in seen.items() if Name(Kind.POUCH, serial) in load.pouches}
        recorded = _record(ledger, load, known, before, moment)
    out = {*before, *(one.pouch for one in recorded)}
    return Unloading(
        recorded=recorded,
        rejected=tuple(one.pouch for one in recorded if one.state is not PouchState.SOUND),
        missing=tuple(name for name in load.pouches if name not in out),
        extra=tuple(serial for serial in seen if serial not in known),
        refused=(),
    )


def _seen(pouches: Sequence[CameOut]) -> dict[str, CameOut]:
    """Return each pouch by its serial; one scanned twice counts once, and never in two states."""
    seen: dict[str, CameOut] = {}
    for one in pouches:
        before = seen.setdefault(require_own_serial(one.serial), one)
        if before.state is not one.state:
            raise InputError(
                given=f"pouch {one.serial} as {in_words(before.state)} and as {in_words(one.state)}",
                expected="one state for each pouch",
                remedy="look at it again",
            )
    return seen


def _record(
    ledger: Writing, load: Load, known: dict[str, CameOut], before: dict[Name, Unloaded], at: datetime
) -> tuple[Unloaded, ...]:
    recorded = []
    for serial, one in known.items():
        name = Name(Kind.POUCH, serial)
        earlier = before.get(name)
        if earlier is not None:
            _require_same(serial, earlier, one)
            continue
        value = Unloaded(load=load.as_name, pouch=name, state=one.state, at=at, note=one.note)
        ledger.record(value)
        recorded.append(value)
    return tuple(recorded)


def _require_same(serial: str, earlier: Unloaded, now: CameOut) -> None:
    if earlier.state is not now.state:
        raise LedgerError(
            given=f"pouch {serial} {now.state.value}, scanned out as {earlier.state.value} before",
            expected="one state for each pouch",
            remedy="correct what was recorded, with the reason, if it was wrong",
        )
