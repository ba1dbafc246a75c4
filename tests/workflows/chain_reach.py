"""Brute force over the model: what a cause reaches, and what became of each thing. Apart from the package's rules.

*Reaching* is a fixpoint over plain statements ("a tube made of a reached preparation is reached"), repeated until
nothing is added. The statements are the trade's own (product.md): forward through every mix, top-up, load, filling and
direct use; by one bad tube a pouch is reached, but not the other tubes in it.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

from chain_model import Model

from tracelabels.custody import Fate, IncidentKind, Kind, Name, PlaceKind, SporeResult

ITEMS = (Kind.BOTTLE, Kind.TUBE, Kind.POUCH)
_USED = {IncidentKind.USED_AGAINST_STOP.value, IncidentKind.USED_TWICE.value, IncidentKind.USED_DURING_OUTAGE.value}


@dataclass
class Reached:
    """What is reached; of pouches those apart of which all is reached, and not one tube only."""

    names: set[Name] = field(default_factory=set)
    whole: set[str] = field(default_factory=set)

    def of(self, *kinds: Kind) -> set[Name]:
        return {one for one in self.names if one.kind in kinds}


def reach(model: Model, roots: Iterable[Name]) -> Reached:
    """Return everything that causes reach, the causes themselves too."""
    found = Reached(names=set(roots))
    found.whole = {one.text for one in found.names if one.kind is Kind.POUCH}
    size = (0, 0)
    while size != (len(found.names), len(found.whole)):
        size = (len(found.names), len(found.whole))
        for statement in (_bottles, _tubes, _pouches, _tests, _uses, _incidents):
            statement(model, found)
    return found


def _bottles(model: Model, found: Reached) -> None:
    for one in model.preparations.values():
        if any(Name(Kind.BOTTLE, serial) in found.names for serial in one.bottles):
            found.names.add(Name(Kind.PREPARATION, one.number))


def _tubes(model: Model, found: Reached) -> None:
    for tube in model.tubes.values():
        contents = {tube.preparation, tube.filled} - {None}
        pouch = model.pouch_of(tube.serial)
        by_label = _by_run(model, found, tube.serial)
        if by_label or any(Name(Kind.PREPARATION, str(one)) in found.names for one in contents):
            found.names.add(Name(Kind.TUBE, tube.serial))
        if pouch is not None and pouch.serial in found.whole:
            found.names.add(Name(Kind.TUBE, tube.serial))


def _pouches(model: Model, found: Reached) -> None:
    for pouch in model.pouches.values():
        name = Name(Kind.POUCH, pouch.serial)
        if any(Name(Kind.TUBE, one) in found.names for one in pouch.tubes):
            found.names.add(name)
        loads = model.loads_of(pouch.serial)
        lots = {Name(Kind.CONSUMABLE, f"pouch_material/{pouch.lot}")}
        for load in loads:
            seen = [one.lot for one in load.indicators if one.pouch == pouch.serial and one.lot]
            lots |= {Name(Kind.CONSUMABLE, f"indicators/{lot}") for lot in seen}
        in_load = any(Name(Kind.LOAD, one.number) in found.names for one in loads)
        if in_load or lots & found.names or _by_run(model, found, pouch.serial):
            found.names.add(name)
            found.whole.add(pouch.serial)


def _by_run(model: Model, found: Reached, serial: str) -> bool:
    return any(Name(Kind.PRINT_RUN, one.run) in found.names for one in model.labels.get(serial, ()))


def _tests(model: Model, found: Reached) -> None:
    """A load is reached through its tests, and through any indicator read in it, of one pouch too."""
    for test in model.tests.values():
        if Name(Kind.CONSUMABLE, f"spore_tests/{test.lot}") in found.names:
            found.names.add(Name(Kind.SPORE_TEST, test.number))
        if Name(Kind.SPORE_TEST, test.number) in found.names:
            found.names.add(Name(Kind.LOAD, test.load))
    for load in model.loads.values():
        for one in load.indicators:
            if Name(Kind.CONSUMABLE, f"indicators/{one.lot}") in found.names:
                found.names.add(Name(Kind.LOAD, load.number))


def _uses(model: Model, found: Reached) -> None:
    for use in model.uses.values():
        if use.items & found.names:
            found.names.add(Name(Kind.USE, use.number))
        if Name(Kind.USE, use.number) in found.names:
            found.names.add(Name(Kind.CLIENT, use.client))


def _incidents(model: Model, found: Reached) -> None:
    """An incident about anything reached reaches its client, and the use it is about."""
    for one in model.incidents.values():
        name, use = Name(Kind.INCIDENT, one.number), None if one.use is None else Name(Kind.USE, one.use)
        if one.items & found.names or use in found.names:
            found.names.add(name)
        if name in found.names:
            found.names |= {use} if use is not None else set()
            found.names |= {Name(Kind.CLIENT, one.client)} if one.client is not None else set()


def used_on(model: Model, client: str) -> set[Name]:
    """Return the bottles, tubes and pouches that uses and incidents name for a client."""
    met = [one.items for one in (*model.uses.values(), *model.incidents.values()) if one.client == client]
    return {item for items in met for item in items if item.kind in ITEMS}


def loads_behind(model: Model, number: str, grown: Callable[[str], bool]) -> set[Name]:
    """Return what a question about a spore test stands for.

    Args:
        model: what was done.
        number: of the test.
        grown: says of a load whether that growth reaches it.
    """
    if model.tests[number].result is not SporeResult.GROWTH:
        return {Name(Kind.SPORE_TEST, number)}
    return {Name(Kind.LOAD, one) for one in model.loads if grown(one)}


def fate(model: Model, name: Name) -> Fate:
    """Return what became of a thing: used for good, else destroyed, else gone until it is back, else the last."""
    if name.kind is Kind.BOTTLE:
        return _fate_of_bottle(model, name)
    pouch = model.pouch_of(name.text) if name.kind is Kind.TUBE else model.pouches[name.text]
    around = {name} if pouch is None else {name, Name(Kind.POUCH, pouch.serial)}
    if _is_used(model, name):
        return Fate.USED
    if around & set(model.destroyed):
        return Fate.DESTROYED
    gone = _gone(model, around)
    if gone is not None:
        return gone
    events = []
    for load in model.loads_of(pouch.serial) if pouch else ():
        events.append((load.at, Fate.IN_A_LOAD))
        events += [(at, Fate.IN_STOCK) for one, (_, at) in load.unloaded.items() if one == pouch.serial]
    if pouch is not None and pouch.serial in model.openings:
        events.append((model.openings[pouch.serial].at, Fate.OPENED_UNUSED))
    if name.kind is Kind.TUBE and model.tubes[name.text].filled_at is not None:
        events.append((model.tubes[name.text].filled_at, Fate.OPENED_UNUSED))
    return max(events, key=lambda one: one[0])[1] if events else Fate.UNPROCESSED


def _fate_of_bottle(model: Model, name: Name) -> Fate:
    """A bottle that something was taken out of is used, whatever became of the rest."""
    if _names(model, name) or any(name.text in one.bottles for one in model.preparations.values()):
        return Fate.USED
    if name in model.destroyed:
        return Fate.DESTROYED
    gone = _gone(model, {name})
    bottle = model.bottles[name.text]
    is_open = bottle.opened is not None or bottle.opened_unknown
    return gone or (Fate.OPENED_UNUSED if is_open else Fate.IN_STOCK)


def _is_used(model: Model, name: Name) -> bool:
    """What names a pouch and none of its tubes, names them all."""
    if _names(model, name):
        return True
    pouch = model.pouch_of(name.text) if name.kind is Kind.TUBE else None
    if pouch is None:
        return False
    tubes = {Name(Kind.TUBE, one) for one in pouch.tubes}
    return any(not items & tubes for items in _names(model, Name(Kind.POUCH, pouch.serial)))


def _names(model: Model, name: Name) -> list[frozenset[Name]]:
    met = [one.items for one in model.incidents.values() if one.kind in _USED]
    return [items for items in (*(one.items for one in model.uses.values()), *met) if name in items]


def _gone(model: Model, around: set[Name]) -> Fate | None:
    """Given away until it is put somewhere here again; lost until it is found, which is the same move."""
    moves = sorted((at, kind) for name in around for kind, at in model.moves.get(name, ()))
    since: set[PlaceKind] = set()
    for _, kind in moves:
        since = {*since, kind} if kind in {PlaceKind.GIVEN_AWAY, PlaceKind.LOST} else set()
    if PlaceKind.GIVEN_AWAY in since:
        return Fate.TRANSFERRED
    return Fate.LOST if PlaceKind.LOST in since else None
