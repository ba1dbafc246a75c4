"""Enter lots of what is used up on the way: pouch material, tubes, indicators, spore tests, label stock, cartridges."""

from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Final

from tracelabels.custody import Consumable, ConsumableKind, ConsumablePeriod, Hold, HoldCause, Name
from tracelabels.errors import InputError
from tracelabels.sterilization import LEAST_D_MINUTES, LEAST_POPULATION, spore_times
from tracelabels.workflows.compare_indicator import require_photograph
from tracelabels.workflows.hold_stock import put_hold
from tracelabels.workflows.keep_evidence import keep_evidence, read_file
from tracelabels.workflows.practice import Practice

if TYPE_CHECKING:
    from tracelabels.records import Writing

__all__ = [
    "LotPictures",
    "enter_consumable",
    "spore_times",
    "use_consumable",
    "withdraw_consumable",
]

WITH_INDICATOR: Final = frozenset({ConsumableKind.INDICATORS, ConsumableKind.POUCH_MATERIAL})
"""Lots that are, or bear, a chemical indicator."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LotPictures:
    """Pictures by which an indicator of a lot is compared, as files."""

    reference: Path | None = None
    """The lot's own printed reference."""
    turned: Path | None = None
    """The practice's own picture of one that turned."""
    unturned: Path | None = None
    """The practice's own picture of one that has not."""


def enter_consumable(
    practice: Practice,
    consumable: Consumable,
    *,
    by: str,
    in_use_from: date | None = None,
    pictures: LotPictures | None = None,
) -> Consumable:
    """Record a lot, and from which day it is in use if that is known.

    Raises:
        InputError: it expired before it came into use, or a number or picture does not suit its kind.
        PictureError: a picture is broken.
        LedgerError: the lot is on record already.
    """
    _require_to_suit(consumable, pictures)
    first = in_use_from or practice.today
    if consumable.expiry is not None and consumable.expiry < first:
        raise InputError(
            given=f"{consumable.name}, which expired on {consumable.expiry.isoformat()}",
            expected=f"a lot that is good on {first.isoformat()}",
            remedy="put it away, or correct its date",
        )
    with practice.write(by=by) as ledger:
        if pictures is not None:
            consumable = replace(
                consumable,
                reference_picture=_kept(practice, ledger, pictures.reference),
                turned_picture=_kept(practice, ledger, pictures.turned),
                unturned_picture=_kept(practice, ledger, pictures.unturned),
            )
        ledger.record(consumable)
        if in_use_from is not None:
            ledger.record(ConsumablePeriod(consumable=consumable.name, from_day=in_use_from))
    return consumable


def _kept(practice: Practice, ledger: "Writing", file: Path | None) -> str | None:
    if file is None:
        return None
    content = read_file(file)
    require_photograph(content, name=file.name)
    return keep_evidence(practice, ledger, content, name=file.name).digest


def _require_to_suit(lot: Consumable, pictures: LotPictures | None) -> None:
    """Refuse what is not known of such a lot: types and pictures of indicators, certificates of spore tests."""
    is_spores, is_indicator = lot.kind is ConsumableKind.SPORE_TESTS, lot.kind in WITH_INDICATOR
    has_pictures = pictures is not None and any((pictures.reference, pictures.turned, pictures.unturned))
    if (lot.type_number is not None or has_pictures) and not is_indicator:
        raise InputError(
            given=f"a type or pictures of {lot.name}",
            expected="them of indicators, or of pouch material that bears one",
            remedy="leave them out",
        )
    if (lot.population is not None or lot.d_value_minutes is not None) and not is_spores:
        raise InputError(
            given=f"a population or D value of {lot.name}",
            expected="them of spore tests",
            remedy="leave them out",
        )
    if is_spores:
        spore_times(
            population=LEAST_POPULATION if lot.population is None else float(lot.population),
            d_minutes=LEAST_D_MINUTES if lot.d_value_minutes is None else float(lot.d_value_minutes),
        )


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
