"""Chemical indicators read at unloading: they show exposure, not sterility."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING

from tracelabels.custody import (
    IndicatorPlace,
    IndicatorReading,
    IndicatorResult,
    Kind,
    Load,
    LoadEnd,
    Name,
    Reason,
    ReasonKind,
    Stage,
    reason_not_ended,
)
from tracelabels.errors import InputError, TracelabelsError
from tracelabels.sterilization import FOR_PACKS, IN_WORDS, IndicatorType
from tracelabels.words import in_words
from tracelabels.workflows.compare_indicator import compare_indicator, require_photograph
from tracelabels.workflows.keep_evidence import keep_evidence
from tracelabels.workflows.practice import Practice, require_own_serial

if TYPE_CHECKING:
    from tracelabels.records import Writing


@dataclass(frozen=True, slots=True, kw_only=True)
class IndicatorPicture:
    """A photograph: the indicator in the middle, white paper round it."""

    name: str
    """Name of the file."""
    content: bytes
    """What is in it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class IndicatorSeen:
    """One indicator, compared with its lot's own printed reference."""

    pouch: str | None
    """Serial of its pouch; None for one that stands for the whole load."""
    place: IndicatorPlace
    """Where it sat."""
    result: IndicatorResult
    """What it showed."""
    type_number: int | None = None
    """Its type after ISO 11140-1, 1 to 6; the types are no ranking."""
    lot: str | None = None
    """Its lot."""
    picture: IndicatorPicture | None = None
    """A photograph of it; kept, and compared with its lot's pictures where the lot has some."""


@dataclass(frozen=True, slots=True, kw_only=True)
class IndicatorsRead:
    """Indicators that were recorded, or the reasons why they were not."""

    recorded: tuple[IndicatorReading, ...]
    """As recorded."""
    refused: tuple[Reason, ...]
    """Every reason against it; nothing was recorded if there is one."""


def read_indicators(
    practice: Practice, number: str, seen: Sequence[IndicatorSeen], *, by: str, at: datetime | None = None
) -> IndicatorsRead:
    """Record the indicators of a load, all of them or none.

    Raises:
        InputError: none is given, a type is not 1 to 6, a place does not fit, or the time lies before the load's end.
        LedgerError: there is no such load.
    """
    _require_sound(seen)
    moment = practice.when(at)
    with practice.write(by=by, at=moment) as ledger:
        load = ledger.require(Load, number).value
        ends = ledger.about(LoadEnd, "load", load.as_name)
        refused = _reasons(load, seen, has_ended=bool(ends))
        if refused:
            return IndicatorsRead(recorded=(), refused=refused)
        end = ends[-1].value.at
        practice.require_after(moment, end, what=f"indicators of load {number} read", follows="the load's end")
        recorded = tuple(_with_picture(practice, ledger, one, _reading(load, one, moment)) for one in seen)
        for value in recorded:
            ledger.record(value)
    return IndicatorsRead(recorded=recorded, refused=())


def _reading(load: Load, one: IndicatorSeen, at: datetime) -> IndicatorReading:
    return IndicatorReading(
        load=load.as_name,
        pouch=None if one.pouch is None else Name(Kind.POUCH, require_own_serial(one.pouch)),
        place=one.place,
        result=one.result,
        stage=Stage.UNLOADING,
        at=at,
        type_number=one.type_number,
        lot=one.lot,
    )


def _with_picture(
    practice: Practice, ledger: "Writing", one: IndicatorSeen, reading: IndicatorReading
) -> IndicatorReading:
    """Keep an indicator's photograph, and say beside the reading what comparing it says."""
    if one.picture is None:
        return reading
    picture = one.picture
    kept = keep_evidence(practice, ledger, picture.content, name=picture.name, about=reading.pouch or reading.load)
    return replace(reading, evidence=kept.digest, compared=_compared(practice, ledger, one, picture))


def _compared(practice: Practice, ledger: "Writing", one: IndicatorSeen, picture: IndicatorPicture) -> str:
    if one.lot is None:
        return "not compared: nobody entered its lot"
    try:
        done = compare_indicator(practice, ledger, picture.content, name=picture.name, lot=one.lot)
    except TracelabelsError as problem:
        return f"not compared: {problem.given}"
    return f"{done.sentence}; a help to the eye, not the decision"


def _require_sound(seen: Sequence[IndicatorSeen]) -> None:
    if not seen:
        raise InputError(given="no indicator", expected="at least one", remedy="name pouches, or the load's own")
    results: dict[tuple[str | None, IndicatorPlace], IndicatorResult] = {}
    for one in seen:
        _require_type(one)
        serial = None if one.pouch is None else require_own_serial(one.pouch)
        if results.setdefault((serial, one.place), one.result) is not one.result:
            raise InputError(
                given=f"the indicator of {one.pouch or 'the load'} as {in_words(results[serial, one.place])} and as "
                f"{in_words(one.result)}",
                expected="one result for each indicator",
                remedy="look at it again",
            )
        if one.picture is not None:
            require_photograph(one.picture.content, name=one.picture.name)
        if (one.pouch is None) != (one.place is IndicatorPlace.IN_LOAD):
            raise InputError(
                given="an indicator of a pouch in a place of the load's own"
                if one.pouch
                else "an indicator of no pouch",
                expected="outside or inside for a pouch's, in_load for one that stands for the whole load",
                remedy="correct the place, or name the pouch",
            )


def _require_type(one: IndicatorSeen) -> None:
    if one.type_number is not None and one.type_number not in set(IndicatorType):
        raise InputError(
            given=f"an indicator of type {one.type_number}",
            expected="a type from 1 to 6 (ISO 11140-1)",
            remedy="read it from the indicator's box",
        )
    if one.pouch is not None and one.type_number is not None and one.type_number not in FOR_PACKS:
        raise InputError(
            given=f"an indicator of type {one.type_number} in pouch {one.pouch}",
            expected=f"one that speaks for a pack; this type is {IN_WORDS[IndicatorType(one.type_number)]}",
            remedy="enter the day's test with 'tracelabels steriliser-day', and the pouch's own indicator here",
        )


def _reasons(load: Load, seen: Sequence[IndicatorSeen], *, has_ended: bool) -> tuple[Reason, ...]:
    reasons = [] if has_ended else [reason_not_ended(load)]
    for one in seen:
        if one.pouch is not None and Name(Kind.POUCH, require_own_serial(one.pouch)) not in load.pouches:
            sentence = f"pouch {one.pouch} is not in load {load.number}"
            reasons.append(Reason(kind=ReasonKind.NOT_IN_LOAD, sentence=sentence))
    return tuple(reasons)


def pouches_of(practice: Practice, number: str) -> tuple[str, ...]:
    """Return the serials of the pouches in a load.

    Raises:
        LedgerError: there is no such load.
    """
    with practice.ledger.read() as ledger:
        return tuple(pouch.text for pouch in ledger.require(Load, number).value.pouches)
