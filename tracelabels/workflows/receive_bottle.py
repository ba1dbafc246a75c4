"""A bottle arrives, is opened, is used up or taken out of use."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from tracelabels.custody import Bottle, Expiry, Opening, Period, Product
from tracelabels.errors import InputError
from tracelabels.identifiers import IdentifierMode, LabelIdentity, compose_label
from tracelabels.workflows.practice import Practice, require_own_serial


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrival:
    """What came, as the bottles' own labels say."""

    product: Product
    """A pigment on record."""
    batch: str
    """The maker's batch."""
    expiry: Expiry | None = None
    """Expiry as printed, or None if the bottle states none."""
    period_after_opening: Period | None = None
    """Period after opening as printed, or None."""
    volume_ml: Decimal | None = None
    """Contents in millilitres."""
    received_on: date | None = None
    """The day; None for today."""
    opened_unknown: bool = False
    """The bottle is open already, and nobody knows since when."""
    count: int = 1
    """How many bottles of that batch."""


def receive_bottles(practice: Practice, arrival: Arrival, *, by: str) -> tuple[Bottle, ...]:
    """Record bottles that came, each with a serial of its own.

    Raises:
        InputError: no batch, a count below 1, or a date of receipt in the future.
        IdentifierError: the batch cannot stand in a code (characters, length).
        LedgerError: the pigment is not on record.
    """
    received = arrival.received_on or practice.today
    _require_sound(arrival, received, practice.today)
    with practice.write(by=by) as ledger:
        bottles = tuple(
            Bottle(
                serial=serial,
                product=arrival.product,
                batch=arrival.batch.strip(),
                received_on=received,
                expiry=arrival.expiry,
                opening=Opening(on=None) if arrival.opened_unknown else None,
                period_after_opening=arrival.period_after_opening,
                volume_ml=arrival.volume_ml,
            )
            for serial in ledger.next_serials(arrival.count)
        )
        for bottle in bottles:
            ledger.add_bottle(bottle)
    return bottles


def _require_sound(arrival: Arrival, received: date, today: date) -> None:
    if not arrival.batch.strip():
        raise InputError(
            given="an empty batch", expected="the maker's batch as on the bottle", remedy="look for LOT or BATCH on it"
        )
    # The batch will stand in (10) of every tube's code: what no code can carry is refused now, not at the print.
    compose_label(LabelIdentity(lot=arrival.batch.strip()), IdentifierMode.IN_HOUSE)
    if not 1 <= arrival.count <= 1000:  # noqa: PLR2004  a delivery, not a typing slip
        raise InputError(given=f"{arrival.count} bottles", expected="1 to 1000", remedy="correct the count")
    if received > today:
        raise InputError(
            given=f"received on {received.isoformat()}, after today ({today.isoformat()})",
            expected="today or a day before",
            remedy="correct the date",
        )


def open_bottle(practice: Practice, serial: str, *, by: str, on: date | None = None) -> Bottle:
    """Record that a bottle was opened, today unless another day is given, and return it.

    Raises:
        LedgerError: no such bottle, or it was opened before.
        InputError: the day lies before its receipt or after today.
    """
    day, serial = on or practice.today, require_own_serial(serial)
    with practice.write(by=by) as ledger:
        bottle = ledger.require_bottle(serial).value
        if not bottle.received_on <= day <= practice.today:
            raise InputError(
                given=f"opened on {day.isoformat()}",
                expected=f"a day from its receipt ({bottle.received_on.isoformat()}) to today",
                remedy="correct the date",
            )
        ledger.open_bottle(serial, on=day)
        return ledger.require_bottle(serial).value


def withdraw_bottle(practice: Practice, serial: str, *, by: str, reason: str) -> Bottle:
    """Record that a bottle is taken out of use from today, and return it.

    Raises:
        LedgerError: no such bottle, it was withdrawn before, or no reason is given.
    """
    serial = require_own_serial(serial)
    with practice.write(by=by) as ledger:
        ledger.withdraw_bottle(serial, on=practice.today, reason=reason)
        return ledger.require_bottle(serial).value
