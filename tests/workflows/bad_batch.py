"""One invented story for tracing and recalls: a bad batch, a mix, direct uses, a top-up, a load with growth.

Bottles: B1, B2 Rosehip of batch 5501; B3 Oat Milk of batch 77.
Preparations: ONE from B1, MIX from B2 and B3, CLAY from B3 alone.
Tubes: T1, T2 of ONE; T3 of MIX; T4 of CLAY; T5 empty, filled at the chair from a preparation of B1.
Pouches: P1 with T1 and T4, P2 with T2, P3 with T3, P4 with T5, P5 with instruments.
Loads: L01-0001 passed (P2), L01-0002 (P1, P3) and L01-0003 (P4, P5) up to growth.
Used: T1 and P1 on C-1; P3 on C-2 (its only tube T3 goes with it); T5 on C-3; B2 directly on C-4; P5 on C-5; T1 a second
time on C-6.
"""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

from tracelabels.custody import (
    AdverseEvent,
    Bottle,
    CareLevel,
    Client,
    Component,
    Consumable,
    ConsumableKind,
    CycleKind,
    Fill,
    Goods,
    Incident,
    IncidentKind,
    Kind,
    Load,
    Name,
    Pouch,
    PouchKind,
    PouchState,
    Preparation,
    Product,
    SporeReading,
    SporeResult,
    SporeTest,
    Steriliser,
    Tube,
    Unloaded,
    Use,
    Variant,
)
from tracelabels.identifiers import format_serial
from tracelabels.records import Series, Writing

DAY = date(2026, 11, 10)
AT = datetime(2026, 11, 10, 9, 0, tzinfo=UTC)
ROSEHIP = Product(name="Rosehip", item_number="R-12", maker="Saltmarsh Colour")
OAT = Product(name="Oat Milk", item_number="O-4", maker="Saltmarsh Colour")
SERIALS = tuple(format_serial(1, number) for number in range(1, 14))
B1, B2, B3, T1, T2, T3, T4, T5, P1, P2, P3, P4, P5 = SERIALS
STERILISER = Name(Kind.STERILISER, "S1")
ONE, MIX, CLAY, CHAIR = "P01-0001", "P01-0002", "P01-0003", "P01-0004"


def tell(unit: Writing) -> None:
    """Record the story."""
    assert unit.next_serials(13) == SERIALS
    for product in (ROSEHIP, OAT):
        unit.add_product(product)
    for serial, product, batch in ((B1, ROSEHIP, "5501"), (B2, ROSEHIP, "5501"), (B3, OAT, "77")):
        unit.add_bottle(Bottle(serial=serial, product=product, batch=batch, received_on=DAY))
    bottles = {one: unit.require_bottle(one).value for one in (B1, B2, B3)}
    unit.next_numbers(Series.PREPARATION, 4)
    for number, of in ((ONE, (B1,)), (MIX, (B2, B3)), (CLAY, (B3,)), (CHAIR, (B1,))):
        parts = tuple(Component(source=bottles[one]) for one in of)
        variant = Variant.FILLED_AT_CHAIR if number == CHAIR else Variant.FILLED_BEFORE
        unit.add_preparation(
            Preparation(number=number, prepared_on=DAY, prepared_by="bench", variant=variant, components=parts)
        )
    of = {T1: ONE, T2: ONE, T3: MIX, T4: CLAY, T5: None}
    unit.add_tubes([Tube(serial=serial, preparation=number) for serial, number in of.items()])
    for serial, tubes in ((P1, (T1, T4)), (P2, (T2,)), (P3, (T3,)), (P4, (T5,)), (P5, ())):
        unit.add_pouch(
            Pouch(
                serial=serial,
                kind=PouchKind.PAPER_FILM,
                material_lot="PF-1",
                sealed_by="bench",
                sealed_on=DAY,
                tubes=tubes,
                instruments=() if tubes else ("forceps",),
            )
        )
    unit.record(Consumable(kind=ConsumableKind.POUCH_MATERIAL, lot="PF-1"))
    _processing(unit)
    _chair(unit)


def _processing(unit: Writing) -> None:
    unit.record(Steriliser(code="S1", name="one", serial_number="7", cycle_kinds=(CycleKind.AIR_REMOVAL,)))
    for place, pouches in enumerate(((P2,), (P1, P3), (P4, P5)), start=1):
        (number,) = unit.next_numbers(Series.LOAD)
        load = Load(
            number=f"L01-{number:04d}",
            steriliser=STERILISER,
            cycle_kind=CycleKind.AIR_REMOVAL,
            programme="wrapped 134",
            temperature_c=Decimal(134),
            hold_minutes=Decimal(4),
            goods=Goods.WRAPPED,
            operator="bench",
            started_at=AT + timedelta(days=place),
            counted=len(pouches),
            pouches=tuple(Name(Kind.POUCH, one) for one in pouches),
        )
        unit.record(load)
        for pouch in load.pouches:
            out = load.started_at + timedelta(hours=1)
            unit.record(Unloaded(load=load.as_name, pouch=pouch, state=PouchState.SOUND, at=out))
        if number != 2:
            _tested(unit, load, SporeResult.GROWTH if number == 3 else SporeResult.NO_GROWTH)


def _tested(unit: Writing, load: Load, result: SporeResult) -> None:
    (number,) = unit.next_numbers(Series.SPORE_TEST)
    test = SporeTest(
        number=f"B01-{number:04d}",
        steriliser=STERILISER,
        cycle_kind=CycleKind.AIR_REMOVAL,
        load=load.as_name,
        lot="BI-1",
        placement="over the drain",
        at=load.started_at,
        due_at=load.started_at + timedelta(days=1),
    )
    unit.record(test)
    unit.record(SporeReading(test=test.as_name, result=result, at=test.due_at))


def _chair(unit: Writing) -> None:
    for place in range(1, 7):
        care = CareLevel.PROTECTED if place == 3 else CareLevel.ROUTINE
        contact = f"{place} Marram Lane"
        unit.record(Client(code=f"C-{place}", care_level=care, name=f"Client Number {place}", contact=contact))
    at = AT + timedelta(days=20)
    unit.record(Fill(tube=Name(Kind.TUBE, T5), preparation=Name(Kind.PREPARATION, CHAIR), at=at))
    tube, pouch, bottle = Kind.TUBE, Kind.POUCH, Kind.BOTTLE
    uses = (((tube, T1), (pouch, P1)), ((pouch, P3),), ((tube, T5),), ((bottle, B2),), ((pouch, P5),))
    for place, items in enumerate(uses, start=1):
        (number,) = unit.next_numbers(Series.USE)
        unit.record(
            Use(
                number=f"U01-{number:06d}",
                client=Name(Kind.CLIENT, f"C-{place}"),
                practitioner="bench",
                at=at + timedelta(hours=place),
                items=tuple(Name(kind, text) for kind, text in items),
                verdict=None,
            )
        )
    unit.record(
        Incident(
            number="I01-0001",
            kind=IncidentKind.USED_TWICE,
            at=at + timedelta(days=1),
            items=(Name(Kind.TUBE, T1),),
            client=Name(Kind.CLIENT, "C-6"),
        )
    )
    use = Name(Kind.USE, "U01-000002")
    unit.record(AdverseEvent(number="A01-0001", client=Name(Kind.CLIENT, "C-2"), onset=DAY, uses=(use,)))
