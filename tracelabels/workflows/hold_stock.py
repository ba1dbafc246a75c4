"""Keep things back at once, and lift it again: bottles, preparations, tubes, pouches, loads, lots, print runs."""

from collections.abc import Iterable, Iterator
from datetime import datetime
from typing import Final

from tracelabels.custody import Hold, HoldCause, HoldLifted, Kind, Name
from tracelabels.errors import InputError, LedgerError
from tracelabels.records import Reading, Series, Writing
from tracelabels.workflows.practice import Practice
from tracelabels.workflows.request_keys import answered

_PREFIXES: Final = {
    "bottle": Kind.BOTTLE,
    "preparation": Kind.PREPARATION,
    "tube": Kind.TUBE,
    "pouch": Kind.POUCH,
    "load": Kind.LOAD,
    "consumable": Kind.CONSUMABLE,
    "printrun": Kind.PRINT_RUN,
    "steriliser": Kind.STERILISER,
    "product": Kind.PRODUCT,
}


def things_named(ledger: Reading, text: str) -> tuple[Name, ...]:
    """Return the things that a text names: ``load:L01-0001``, ``lot:MAKER/BATCH``, ``serial:...``, or a bare number.

    Raises:
        InputError: nothing on record bears it, or several kinds of thing do.
    """
    prefix, colon, rest = text.strip().partition(":")
    wanted = rest.strip() if colon else text.strip()
    if colon and prefix == "lot":
        found = tuple(_bottles_of(ledger, wanted))
    elif colon and prefix in _PREFIXES:
        found = tuple(_on_record(ledger, wanted, (_PREFIXES[prefix],)))
    else:
        found = tuple(_on_record(ledger, wanted, (Kind.TUBE, Kind.POUCH, Kind.BOTTLE, Kind.LOAD)))
        found += tuple(_on_record(ledger, wanted, (Kind.PREPARATION, Kind.PRINT_RUN)))
    if not found or (len(found) > 1 and prefix != "lot"):
        named = ", ".join(map(str, found)) or "nothing on record"
        raise InputError(
            given=f"{text!r} ({named})",
            expected="one thing on record, such as load:L01-0001, pouch:SERIAL, lot:MAKER/BATCH, consumable:KIND/LOT",
            remedy="write its kind before it, with a colon",
        )
    return found


def find_things(practice: Practice, texts: Iterable[str]) -> tuple[Name, ...]:
    """Return the things that several texts name, each once; see :func:`things_named`."""
    with practice.ledger.read() as ledger:
        return tuple(dict.fromkeys(name for text in texts for name in things_named(ledger, text)))


def put_hold(
    practice: Practice,
    items: Iterable[Name],
    *,
    by: str,
    reason: str,
    cause: HoldCause = HoldCause.QUARANTINE,
    at: datetime | None = None,
    request_key: str | None = None,
) -> Hold:
    """Keep things back from now on; the chair stops whatever comes from them, or was processed with them.

    Raises:
        InputError: nothing is named, or no reason is given.
        LedgerError: a thing is not on record.
    """
    moment = practice.when(at)
    with practice.write(by=by, at=moment) as ledger:
        held = tuple(dict.fromkeys(items))
        before = answered(ledger, Hold, request_key, is_same=lambda one: set(held) == set(one.items))
        if before is not None:
            return before
        hold = new_hold(ledger, held, cause=cause, reason=reason, at=moment)
        ledger.record(hold, request_key=request_key)
    return hold


def new_hold(
    ledger: Writing,
    items: tuple[Name, ...],
    *,
    cause: HoldCause,
    reason: str,
    at: datetime,
    recall: Name | None = None,
) -> Hold:
    """Return a hold with a number of its own, to be recorded in an open unit."""
    if not items or not reason.strip():
        raise InputError(
            given="a hold without a reason" if items else "a hold on nothing",
            expected="the things to keep back, and why",
            remedy="name them, and say why",
        )
    return Hold(
        number=ledger.next_numbered(Series.HOLD), cause=cause, at=at, items=items, reason=reason.strip(), recall=recall
    )


def lift_hold(practice: Practice, number: str, *, by: str, reason: str, at: datetime | None = None) -> HoldLifted:
    """Lift a hold.

    Raises:
        InputError: no reason is given.
        LedgerError: there is no such hold, or it was lifted before.
    """
    if not reason.strip():
        raise InputError(given="a hold lifted without a reason", expected="why it is lifted", remedy="say it")
    moment = practice.when(at)
    with practice.write(by=by, at=moment) as ledger:
        hold = ledger.require(Hold, number).value
        if ledger.about(HoldLifted, "hold", hold.as_name):
            raise LedgerError(
                given=f"hold {number}, which was lifted before",
                expected="a hold that still stands",
                remedy="put another hold on, if the things shall be kept back again",
            )
        lifted = HoldLifted(hold=hold.as_name, at=moment, reason=reason.strip())
        ledger.record(lifted)
    return lifted


def _on_record(ledger: Reading, text: str, kinds: Iterable[Kind]) -> Iterator[Name]:
    for kind in kinds:
        if kind in {Kind.CONSUMABLE, Kind.PRODUCT} and "/" not in text:
            continue
        if ledger.find_thing(Name(kind, text)) is not None:
            yield Name(kind, text)


def _bottles_of(ledger: Reading, text: str) -> Iterator[Name]:
    """Give the bottles of a maker's batch; without a maker, of whoever has such a batch."""
    maker, slash, batch = text.rpartition("/")
    for bottle in ledger.bottles(batch=batch):
        if not slash or bottle.value.product.maker == maker:
            yield Name(Kind.BOTTLE, bottle.value.serial)
