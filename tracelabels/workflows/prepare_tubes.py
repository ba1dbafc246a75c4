"""Prepare tubes from bottles: empty ones that are filled at the chair (the default), or filled before processing."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Final

from tracelabels.custody import (
    Bottle,
    Component,
    Dating,
    Diluent,
    Kind,
    Name,
    Policy,
    Preparation,
    Reason,
    Tube,
    Variant,
    component_reasons,
    date_tube,
    history_reasons,
    hold_reasons,
    refusals_before_processing,
)
from tracelabels.errors import InputError
from tracelabels.records import Series, Writing
from tracelabels.workflows.chair_record import ChairReader
from tracelabels.workflows.practice import Practice, require_own_serial

MOST_TUBES: Final = 100_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One thing that goes in."""

    bottle: str | None = None
    """Serial of a bottle, or None for a diluent."""
    diluent: Diluent | None = None
    """A diluent, or None for a bottle."""
    amount_ml: Decimal | None = None
    """How much in millilitres, or None if not measured."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PreparationOrder:
    """What to prepare."""

    variant: Variant
    """Empty tubes, or filled before processing."""
    tubes: int
    """How many."""
    parts: tuple[Part, ...] = ()
    """What goes in; none for empty tubes."""
    size_ml: Decimal | None = None
    """Nominal size of a tube in millilitres."""
    fill_ml: Decimal | None = None
    """Millilitres in each tube; None for empty tubes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Prepared:
    """Tubes that were prepared, or the reasons why they may not be."""

    preparation: Preparation | None
    """The preparation as recorded; None if it was refused."""
    tubes: tuple[Tube, ...]
    """The tubes as recorded."""
    dating: Dating | None
    """How long they are good, with every cause."""
    refused: tuple[Reason, ...]
    """Every reason against it; nothing was recorded if there is one."""


def prepare_tubes(practice: Practice, order: PreparationOrder, *, by: str) -> Prepared:
    """Check every bottle and the variant's rules, then record the preparation and its tubes.

    What is kept back by a hold goes into nothing, however many bottles are mixed: lift the hold first.

    Raises:
        InputError: the order contradicts itself.
        LedgerError: a bottle is not on record.
    """
    _require_sound(order)
    policy = practice.settings.policy.as_policy()
    with practice.write(by=by) as ledger:
        components = tuple(component_of(ledger, part) for part in order.parts)
        reader = ChairReader(practice, ledger)
        refused = (*_refusals(practice, order, components, policy), *_out_of_reach(practice, reader, components))
        if refused:
            return Prepared(preparation=None, tubes=(), dating=None, refused=refused)
        _require_open(components, practice.today)
        preparation = Preparation(
            number=ledger.next_numbered(Series.PREPARATION),
            prepared_on=practice.today,
            prepared_by=by,
            variant=order.variant,
            components=components,
            tubes_made=order.tubes,
            fill_ml=order.fill_ml,
        )
        ledger.add_preparation(preparation)
        serials = ledger.next_serials(order.tubes)
        tubes = tuple(Tube(serial=serial, preparation=preparation.number, size_ml=order.size_ml) for serial in serials)
        ledger.add_tubes(tubes)
    return Prepared(preparation=preparation, tubes=tubes, dating=date_tube(preparation, policy), refused=())


def component_of(ledger: Writing, part: Part) -> Component:
    """Return what goes in as it is on record.

    Raises:
        InputError: the bottle's serial is none of ours.
        LedgerError: the bottle is not on record.
    """
    source = part.diluent or ledger.require_bottle(require_own_serial(str(part.bottle))).value
    return Component(source=source, amount_ml=part.amount_ml)


def _require_sound(order: PreparationOrder) -> None:
    if not 1 <= order.tubes <= MOST_TUBES:
        raise InputError(given=f"{order.tubes} tubes", expected=f"1 to {MOST_TUBES}", remedy="correct the count")
    filled = order.variant is Variant.FILLED_BEFORE
    if filled and not order.parts:
        raise InputError(
            given="filled tubes without a bottle", expected="at least one bottle", remedy="name it with --from SERIAL"
        )
    if filled and order.fill_ml is None:
        raise InputError(
            given="filled tubes without a fill volume",
            expected="the millilitres in each tube, which the liquid cycle is validated for",
            remedy="add it with --fill",
        )
    _require_room(order)
    if not filled and (order.parts or order.fill_ml is not None):
        raise InputError(
            given="empty tubes with something in them",
            expected="no bottle and no fill volume for empty tubes",
            remedy="leave them out (the tube is filled at the chair), or ask for --variant filled_before",
        )


def _refusals(
    practice: Practice, order: PreparationOrder, components: Iterable[Component], policy: Policy
) -> tuple[Reason, ...]:
    reasons = [reason for part in components for reason in component_reasons(part, policy, today=practice.today)]
    bottles = [part.source for part in components if isinstance(part.source, Bottle)]
    if order.variant is Variant.FILLED_BEFORE:
        reasons += refusals_before_processing([bottle.product for bottle in bottles], policy)
    return tuple(reasons)


def _out_of_reach(practice: Practice, reader: ChairReader, components: Iterable[Component]) -> Iterator[Reason]:
    """Give what the chair says of bottles too: kept back by a hold, destroyed, given away, lost."""
    for bottle in (part.source for part in components if isinstance(part.source, Bottle)):
        item = Name(Kind.BOTTLE, bottle.serial)
        held = hold_reasons(reader.processing.holds_on(item, bottle.product.as_name))
        past = history_reasons(item, reader.past(item), client=None, today=practice.today)
        for one in (*held, *past):
            yield Reason(kind=one.kind, sentence=f"bottle {bottle.serial} ({bottle.name}): {one.sentence}")


def _require_open(components: Iterable[Component], today: date) -> None:
    """Taking something out of a bottle opens it; its period after opening has to be counted from a day on record."""
    for bottle in (part.source for part in components if isinstance(part.source, Bottle)):
        if bottle.opening is None:
            raise InputError(
                given=f"bottle {bottle.serial} ({bottle.name}), which is not recorded as opened",
                expected="an open bottle",
                remedy="record its opening first with 'tracelabels open'",
            )
        if today < (bottle.opening.on or bottle.received_on):
            raise InputError(
                given=f"a preparation on {today.isoformat()} from bottle {bottle.serial}",
                expected="a day on or after its receipt and opening",
                remedy="correct --today, or the bottle's record",
            )


def _require_room(order: PreparationOrder) -> None:
    """A tube needs head space, and no more can come out than goes in."""
    fill = order.fill_ml
    if fill is None:
        return
    if order.size_ml is not None and fill >= order.size_ml:
        raise InputError(
            given=f"{fill} mL in a tube of {order.size_ml} mL",
            expected="less than the tube holds, with head space as the liquid cycle was validated",
            remedy="correct --fill or --size",
        )
    amounts = [part.amount_ml for part in order.parts if part.amount_ml is not None]
    if len(amounts) == len(order.parts) and sum(amounts) < fill * order.tubes:
        raise InputError(
            given=f"{fill * order.tubes} mL in {order.tubes} tubes from {sum(amounts)} mL",
            expected="no more than goes in",
            remedy="correct the amounts, the fill or the number of tubes",
        )
