"""Between values and rows: how each thing is laid down in its table and read back."""

import json
from collections.abc import Sequence
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

from sqlalchemy import RowMapping

from tracelabels.custody import (
    Bottle,
    Carrier,
    Component,
    Diluent,
    Expiry,
    ExpiryPrecision,
    LabelKind,
    Opening,
    Period,
    PeriodUnit,
    Pouch,
    PouchKind,
    Preparation,
    PrintedLabel,
    PrintRun,
    Product,
    Tube,
    Variant,
)
from tracelabels.records.facts import Fact, FactId, FactKind, StaffMember

Row = RowMapping
NewRow = dict[str, Any]


def instant_text(moment: datetime) -> str:
    """Write a moment in UTC to the microsecond; such texts sort as the moments do.

    >>> instant_text(datetime(2027, 1, 2, 3, 4, 5, tzinfo=UTC))
    '2027-01-02T03:04:05.000000Z'
    """
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ")


def named(name: str, thing: FactId | None) -> NewRow:
    """Return the two columns that name a thing."""
    if thing is None:
        return {f"{name}_site": None, f"{name}_sequence": None}
    return {f"{name}_site": thing.site, f"{name}_sequence": thing.sequence}


def thing_named(name: str, row: Row | NewRow) -> FactId | None:
    """Read the two columns that name a thing."""
    site, sequence = row[f"{name}_site"], row[f"{name}_sequence"]
    return None if site is None else FactId(site=site, sequence=sequence)


def require_named(name: str, row: Row) -> FactId:
    """Read the two columns that name a thing, where they are never empty."""
    return FactId(site=row[f"{name}_site"], sequence=row[f"{name}_sequence"])


def require_key(row: Row) -> FactId:
    """Read which fact wrote a row."""
    return FactId(site=row["site"], sequence=row["sequence"])


def fact_from(row: Row) -> Fact:
    """Read a fact."""
    return Fact(
        id=require_key(row),
        kind=FactKind(row["kind"]),
        thing=require_named("thing", row),
        version=row["version"],
        recorded_at=datetime.fromisoformat(row["recorded_at"]),
        happened_at=datetime.fromisoformat(row["happened_at"]),
        by=row["recorded_by"],
        corrects=thing_named("corrects", row),
        reason=row["reason"],
    )


def product_row(product: Product) -> NewRow:
    """Lay a product down."""
    return {
        "maker": product.maker,
        "item_number": product.item_number,
        "name": product.name,
        "carrier": product.carrier.value,
        "gtin": product.gtin,
        "swatch": product.swatch,
        "resterilising_statement": product.resterilising_statement,
    }


def product_from(row: Row) -> Product:
    """Read a product."""
    return Product(
        maker=row["maker"],
        item_number=row["item_number"],
        name=row["name"],
        carrier=Carrier(row["carrier"]),
        gtin=row["gtin"],
        swatch=row["swatch"],
        resterilising_statement=row["resterilising_statement"],
    )


def bottle_row(bottle: Bottle, product: FactId) -> NewRow:
    """Lay a bottle down, without what happened to it later."""
    after = bottle.period_after_opening
    return {
        "serial": bottle.serial,
        **named("product", product),
        "batch": bottle.batch,
        "received_on": bottle.received_on,
        "expiry": None if bottle.expiry is None else bottle.expiry.last_day,
        "expiry_precision": None if bottle.expiry is None else bottle.expiry.precision.value,
        "after_opening_count": None if after is None else after.count,
        "after_opening_unit": None if after is None else after.unit.value,
        "volume_ml": _amount_text(bottle.volume_ml),
    }


def bottle_from(row: Row, product: Product, events: Sequence[tuple[FactKind, date | None]]) -> Bottle:
    """Read a bottle, with what happened to it later as (kind, day)."""
    unit = row["after_opening_unit"]
    opened = [day for kind, day in events if kind is FactKind.BOTTLE_OPENED]
    return Bottle(
        serial=row["serial"],
        product=product,
        batch=row["batch"],
        received_on=row["received_on"],
        expiry=None
        if row["expiry"] is None
        else Expiry(last_day=row["expiry"], precision=ExpiryPrecision(row["expiry_precision"])),
        opening=Opening(on=_earliest_known(opened)) if opened else None,
        period_after_opening=None if unit is None else Period(count=row["after_opening_count"], unit=PeriodUnit(unit)),
        volume_ml=_amount(row["volume_ml"]),
        finished_on=_earliest_known([day for kind, day in events if kind is FactKind.BOTTLE_FINISHED]),
        withdrawn_on=_earliest_known([day for kind, day in events if kind is FactKind.BOTTLE_WITHDRAWN]),
    )


def _earliest_known(days: Sequence[date | None]) -> date | None:
    """Return the earliest day; one unknown day makes the answer unknown."""
    known = [day for day in days if day is not None]
    return min(known) if known and len(known) == len(days) else None


def preparation_row(preparation: Preparation) -> NewRow:
    """Lay a preparation down, without its components."""
    return {
        "number": preparation.number,
        "prepared_on": preparation.prepared_on,
        "prepared_by": preparation.prepared_by,
        "variant": preparation.variant.value,
        "tubes_made": preparation.tubes_made,
        "fill_ml": _amount_text(preparation.fill_ml),
    }


def preparation_from(row: Row, components: tuple[Component, ...]) -> Preparation:
    """Read a preparation."""
    return Preparation(
        number=row["number"],
        prepared_on=row["prepared_on"],
        prepared_by=row["prepared_by"],
        variant=Variant(row["variant"]),
        components=components,
        tubes_made=row["tubes_made"],
        fill_ml=_amount(row["fill_ml"]),
    )


def component_row(component: Component, bottle: FactId | None) -> NewRow:
    """Lay a component down: of a bottle, or of a diluent."""
    diluent = component.source if isinstance(component.source, Diluent) else None
    return {
        **named("bottle", bottle),
        "diluent_name": None if diluent is None else diluent.name,
        "diluent_batch": None if diluent is None else diluent.batch,
        "diluent_expiry": None if diluent is None else diluent.expiry,
        "amount_ml": _amount_text(component.amount_ml),
    }


def component_from(row: Row, bottle: Bottle | None) -> Component:
    """Read a component."""
    diluent = Diluent(
        name=row["diluent_name"] or "",
        batch=row["diluent_batch"] or "",
        expiry=row["diluent_expiry"],
    )
    return Component(source=diluent if bottle is None else bottle, amount_ml=_amount(row["amount_ml"]))


def tube_row(tube: Tube, preparation: FactId | None) -> NewRow:
    """Lay a tube down."""
    return {
        "serial": tube.serial,
        **named("preparation", preparation),
        "size_ml": _amount_text(tube.size_ml),
        "lot": tube.lot,
    }


def tube_from(row: Row, preparation: str | None) -> Tube:
    """Read a tube."""
    return Tube(serial=row["serial"], preparation=preparation, size_ml=_amount(row["size_ml"]), lot=row["lot"])


def pouch_row(pouch: Pouch) -> NewRow:
    """Lay a pouch down, without its contents."""
    return {
        "serial": pouch.serial,
        "kind": pouch.kind.value,
        "material_lot": pouch.material_lot,
        "sealed_by": pouch.sealed_by,
        "sealed_on": pouch.sealed_on,
    }


def pouch_from(row: Row, tubes: tuple[str, ...], instruments: tuple[str, ...]) -> Pouch:
    """Read a pouch."""
    return Pouch(
        serial=row["serial"],
        kind=PouchKind(row["kind"]),
        material_lot=row["material_lot"],
        sealed_by=row["sealed_by"],
        sealed_on=row["sealed_on"],
        tubes=tubes,
        instruments=instruments,
    )


def print_run_row(run: PrintRun, reprint_of: FactId | None) -> NewRow:
    """Lay a print run down."""
    return {
        "number": run.number,
        "printed_on": run.printed_on,
        "layout": run.layout,
        "sheet": run.sheet,
        "dpi": run.dpi,
        "stock_lot": run.stock_lot,
        "stock_withstands_steam": run.stock_withstands_steam,
        "proof_digest": run.proof_digest,
        "override_by": run.override_by,
        "override_reason": run.override_reason,
        **named("reprint_of", reprint_of),
    }


def print_run_from(row: Row, reprint_of: str | None) -> PrintRun:
    """Read a print run."""
    return PrintRun(
        number=row["number"],
        printed_on=row["printed_on"],
        layout=row["layout"],
        sheet=row["sheet"],
        dpi=row["dpi"],
        stock_lot=row["stock_lot"],
        stock_withstands_steam=row["stock_withstands_steam"],
        proof_digest=row["proof_digest"],
        override_by=row["override_by"],
        override_reason=row["override_reason"],
        reprint_of=reprint_of,
    )


def printed_label_row(label: PrintedLabel, run: FactId) -> NewRow:
    """Lay a printed label down."""
    return {
        **named("run", run),
        "serial": label.serial,
        "kind": label.kind.value,
        "lot": label.lot,
        "use_by": label.use_by,
        "prepared": label.prepared,
        "item_number": label.item_number,
    }


def printed_label_from(row: Row, run: str, voided_by: str | None) -> PrintedLabel:
    """Read a printed label."""
    return PrintedLabel(
        serial=row["serial"],
        kind=LabelKind(row["kind"]),
        lot=row["lot"],
        use_by=row["use_by"],
        prepared=row["prepared"],
        item_number=row["item_number"],
        run=run,
        voided_by=voided_by,
    )


def staff_from(row: Row) -> StaffMember:
    """Read a member of staff, from the row and the sealed content if it is still there."""
    personal = {} if row["content"] is None else json.loads(row["content"])
    return StaffMember(code=row["code"], name=personal.get("name"), initials=personal.get("initials"))


def _amount_text(amount: Decimal | None) -> str | None:
    return None if amount is None else format(amount, "f")


def _amount(text: str | None) -> Decimal | None:
    return None if text is None else Decimal(text)
