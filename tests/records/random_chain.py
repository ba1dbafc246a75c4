"""Small random histories of the whole chain, corrections and facts taken back among them; everything invented."""

from dataclasses import dataclass, replace
from datetime import timedelta
from decimal import Decimal
from random import Random

from records_scenario import BEGIN, DAY, OAT, ROSEHIP

from tracelabels.custody import (
    AdverseEvent,
    Bottle,
    Client,
    Component,
    Consumable,
    ConsumableKind,
    CycleKind,
    Destroyed,
    Destruction,
    Diluent,
    Fill,
    Goods,
    Incident,
    IncidentKind,
    IndicatorPlace,
    IndicatorReading,
    IndicatorResult,
    Kind,
    LabelKind,
    Load,
    Move,
    Name,
    PlaceKind,
    Pouch,
    PouchKind,
    PouchOpening,
    PouchState,
    Preparation,
    PrintedLabel,
    PrintRun,
    SporeTest,
    Stage,
    Steriliser,
    Tube,
    Unloaded,
    Use,
    Variant,
    Verdict,
)
from tracelabels.records import Writing

LOTS = {
    ConsumableKind.TUBES: ("TB-1", "TB-2"),
    ConsumableKind.POUCH_MATERIAL: ("PF-1", "PF-2"),
    ConsumableKind.INDICATORS: ("CI-1", "CI-2"),
    ConsumableKind.SPORE_TESTS: ("BI-1",),
    ConsumableKind.LABEL_STOCK: ("LS-1", "LS-2"),
    ConsumableKind.NEEDLE_CARTRIDGES: ("NC-1",),
}
TAKEN = "read again from the box"
CLIENTS = tuple(Name(Kind.CLIENT, f"C-{number}") for number in range(4))
STERILISER = Name(Kind.STERILISER, "S1")


@dataclass
class Chain:
    """What was made, by the names that people use."""

    bottles: list[str]
    preparations: list[str]
    tubes: list[str]
    pouches: list[str]
    loads: list[str]
    runs: list[str]


def some(chance: Random, things, *, most: int):
    things = list(things)
    return tuple(chance.sample(things, min(len(things), chance.randint(0, most))))


def record_chain(unit: Writing, chance: Random) -> Chain:
    """Record a history; the same chance gives the same."""
    chain = Chain(bottles=[], preparations=[], tubes=[], pouches=[], loads=[], runs=[])
    unit.add_product(ROSEHIP)
    unit.add_product(OAT)
    for kind, lots in LOTS.items():
        for lot in lots:
            unit.record(Consumable(kind=kind, lot=lot))
    for client in CLIENTS:
        unit.record(Client(code=client.text))
    unit.record(Steriliser(code="S1", name="one", serial_number="1", cycle_kinds=(CycleKind.AIR_REMOVAL,)))
    _bench(unit, chance, chain)
    _prints(unit, chance, chain)
    _loads(unit, chance, chain)
    _chair(unit, chance, chain)
    _corrections(unit, chance, chain)
    return chain


def _components(chance: Random, bottles: list[Bottle]) -> tuple[Component, ...]:
    diluent = Component(source=Diluent(name="Water", batch="W-1"))
    chosen = tuple(Component(source=one) for one in some(chance, bottles, most=3))
    return (*chosen, diluent) if chosen and chance.random() < 0.3 else chosen


def _bench(unit: Writing, chance: Random, chain: Chain) -> None:
    for serial in unit.next_serials(chance.randint(1, 4)):
        product = chance.choice((ROSEHIP, OAT))
        batch = chance.choice(("A", "B"))
        unit.add_bottle(Bottle(serial=serial, product=product, batch=batch, received_on=DAY))
        chain.bottles.append(serial)
    bottles = [unit.require_bottle(serial).value for serial in chain.bottles]
    for number in range(chance.randint(1, 4)):
        name = f"P-{number}"
        unit.add_preparation(
            Preparation(
                number=name,
                prepared_on=DAY,
                prepared_by="s",
                variant=Variant.FILLED_BEFORE,
                components=_components(chance, bottles),
            )
        )
        chain.preparations.append(name)
    for serial in unit.next_serials(chance.randint(1, 8)):
        made_of = chance.choice((*chain.preparations, None))
        lot = chance.choice((*LOTS[ConsumableKind.TUBES], None))
        unit.add_tubes([Tube(serial=serial, preparation=made_of, lot=lot)])
        chain.tubes.append(serial)
    for serial in unit.next_serials(chance.randint(1, 5)):
        unit.add_pouch(_pouch(chance, chain, serial))
        chain.pouches.append(serial)


def _pouch(chance: Random, chain: Chain, serial: str) -> Pouch:
    return Pouch(
        serial=serial,
        kind=PouchKind.PAPER_FILM,
        material_lot=chance.choice((*LOTS[ConsumableKind.POUCH_MATERIAL], "not entered")),
        sealed_by="s",
        sealed_on=DAY,
        tubes=some(chance, chain.tubes, most=3),
    )


def _prints(unit: Writing, chance: Random, chain: Chain) -> None:
    for number in range(chance.randint(0, 2)):
        run = PrintRun(
            number=f"R-{number}",
            printed_on=DAY,
            layout="x",
            sheet="y",
            dpi=300,
            stock_lot=chance.choice((*LOTS[ConsumableKind.LABEL_STOCK], None)),
        )
        labels = [
            PrintedLabel(serial=serial, kind=kind)
            for serial in some(chance, (*chain.tubes, *chain.pouches), most=4)
            for kind in some(chance, LabelKind, most=2)
        ]
        unit.add_print_run(run, labels)
        chain.runs.append(run.number)


def _loads(unit: Writing, chance: Random, chain: Chain) -> None:
    for number in range(chance.randint(0, 3)):
        pouches = tuple(Name(Kind.POUCH, serial) for serial in some(chance, chain.pouches, most=3))
        load = Load(
            number=f"L-{number}",
            steriliser=STERILISER,
            cycle_kind=CycleKind.AIR_REMOVAL,
            programme="p",
            temperature_c=Decimal(134),
            hold_minutes=Decimal(3),
            goods=Goods.WRAPPED,
            operator="s",
            started_at=BEGIN + timedelta(hours=number),
            counted=len(pouches),
            pouches=pouches,
        )
        unit.record(load)
        chain.loads.append(load.number)
        for pouch in some(chance, pouches, most=3):
            unit.record(Unloaded(load=load.as_name, pouch=pouch, state=PouchState.SOUND, at=load.started_at))
        for pouch in some(chance, (*pouches, None), most=2):
            unit.record(_indicator(chance, load, pouch))
        if chance.random() < 0.5:
            unit.record(_spore_test(load, number))


def _indicator(chance: Random, load: Load, pouch: Name | None) -> IndicatorReading:
    return IndicatorReading(
        load=load.as_name,
        pouch=pouch,
        place=IndicatorPlace.INSIDE,
        result=IndicatorResult.TURNED,
        stage=Stage.UNLOADING,
        at=load.started_at,
        lot=chance.choice((*LOTS[ConsumableKind.INDICATORS], None)),
    )


def _spore_test(load: Load, number: int) -> SporeTest:
    return SporeTest(
        number=f"B-{number}",
        steriliser=STERILISER,
        cycle_kind=CycleKind.AIR_REMOVAL,
        load=load.as_name,
        lot="BI-1",
        placement="drain",
        at=load.started_at,
        due_at=load.started_at,
    )


def _goods(chain: Chain) -> list[Name]:
    return [
        *(Name(Kind.BOTTLE, one) for one in chain.bottles),
        *(Name(Kind.TUBE, one) for one in chain.tubes),
        *(Name(Kind.POUCH, one) for one in chain.pouches),
    ]


def _chair(unit: Writing, chance: Random, chain: Chain) -> None:
    goods, at = _goods(chain), BEGIN + timedelta(days=1)
    cartridges = Name(Kind.CONSUMABLE, "needle_cartridges/NC-1")
    for tube in some(chance, chain.tubes, most=2):
        preparation = Name(Kind.PREPARATION, chance.choice(chain.preparations))
        unit.record(Fill(tube=Name(Kind.TUBE, tube), preparation=preparation, at=at))
    for pouch in some(chance, chain.pouches, most=2):
        unit.record(
            PouchOpening(
                pouch=Name(Kind.POUCH, pouch),
                client=None,
                indicator=True,
                dry=True,
                whole=True,
                verdict=Verdict.GO,
                at=at,
            )
        )
    for number in range(chance.randint(0, 4)):
        items = some(chance, (*goods, cartridges), most=4)
        client = chance.choice(CLIENTS)
        when = at + timedelta(hours=number)
        unit.record(Use(number=f"U-{number}", client=client, practitioner="s", at=when, items=items, verdict=None))
    uses = [one.value.as_name for one in unit.every(Use)]
    for number in range(chance.randint(0, 3)):
        about = (*goods, *(Name(Kind.LOAD, one) for one in chain.loads), cartridges)
        unit.record(
            Incident(
                number=f"I-{number}",
                kind=chance.choice(tuple(IncidentKind)),
                at=at,
                items=some(chance, about, most=2),
                client=chance.choice((*CLIENTS, None)),
                use=chance.choice((*uses, None)),
            )
        )
    if uses:
        event = AdverseEvent(number="A-0", client=CLIENTS[0], onset=DAY, uses=some(chance, uses, most=2))
        unit.record(event)
    later = at + timedelta(days=1)
    for item in some(chance, goods, most=2):
        what = chance.choice(tuple(Destroyed))
        unit.record(Destruction(item=item, what=what, at=later, how="x"))
    for item in some(chance, goods, most=3):
        unit.record(Move(item=item, kind=chance.choice(tuple(PlaceKind)), place="x", at=later))


def _corrections(unit: Writing, chance: Random, chain: Chain) -> None:
    """Correct batches, contents and items, and take some facts back."""
    for serial in some(chance, chain.tubes, most=2):
        tube = unit.find_tube(serial)
        changed = replace(tube.value, preparation=chance.choice((*chain.preparations, None)))
        unit.correct(tube, changed, reason=TAKEN)
    for serial in some(chance, chain.pouches, most=1):
        pouch = unit.find_pouch(serial)
        unit.correct(pouch, _pouch(chance, chain, serial), reason=TAKEN)
    bottles = [unit.require_bottle(serial).value for serial in chain.bottles]
    for number in some(chance, chain.preparations, most=1):
        preparation = unit.find_preparation(number)
        changed = replace(preparation.value, components=_components(chance, bottles))
        unit.correct(preparation, changed, reason=TAKEN)
    for use in some(chance, unit.every(Use), most=1):
        items = some(chance, _goods(chain), most=3)
        unit.amend(use, replace(use.value, items=items, client=chance.choice(CLIENTS)), reason=TAKEN)
    for load in some(chance, unit.every(Load), most=1):
        pouches = tuple(Name(Kind.POUCH, serial) for serial in some(chance, chain.pouches, most=3))
        unit.amend(load, replace(load.value, pouches=pouches, counted=len(pouches)), reason=TAKEN)
    for kind in (Fill, Incident, IndicatorReading, PouchOpening):
        for one in some(chance, unit.every(kind), most=1):
            unit.retract(one.thing, reason=TAKEN)
