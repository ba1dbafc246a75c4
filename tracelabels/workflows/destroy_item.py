"""Destroy a thing, or what was left of it after use."""

from dataclasses import dataclass
from datetime import datetime

from tracelabels.custody import Destroyed, Destruction, Kind, Name
from tracelabels.errors import InputError, LedgerError
from tracelabels.records import Reading
from tracelabels.workflows.practice import Practice, require_own_serial
from tracelabels.workflows.request_keys import answered


@dataclass(frozen=True, slots=True, kw_only=True)
class DestructionOrder:
    """What is destroyed, and how."""

    serial: str
    """Serial of a bottle, a tube or a pouch."""
    what: Destroyed
    """All of it, or the remainder."""
    how: str
    """How, in words."""
    at: datetime | None = None
    """When; None for now."""


def destroy_item(
    practice: Practice, order: DestructionOrder, *, by: str, request_key: str | None = None
) -> Destruction:
    """Record that a thing, or its remainder, was destroyed.

    Raises:
        InputError: nothing is said of how, or the time is still to come.
        LedgerError: the thing is not on record, or was destroyed before.
    """
    if not order.how.strip():
        raise InputError(given="a destruction without its manner", expected="how, in words", remedy="write it")
    at = practice.when(order.at)
    with practice.write(by=by, at=at) as ledger:
        item = thing_with_serial(ledger, order.serial)
        before = answered(
            ledger, Destruction, request_key, is_same=lambda one: (one.item, one.what) == (item, order.what)
        )
        if before is not None:
            return before
        done = Destruction(item=item, what=order.what, at=at, how=order.how.strip())
        ledger.record(done, request_key=request_key, claims=[("destroyed", item)])
    return done


def thing_with_serial(ledger: Reading, text: str) -> Name:
    """Return the bottle, tube or pouch that bears a serial.

    Raises:
        InputError: it is no serial of ours.
        LedgerError: there is none.
    """
    serial = require_own_serial(text)
    kinds = ledger.kinds_of_serial(serial)
    if not kinds:
        raise LedgerError(
            given=f"serial {serial}",
            expected="a bottle, a tube or a pouch that is on record",
            remedy="check it, or record the thing first",
        )
    return Name(kinds[0], serial)


def named_thing(ledger: Reading, text: str) -> Name:
    """Return what is named by a serial, or a lot of a consumable named as ``kind/lot``.

    Raises:
        InputError: it is no serial of ours.
        LedgerError: there is none.
    """
    if "/" not in text:
        return thing_with_serial(ledger, text)
    name = Name(Kind.CONSUMABLE, text.strip())
    ledger.require_thing(name)
    return name
