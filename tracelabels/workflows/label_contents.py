"""What the label of a recorded tube or pouch says, from the facts as they are known today."""

from collections.abc import Sequence
from datetime import date

from tracelabels.custody import (
    Dating,
    LabelKind,
    Policy,
    Pouch,
    Preparation,
    Product,
    Tube,
    date_tube,
)
from tracelabels.errors import InputError, LedgerError
from tracelabels.identifiers import IdentifierMode, LabelIdentity
from tracelabels.labels import ContentLine, LabelContent, Layout, LotKind
from tracelabels.records import Reading
from tracelabels.workflows.practice import Practice


def surface_of(layout: Layout) -> LabelKind:
    """Return which surface a layout's labels are for."""
    return layout.surface


def content_of(practice: Practice, ledger: Reading, serial: str) -> LabelContent:
    """Return what the label of a tube or a pouch says.

    Raises:
        LedgerError: the serial is not on record.
        InputError: no use-by can be said, or the identifier mode needs a GTIN that settings do not name.
    """
    policy = practice.settings.policy.as_policy()
    tube = ledger.find_tube(serial)
    if tube is not None:
        preparation = _preparation_of(ledger, tube.value)
        return _tube_content(practice, tube.value, preparation, policy)
    pouch = ledger.find_pouch(serial)
    if pouch is not None:
        return _pouch_content(practice, ledger, pouch.value, policy)
    raise LedgerError(
        given=f"serial {serial}", expected="a tube or a pouch that is on record", remedy="check it, or prepare it first"
    )


def _preparation_of(ledger: Reading, tube: Tube) -> Preparation | None:
    found = ledger.find_preparation(tube.preparation) if tube.preparation is not None else None
    return found.value if found else None


def _tube_content(practice: Practice, tube: Tube, preparation: Preparation | None, policy: Policy) -> LabelContent:
    products = _products([preparation] if preparation else [])
    filled = preparation is not None and preparation.fill_ml is not None
    return LabelContent(
        identity=LabelIdentity(
            gtin=_gtin(practice, products),
            use_by=_earliest([_dating(preparation, policy)]) if preparation else None,
            prepared=preparation.prepared_on if preparation else None,
            lot=preparation.label_batch if preparation else None,
            serial=tube.serial,
        ),
        mode=practice.settings.identifier_mode,
        product=_names(products),
        item_number=products[0].item_number if len(products) == 1 else None,
        lot_kind=_lot_kind(preparation),
        volume=_volume(preparation, tube) if filled else None,
    )


def _pouch_content(practice: Practice, ledger: Reading, pouch: Pouch, policy: Policy) -> LabelContent:
    tubes = [found.value for serial in pouch.tubes if (found := ledger.find_tube(serial))]
    counted: dict[str, int] = {}
    preparations: dict[str, Preparation] = {}
    for tube in tubes:
        preparation = _preparation_of(ledger, tube)
        if preparation is not None:
            counted[preparation.number] = counted.get(preparation.number, 0) + 1
            preparations[preparation.number] = preparation
    single = next(iter(preparations.values())) if len(preparations) == 1 else None
    products = _products(list(preparations.values()))
    datings = [_dating(one, policy) for one in preparations.values()]
    return LabelContent(
        identity=LabelIdentity(
            gtin=_gtin(practice, products),
            use_by=_earliest(datings) if datings else None,
            prepared=single.prepared_on if single else pouch.sealed_on,
            lot=single.label_batch if single else None,
            serial=pouch.serial,
        ),
        mode=practice.settings.identifier_mode,
        product=_names(products),
        item_number=products[0].item_number if len(products) == 1 else None,
        lot_kind=_lot_kind(single),
        contents=_contents(pouch, tubes),
        lines=_lines(preparations, counted, policy, pouch),
    )


def _dating(preparation: Preparation, policy: Policy) -> Dating:
    dating = date_tube(preparation, policy)
    if dating.stops:
        raise InputError(
            given=f"preparation {preparation.number}: {dating.stops[0].sentence}",
            expected="a use-by that can be said",
            remedy="resolve it by policy in practice.toml, or correct the bottle's record",
        )
    return dating


def _earliest(datings: Sequence[Dating]) -> date | None:
    days = [dating.use_by.date for dating in datings if dating.use_by is not None]
    return min(days, default=None)


def _products(preparations: Sequence[Preparation]) -> list[Product]:
    return list(dict.fromkeys(bottle.product for one in preparations for bottle in one.bottles))


def _names(products: Sequence[Product]) -> str | None:
    return " + ".join(product.name for product in products) or None


def _lot_kind(preparation: Preparation | None) -> LotKind:
    own = preparation is not None and preparation.label_batch == preparation.number
    return LotKind.PREPARATION if own else LotKind.BATCH


def _volume(preparation: Preparation | None, tube: Tube) -> str | None:
    amount = preparation.fill_ml if preparation and preparation.fill_ml is not None else tube.size_ml
    return None if amount is None else f"{amount} mL"


def _contents(pouch: Pouch, tubes: Sequence[Tube]) -> str:
    sizes: dict[str, int] = {}
    for tube in tubes:
        size = f"tube {tube.size_ml} mL" if tube.size_ml is not None else "tube"
        sizes[size] = sizes.get(size, 0) + 1
    parts = [f"{count} x {size}" for size, count in sizes.items()]
    return ", ".join([*parts, *pouch.instruments])


def _lines(
    preparations: dict[str, Preparation], counted: dict[str, int], policy: Policy, pouch: Pouch
) -> tuple[ContentLine, ...]:
    entries = tuple(
        ContentLine(
            name=_names(_products([one])) or "empty tube",
            item_number=one.bottles[0].product.item_number if len(one.bottles) == 1 else None,
            lot=one.label_batch,
            lot_kind=_lot_kind(one),
            use_by=_earliest([_dating(one, policy)]),
            count=counted[number],
        )
        for number, one in preparations.items()
    )
    return entries + tuple(ContentLine(name=name) for name in pouch.instruments)


def _gtin(practice: Practice, products: Sequence[Product]) -> str | None:
    """Return the practice's own GTIN for what is in it; a bottle's GTIN is its maker's and is never used."""
    if practice.settings.identifier_mode is not IdentifierMode.GS1:
        return None
    items = [product.item_number for product in products]
    gtin = practice.settings.identifiers.gtins.get(items[0]) if len(items) == 1 else None
    if gtin is None:
        raise InputError(
            given=f"item {', '.join(items) or 'none'} in identifier mode 'gs1'",
            expected="one item with a GTIN of the practice's own in practice.toml, [identifiers.gtins]",
            remedy="allot one there, or set identifiers.mode = 'in_house'",
        )
    return gtin
