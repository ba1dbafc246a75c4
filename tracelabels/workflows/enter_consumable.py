"""Enter lots of what is used up on the way: pouch material, tubes, indicators, spore tests, label stock, cartridges."""

from datetime import date, datetime

from tracelabels.custody import Consumable, ConsumablePeriod, Hold, HoldCause, Name
from tracelabels.errors import InputError
from tracelabels.workflows.hold_stock import put_hold
from tracelabels.workflows.practice import Practice


def enter_consumable(
    practice: Practice, consumable: Consumable, *, by: str, in_use_from: date | None = None
) -> Consumable:
    """Record a lot, and from which day it is in use if that is known.

    Raises:
        InputError: it expired before it came into use.
        LedgerError: the lot is on record already.
    """
    first = in_use_from or practice.today
    if consumable.expiry is not None and consumable.expiry < first:
        raise InputError(
            given=f"{consumable.name}, which expired on {consumable.expiry.isoformat()}",
            expected=f"a lot that is good on {first.isoformat()}",
            remedy="put it away, or correct its date",
        )
    with practice.write(by=by) as ledger:
        ledger.record(consumable)
        if in_use_from is not None:
            ledger.record(ConsumablePeriod(consumable=consumable.name, from_day=in_use_from))
    return consumable


def use_consumable(
    practice: Practice, name: Name, *, by: str, from_day: date, to_day: date | None = None
) -> ConsumablePeriod:
    """Record from which day to which a lot was in use.

    Raises:
        InputError: the last day lies before the first.
        LedgerError: the lot is not on record.
    """
    if to_day is not None and to_day < from_day:
        raise InputError(
            given=f"in use from {from_day.isoformat()} to {to_day.isoformat()}",
            expected="a last day on or after the first",
            remedy="correct the dates",
        )
    period = ConsumablePeriod(consumable=name, from_day=from_day, to_day=to_day)
    with practice.write(by=by) as ledger:
        ledger.record(period)
    return period


def withdraw_consumable(practice: Practice, name: Name, *, by: str, reason: str, at: datetime | None = None) -> Hold:
    """Take a lot out of use: whatever comes from it, or went with it, is STOP from now on.

    Raises:
        InputError: no reason is given.
        LedgerError: the lot is not on record.
    """
    return put_hold(practice, (name,), by=by, cause=HoldCause.QUARANTINE, reason=f"withdrawn: {reason}", at=at)
