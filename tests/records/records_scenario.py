"""One invented morning, as values, with its clock and its key; shared by the tests of this room."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from pathlib import Path

from sqlalchemy import Connection, Engine, create_engine, text

from tracelabels.custody import (
    Bottle,
    Carrier,
    Component,
    Diluent,
    Expiry,
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
from tracelabels.records import StaffMember, Writing
from tracelabels.records.engine import location_url, sqlite_driver
from tracelabels.records.schema import CONTENT_TABLES

KEY = bytes(range(32))
DAY = date(2027, 1, 4)
CHAINED = ["fact", "sealed", *(table.name for table in CONTENT_TABLES)]
"""Every table that the chain covers."""
BEGIN = datetime(2027, 1, 4, 8, 0, tzinfo=UTC)


class Clock:
    """Steps one second each time it is asked."""

    def __init__(self) -> None:
        self.now = BEGIN

    def __call__(self) -> datetime:
        self.now += timedelta(seconds=1)
        return self.now


ROSEHIP = Product(
    name="Rosehip",
    item_number="RH-10",
    maker="Mallow & Finch",
    carrier=Carrier.WATER_BASED,
    gtin="09501101530003",
    swatch="#b4655a",
    resterilising_statement="folder 3, page 2",
)
OAT = Product(name="Oat Milk \N{LATIN SMALL LETTER E WITH ACUTE}", item_number="OM-4", maker="Mallow & Finch")
ROSEHIP_BOTTLE = Bottle(
    serial="010000012",
    product=ROSEHIP,
    batch="R-2291",
    received_on=DAY,
    expiry=Expiry.in_month(2028, 2),
    opening=Opening(on=date(2027, 1, 5)),
    period_after_opening=Period(count=6, unit=PeriodUnit.MONTHS),
    volume_ml=Decimal("15.0"),
)
OAT_BOTTLE = Bottle(serial="010000020", product=OAT, batch="O-88", received_on=DAY, opening=Opening(on=None))
MIX = Preparation(
    number="P-0001",
    prepared_on=DAY,
    prepared_by="staff-1",
    variant=Variant.FILLED_BEFORE,
    components=(
        Component(source=ROSEHIP_BOTTLE, amount_ml=Decimal("1.50")),
        Component(source=OAT_BOTTLE, amount_ml=Decimal("0.25")),
        Component(source=Diluent(name="Sterile water", batch="W-1", expiry=date(2029, 1, 1))),
    ),
    tubes_made=2,
    fill_ml=Decimal("0.5"),
)
EMPTY = Preparation(number="P-0002", prepared_on=DAY, prepared_by="staff-1", variant=Variant.EMPTY_TUBES, tubes_made=1)
TUBES = (
    Tube(serial="010000036", preparation="P-0001", size_ml=Decimal("0.5")),
    Tube(serial="010000048", preparation="P-0001", size_ml=Decimal("0.5")),
    Tube(serial="010000055"),
)
POUCH = Pouch(
    serial="010000061",
    kind=PouchKind.PAPER_FILM,
    material_lot="PF-77",
    sealed_by="staff-2",
    sealed_on=DAY,
    tubes=("010000036", "010000048"),
    instruments=("fine forceps",),
)
RUN = PrintRun(
    number="R-0001",
    printed_on=DAY,
    layout="tube-side",
    sheet="a4-65",
    dpi=300,
    stock_lot="LS-1",
    stock_withstands_steam=True,
    proof_digest="ab" * 32,
)
REPRINT = PrintRun(number="R-0002", printed_on=DAY, layout="tube-side", sheet="a4-65", dpi=300, reprint_of="R-0001")


def raw_engine(location: Path | str) -> Engine:
    """Return an engine past the ledger; by the same driver, for two SQLite libraries undo each other's locks."""
    url = location_url(location)
    return create_engine(url, module=sqlite_driver()) if url.get_backend_name() == "sqlite" else create_engine(url)


def switch_triggers_off(raw: Connection) -> None:
    """Do what somebody does who changes a database with another program; on PostgreSQL foreign keys are off too."""
    if raw.dialect.name == "postgresql":
        raw.execute(text("SET session_replication_role = replica"))
        return
    for name in raw.execute(text("SELECT name FROM sqlite_master WHERE type = 'trigger'")).scalars().all():
        raw.execute(text(f"DROP TRIGGER {name}"))


def label(serial: str, **changes: object) -> PrintedLabel:
    facts = {
        "serial": serial,
        "kind": LabelKind.TUBE,
        "lot": "P-0001",
        "use_by": date(2027, 7, 5),
        "prepared": DAY,
        "item_number": "RH-10",
    }
    return PrintedLabel(**(facts | changes))


def record_morning(unit: Writing) -> None:
    """Append one of everything."""
    unit.add_staff(StaffMember(code="staff-1", name="Quillon Vance-Abara", initials="QVA"))
    unit.next_serials(6)
    unit.add_product(ROSEHIP)
    unit.add_product(OAT)
    unit.add_bottle(ROSEHIP_BOTTLE)
    unit.add_bottle(OAT_BOTTLE)
    unit.add_preparation(MIX)
    unit.add_preparation(EMPTY)
    unit.add_tubes(TUBES)
    unit.add_pouch(POUCH)
    unit.add_print_run(RUN, [label("010000036"), label("010000036", kind=LabelKind.CAP), label("010000048")])
    unit.add_print_run(REPRINT, [label("010000036", lot="P-0001a")])
