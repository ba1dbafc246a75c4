"""What plain Python says of a chain: the judge of tracing, of counting and of fates.

It reads every fact as a value and goes over all of them again and again until nothing new is reached. It knows no SQL
and no table of links; things are told apart by their names.
"""

from dataclasses import dataclass

from random_chain import Chain

from tracelabels.custody import (
    AdverseEvent,
    Bottle,
    ConsumableKind,
    Destruction,
    Fate,
    Fill,
    Incident,
    IncidentKind,
    IndicatorReading,
    Kind,
    Load,
    Move,
    Name,
    PlaceKind,
    PouchOpening,
    SporeTest,
    Unloaded,
    Use,
)
from tracelabels.records import Reading

USED_IN = {IncidentKind.USED_AGAINST_STOP, IncidentKind.USED_DURING_OUTAGE, IncidentKind.USED_TWICE}


@dataclass
class World:
    """Every fact that stands, as values."""

    bottles: list
    preparations: list
    tubes: list
    pouches: list
    labels: list
    runs: list
    loads: list
    indicators: list
    tests: list
    fills: list
    uses: list
    incidents: list
    events: list


def world_of(ledger: Reading, chain: Chain) -> World:
    def values(kind):
        return [one.value for one in ledger.every(kind)]

    return World(
        bottles=[one.value for one in ledger.bottles()],
        preparations=[one.value for one in ledger.preparations()],
        tubes=[ledger.find_tube(one).value for one in chain.tubes],
        pouches=[ledger.find_pouch(one).value for one in chain.pouches],
        labels=[one.value for run in chain.runs for one in ledger.labels_of_run(run)],
        runs=[one.value for one in ledger.print_runs()],
        loads=values(Load),
        indicators=values(IndicatorReading),
        tests=values(SporeTest),
        fills=values(Fill),
        uses=values(Use),
        incidents=values(Incident),
        events=values(AdverseEvent),
    )


def n(kind: Kind, text: str) -> Name:
    return Name(kind, text)


def lot(kind: ConsumableKind, text: str | None) -> Name | None:
    return None if text is None else Name(Kind.CONSUMABLE, f"{kind.value}/{text}")


def reached(world: World, root: Name) -> set[Name]:
    """Return everything that a cause reaches, itself too."""
    found, whole = {root}, {root}
    before = None
    while before != (len(found), len(whole)):
        before = (len(found), len(whole))
        for one in _forward(world, found, whole):
            found.add(one)
            if one.kind is not Kind.POUCH:
                whole.add(one)
        for one in _whole_pouches(world, found):
            found.add(one)
            whole.add(one)
    return found


def _forward(world: World, found: set[Name], whole: set[Name]):  # noqa: C901, PLR0912  one rule after the other
    for bottle in world.bottles:
        if n(Kind.PRODUCT, f"{bottle.product.maker}/{bottle.product.item_number}") in found:
            yield n(Kind.BOTTLE, bottle.serial)
    for made in world.preparations:
        if any(n(Kind.BOTTLE, part.source.serial) in found for part in made.components if type(part.source) is Bottle):
            yield n(Kind.PREPARATION, made.number)
    for tube in world.tubes:
        if tube.preparation and n(Kind.PREPARATION, tube.preparation) in found:
            yield n(Kind.TUBE, tube.serial)
        if lot(ConsumableKind.TUBES, tube.lot) in found:
            yield n(Kind.TUBE, tube.serial)
    for fill in world.fills:
        if fill.preparation in found:
            yield fill.tube
    for pouch in world.pouches:
        if n(Kind.POUCH, pouch.serial) in whole:
            yield from (n(Kind.TUBE, one) for one in pouch.tubes)
        if any(n(Kind.TUBE, one) in found for one in pouch.tubes):
            yield n(Kind.POUCH, pouch.serial)
    for run in world.runs:
        if lot(ConsumableKind.LABEL_STOCK, run.stock_lot) in found:
            yield n(Kind.PRINT_RUN, run.number)
    tubes = {one.serial for one in world.tubes}
    yield from (
        n(Kind.TUBE, one.serial) for one in world.labels if one.serial in tubes and n(Kind.PRINT_RUN, one.run) in found
    )
    for test in world.tests:
        if lot(ConsumableKind.SPORE_TESTS, test.lot) in found:
            yield test.as_name
        if test.as_name in found:
            yield test.load
    yield from (one.as_name for one in world.loads if one.steriliser in found)
    yield from (one.load for one in world.indicators if lot(ConsumableKind.INDICATORS, one.lot) in found)
    yield from _chair(world, found)


def _chair(world: World, found: set[Name]):
    for use in world.uses:
        if found.intersection(use.items):
            yield use.as_name
        if use.as_name in found:
            yield use.client
    for incident in world.incidents:
        if found.intersection(incident.items) or incident.use in found:
            yield incident.as_name
        if incident.as_name in found:
            yield from (one for one in (incident.use, incident.client) if one is not None)


def _whole_pouches(world: World, found: set[Name]):  # noqa: C901  one rule after the other
    for load in world.loads:
        if load.as_name in found:
            yield from load.pouches
    for one in world.indicators:
        if one.pouch is not None and lot(ConsumableKind.INDICATORS, one.lot) in found:
            yield one.pouch
    pouches = {one.serial for one in world.pouches}
    for label in world.labels:
        if label.serial in pouches and n(Kind.PRINT_RUN, label.run) in found:
            yield n(Kind.POUCH, label.serial)
    for pouch in world.pouches:
        if lot(ConsumableKind.POUCH_MATERIAL, pouch.material_lot) in found:
            yield n(Kind.POUCH, pouch.serial)


def came_from(world: World, root: Name) -> set[Name]:
    """Return everything that a thing came from, itself too."""
    found, whole = {root}, {root}
    before = None
    while before != (len(found), len(whole)):
        before = (len(found), len(whole))
        for one in _backward(world, found, whole):
            found.add(one)
            whole.add(one)
        found |= {
            n(Kind.POUCH, one.serial) for one in world.pouches if any(n(Kind.TUBE, tube) in found for tube in one.tubes)
        }
    known = {n(Kind.CONSUMABLE, "pouch_material/not entered"), None}
    return found - known


def _backward(world: World, found: set[Name], whole: set[Name]):  # noqa: C901, PLR0912  one rule after the other
    for use in world.uses:
        if use.client in found:
            yield use.as_name
        if use.as_name in found:
            yield from use.items
    for one in world.incidents:
        if one.client is not None and one.client in found:
            yield one.as_name
        if one.as_name in found:
            yield from (item for item in one.items if item.kind is not Kind.LOAD)
            yield from (use for use in (one.use,) if use is not None)
    for event in world.events:
        if event.client in found:
            yield event.as_name
        if event.as_name in found:
            yield from event.uses
    for tube in world.tubes:
        if n(Kind.TUBE, tube.serial) in found:
            yield from (n(Kind.PREPARATION, one) for one in (tube.preparation,) if one)
            yield lot(ConsumableKind.TUBES, tube.lot)
    yield from (one.preparation for one in world.fills if one.tube in found)
    for pouch in world.pouches:
        name = n(Kind.POUCH, pouch.serial)
        if name in whole:
            yield from (n(Kind.TUBE, one) for one in pouch.tubes)
        if name in found:
            yield lot(ConsumableKind.POUCH_MATERIAL, pouch.material_lot)
            yield from (one.as_name for one in world.loads if name in one.pouches)
    for label in world.labels:
        if {n(Kind.TUBE, label.serial), n(Kind.POUCH, label.serial)} & found:
            yield n(Kind.PRINT_RUN, label.run)
    yield from _causes(world, found)


def _causes(world: World, found: set[Name]):  # noqa: C901, PLR0912  one rule after the other
    for load in world.loads:
        if load.as_name in found:
            yield load.steriliser
    for one in world.indicators:
        if one.load in found or (one.pouch is not None and one.pouch in found):
            yield lot(ConsumableKind.INDICATORS, one.lot)
    for test in world.tests:
        if test.load in found:
            yield test.as_name
        if test.as_name in found:
            yield lot(ConsumableKind.SPORE_TESTS, test.lot)
    for run in world.runs:
        if n(Kind.PRINT_RUN, run.number) in found:
            yield lot(ConsumableKind.LABEL_STOCK, run.stock_lot)
    for made in world.preparations:
        if n(Kind.PREPARATION, made.number) in found:
            yield from (n(Kind.BOTTLE, one.source.serial) for one in made.components if type(one.source) is Bottle)
    for bottle in world.bottles:
        if n(Kind.BOTTLE, bottle.serial) in found:
            yield n(Kind.PRODUCT, f"{bottle.product.maker}/{bottle.product.item_number}")


def fate_by_eye(ledger: Reading, world: World, item: Name) -> Fate:  # noqa: C901  one rule after the other
    """Return a thing's fate as somebody would who reads every fact about it.

    Good for tubes that were packed once, and for pouches.
    """

    def about(kind, field, thing):
        return [one.value for one in ledger.about(kind, field, thing)]

    inside = [p for p in world.pouches if item.kind is Kind.TUBE and item.text in p.tubes]
    both = [item, *(n(Kind.POUCH, one.serial) for one in inside)]
    lists = [one.items for one in world.uses]
    lists += [one.items for one in world.incidents if one.kind in USED_IN]
    for items in lists:
        beside = {n(Kind.TUBE, one) for pouch in inside for one in pouch.tubes} & set(items)
        if item in items or (set(both) & set(items) and not beside):
            return Fate.USED
    if any(about(Destruction, "item", one) for one in both):
        return Fate.DESTROYED
    moves = sorted((one.at, place, one.kind) for place, one in enumerate(_moves(ledger, both)))
    ends = {PlaceKind.GIVEN_AWAY: Fate.TRANSFERRED, PlaceKind.LOST: Fate.LOST}
    for away, fate in ends.items():
        other = ({*PlaceKind} - set(ends)) | {away}
        last = [kind for *_, kind in moves if kind in other]
        if last and last[-1] is away:
            return fate
    if any(about(PouchOpening, "pouch", one) for one in both if one.kind is Kind.POUCH) or (
        item.kind is Kind.TUBE and about(Fill, "tube", item)
    ):
        return Fate.OPENED_UNUSED
    loads = [load for load in world.loads if set(load.pouches) & set(both)]
    if not loads:
        return _unloaded(ledger, both)
    last = max(loads, key=lambda load: load.started_at)
    out = [one for pouch in both if pouch.kind is Kind.POUCH for one in about(Unloaded, "pouch", pouch)]
    return Fate.IN_STOCK if any(one.at >= last.started_at for one in out) else Fate.IN_A_LOAD


def _unloaded(ledger: Reading, both: list[Name]) -> Fate:
    out = [one for pouch in both if pouch.kind is Kind.POUCH for one in ledger.about(Unloaded, "pouch", pouch)]
    return Fate.IN_STOCK if out else Fate.UNPROCESSED


def _moves(ledger: Reading, both: list[Name]) -> list[Move]:
    found = {one.fact: one.value for item in both for one in ledger.about(Move, "item", item)}
    return [found[at] for at in sorted(found)]
