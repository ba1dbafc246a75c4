"""Trace: from any serial, batch, load, test, print run, lot or client, both ways, with its proof of completeness."""

from dataclasses import dataclass
from datetime import datetime
from typing import Final

from tracelabels.custody import (
    Closure,
    Fate,
    Happening,
    Kind,
    Link,
    Name,
    fate_of,
    is_expected,
    reach_backward,
    reach_forward,
)
from tracelabels.records import FactId, Reading
from tracelabels.workflows.beside_chain import Beside, beside_chain, said_beside, said_of
from tracelabels.workflows.chain_graph import ChainGraph, named_graph
from tracelabels.workflows.name_cause import Cause, Roots, find_cause
from tracelabels.workflows.practice import Practice

ITEMS: Final = (Kind.BOTTLE, Kind.TUBE, Kind.POUCH)
_ASKS_BACKWARD: Final = frozenset({Kind.CLIENT, Kind.USE, Kind.INCIDENT})
_NAMED_IN: Final = frozenset(
    {
        Link.BOTTLE_USE,
        Link.TUBE_USE,
        Link.POUCH_USE,
        Link.BOTTLE_INCIDENT,
        Link.TUBE_INCIDENT,
        Link.POUCH_INCIDENT,
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """A bottle, tube or pouch in the answer."""

    name: Name
    """What it is called."""
    fate: Fate
    """What became of it: it is in exactly one."""
    is_expected: bool
    """Whether it should be found at the practice when stock is counted."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Completeness:
    """The proof that nothing was left out: two counts made in different ways."""

    items: int
    """Bottles, tubes and pouches listed; each is in exactly one fate, so that this is the sum of the fates too."""
    items_counted: int
    """The same, counted by the database in one statement."""
    clients: int
    """Clients listed."""
    clients_counted: int
    """The same, counted."""

    @property
    def holds(self) -> bool:
        """Say whether both counts agree."""
        return self.items == self.items_counted and self.clients == self.clients_counted


@dataclass(frozen=True, slots=True, kw_only=True)
class Trace:
    """The answer to a question."""

    question: str
    """The question, complete with its prefix."""
    notes: tuple[str, ...]
    """What has to be said about it."""
    roots: tuple[Name, ...]
    """The things it stands for."""
    forward: ChainGraph
    """Where it went."""
    backward: ChainGraph
    """Where it came from."""
    items: tuple[Item, ...]
    """What is reached; of a client or a use: what was used."""
    clients: tuple[Name, ...]
    """The clients reached."""
    erased: frozenset[Name]
    """Those of them whose personal data was erased."""
    incidents: tuple[Name, ...]
    """Incidents about anything reached; of a client or a use, those that touch it."""
    completeness: Completeness
    """The two counts."""
    asked_at: datetime
    """When it was asked, in the practice's zone: what was recorded later is not in it."""
    beside: Beside | None
    """What is on record beside the chain; None where only the chain was asked for."""

    @property
    def fates(self) -> dict[Fate, int]:
        """Return how many items are in each fate; only fates that occur."""
        return {fate: count for fate in Fate if (count := sum(item.fate is fate for item in self.items))}


def trace(practice: Practice, what: str) -> Trace:
    """Follow a question both ways.

    Args:
        practice: where.
        what: ``serial:...``, ``lot:MAKER/BATCH``, ``load:...``, ``client:...`` and so on, or a bare number.

    Raises:
        InputError: nothing on record is called so, or several things are.
    """
    with practice.ledger.read() as ledger:
        return trace_cause(practice, ledger, find_cause(practice, ledger, what), looks_beside=True)


def trace_cause(practice: Practice, ledger: Reading, cause: Cause, *, looks_beside: bool = False) -> Trace:
    """Follow a cause both ways in one state of the ledger; look at what is on record beside it, too, if asked."""
    forward = reach_forward(cause.roots, ledger.neighbours)
    backward = reach_backward(cause.roots, ledger.neighbours)
    kinds = forward.kinds | backward.kinds
    happened = ledger.happenings(kinds)
    fates = {thing: fate_of(history, begins=_begins(kinds[thing])) for thing, history in happened.items()}
    called = ledger.names_of(kinds)
    called |= {thing: ledger.name_of(thing) for thing in kinds if thing not in called}
    erased = ledger.erased_among(thing for thing, kind in kinds.items() if kind is Kind.CLIENT)
    said, beside = said_of(fates), None
    if looks_beside:
        asks = _asks_backward(cause.roots)
        beside, accounts = beside_chain(practice, ledger, called, asks_backward=asks, erased=erased)
        said = said_beside(said, called, beside, accounts)
    ahead, behind = (
        named_graph(ledger, walk, names=called, roots=cause.roots, said=said, zone=practice.settings.zone)
        for walk in (forward, backward)
    )
    listed, clients = _listed(cause.roots, forward, backward), forward.of_kind(Kind.CLIENT)
    return Trace(
        question=cause.question,
        notes=cause.notes,
        roots=ahead.roots,
        forward=ahead,
        backward=behind,
        items=tuple(sorted((_item(called[one], fates[one], happened[one]) for one in listed), key=_by_name)),
        clients=tuple(sorted(called[one] for one in clients)),
        erased=frozenset(called[one] for one in erased & set(clients)),
        incidents=_incidents(cause.roots, ahead, behind),
        completeness=_counted(ledger, cause.roots, listed=len(listed), clients=len(clients)),
        asked_at=practice.now().astimezone(practice.settings.zone),
        beside=beside,
    )


def _item(name: Name, fate: Fate, happened: tuple[Happening, ...]) -> Item:
    is_there = is_expected(happened, is_bottle=name.kind is Kind.BOTTLE)
    return Item(name=name, fate=fate, is_expected=is_there)


def _by_name(item: Item) -> Name:
    return item.name


def _listed(roots: Roots, forward: Closure[FactId], backward: Closure[FactId]) -> set[FactId]:
    """Return the items of the answer: what causes reach; of a client, a use or an incident, what they name."""
    if not _asks_backward(roots):
        return set(forward.of_kind(*ITEMS))
    near = {thing for thing in backward.kinds if backward.depths[thing] <= 1}
    lists = {thing for thing in near if backward.kinds[thing] in {Kind.USE, Kind.INCIDENT}}
    return {cause for cause, link, effect in backward.edges if link in _NAMED_IN and effect in lists}


def _incidents(roots: Roots, ahead: ChainGraph, behind: ChainGraph) -> tuple[Name, ...]:
    """Return what touches a client or a use, too: it is found on the way back."""
    found = ahead.of_kind(Kind.INCIDENT)
    return tuple(sorted({*found, *behind.of_kind(Kind.INCIDENT)})) if _asks_backward(roots) else found


def _asks_backward(roots: Roots) -> bool:
    return all(kind in _ASKS_BACKWARD for kind in roots.values())


def _counted(ledger: Reading, roots: Roots, *, listed: int, clients: int) -> Completeness:
    counts = ledger.count_reached(roots)
    items = counts.items
    if _asks_backward(roots):
        of = {kind: [thing for thing, one in roots.items() if one is kind] for kind in _ASKS_BACKWARD}
        items = ledger.count_used(of[Kind.CLIENT], [*of[Kind.USE], *of[Kind.INCIDENT]])
    return Completeness(items=listed, items_counted=items, clients=clients, clients_counted=counts.clients)


def _begins(kind: Kind) -> Fate:
    return Fate.IN_STOCK if kind is Kind.BOTTLE else Fate.UNPROCESSED
