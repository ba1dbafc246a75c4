"""What a cause reaches, and where a thing came from: the links that are walked from each kind of thing.

Pure rules over a function that gives neighbours. *Forward* goes from cause to effect, towards the client; *backward*
from effect to cause, towards the maker.

A pouch can be reached in two manners. By what holds for the *whole* pouch (its load, its material, its indicator, its
label, itself) it spreads to every tube in it; by one bad tube it does not spread to the others. A tube that went
through a bad load counts as reached for good, also if it was packed and processed again.
"""

from collections.abc import Callable, Collection, Hashable, Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Final, Generic, TypeVar

from tracelabels.custody.links import JOINTS, Direction, Link
from tracelabels.custody.names import Kind

N = TypeVar("N", bound=Hashable)
Neighbours = Callable[[Link, Direction, Collection[N]], Iterable[tuple[N, N]]]
"""Gives each (cause, effect) of a link for a set of things; the set holds causes if the walk is forward."""


class Manner(StrEnum):
    """How far what holds for a thing spreads."""

    WHOLE = "whole"
    """To everything that hangs together with it."""
    PART = "part"
    """Of a pouch: to the pouch, and not to its other tubes. Of a use: to the client, and not to what else was used."""


_INCIDENT: Final = (Link.ITEM_INCIDENT,)
_USED: Final = (Link.USE_CLIENT, Link.USE_INCIDENT)

FORWARD: Final[Mapping[tuple[Kind, Manner], tuple[Link, ...]]] = {
    (Kind.PRODUCT, Manner.WHOLE): (Link.PRODUCT_BOTTLE,),
    (Kind.BOTTLE, Manner.WHOLE): (Link.BOTTLE_PREPARATION, Link.BOTTLE_USE, Link.BOTTLE_INCIDENT),
    (Kind.PREPARATION, Manner.WHOLE): (Link.PREPARATION_TUBE, Link.PREPARATION_FILLED, *_INCIDENT),
    (Kind.TUBE, Manner.WHOLE): (Link.TUBE_POUCH, Link.TUBE_USE, Link.TUBE_INCIDENT),
    (Kind.POUCH, Manner.PART): (Link.POUCH_USE, Link.POUCH_INCIDENT),
    (Kind.POUCH, Manner.WHOLE): (Link.POUCH_TUBE,),
    (Kind.STERILISER, Manner.WHOLE): (Link.STERILISER_LOAD,),
    (Kind.SPORE_TEST, Manner.WHOLE): (Link.TEST_LOAD,),
    (Kind.LOAD, Manner.WHOLE): (Link.LOAD_POUCH, *_INCIDENT),
    (Kind.CONSUMABLE, Manner.WHOLE): (
        Link.LOT_TUBE,
        Link.LOT_POUCH,
        Link.LOT_INDICATED_POUCH,
        Link.LOT_INDICATED_LOAD,
        Link.LOT_TEST,
        Link.LOT_RUN,
        Link.LOT_USE,
        Link.LOT_INCIDENT,
    ),
    (Kind.PRINT_RUN, Manner.WHOLE): (Link.RUN_TUBE, Link.RUN_POUCH, *_INCIDENT),
    (Kind.USE, Manner.PART): _USED,
    (Kind.INCIDENT, Manner.WHOLE): (Link.INCIDENT_USE, Link.INCIDENT_CLIENT),
}
"""Towards the client. What is walked for a part is walked for the whole, too."""

_ITEMS: Final = (Link.BOTTLE_USE, Link.TUBE_USE, Link.POUCH_USE, Link.LOT_USE)
_MET: Final = (Link.BOTTLE_INCIDENT, Link.TUBE_INCIDENT, Link.POUCH_INCIDENT, Link.LOT_INCIDENT)

BACKWARD: Final[Mapping[tuple[Kind, Manner], tuple[Link, ...]]] = {
    (Kind.CLIENT, Manner.WHOLE): (Link.USE_CLIENT, Link.INCIDENT_CLIENT, Link.EVENT_CLIENT),
    (Kind.ADVERSE_EVENT, Manner.WHOLE): (Link.USE_EVENT,),
    (Kind.INCIDENT, Manner.WHOLE): _MET,
    (Kind.USE, Manner.WHOLE): _ITEMS,
    (Kind.TUBE, Manner.WHOLE): (Link.PREPARATION_TUBE, Link.PREPARATION_FILLED, Link.LOT_TUBE, Link.RUN_TUBE),
    (Kind.POUCH, Manner.PART): (Link.LOAD_POUCH, Link.LOT_POUCH, Link.LOT_INDICATED_POUCH, Link.RUN_POUCH),
    (Kind.LOAD, Manner.WHOLE): (Link.STERILISER_LOAD, Link.TEST_LOAD, Link.LOT_INDICATED_LOAD),
    (Kind.SPORE_TEST, Manner.WHOLE): (Link.LOT_TEST,),
    (Kind.PRINT_RUN, Manner.WHOLE): (Link.LOT_RUN,),
    (Kind.PREPARATION, Manner.WHOLE): (Link.BOTTLE_PREPARATION,),
    (Kind.BOTTLE, Manner.WHOLE): (Link.PRODUCT_BOTTLE,),
}
"""Towards the maker."""

_ACROSS: Final[Mapping[tuple[Kind, Manner], tuple[Link, ...]]] = {
    (Kind.TUBE, Manner.WHOLE): (Link.TUBE_POUCH,),
    (Kind.POUCH, Manner.WHOLE): (Link.POUCH_TUBE,),
    (Kind.INCIDENT, Manner.WHOLE): (Link.INCIDENT_USE,),
}
"""Walked forward although the way leads backward: a tube was processed in its pouch, a pouch brought its
tubes, an incident names its use."""

_PARTS: Final = frozenset({Link.TUBE_POUCH})
"""Links that reach a pouch in part only."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Closure(Generic[N]):
    """Everything that was reached, as a graph."""

    direction: Direction
    """Which way it was walked."""
    kinds: dict[N, Kind] = field(default_factory=dict)
    """Each thing reached, the beginnings too, with its kind."""
    depths: dict[N, int] = field(default_factory=dict)
    """How many links each thing lies from a beginning."""
    edges: list[tuple[N, Link, N]] = field(default_factory=list)
    """Each (cause, link, effect) that was walked, as often as the record says so."""

    def of_kind(self, *kinds: Kind) -> tuple[N, ...]:
        """Return the things of some kinds, in the order reached."""
        return tuple(thing for thing, kind in self.kinds.items() if kind in kinds)


@dataclass(slots=True, kw_only=True)
class _Walk(Generic[N]):
    """A walk under way."""

    found: Closure[N]
    """What was reached so far."""
    manners: dict[N, Manner] = field(default_factory=dict)
    """The furthest manner in which each thing was reached."""
    next: dict[tuple[Kind, Manner], list[N]] = field(default_factory=dict)
    """What is still to be walked from."""

    def reach(self, thing: N, kind: Kind, manner: Manner, depth: int) -> None:
        """Note a thing, unless it was reached in this manner before."""
        before = self.manners.get(thing)
        if before is Manner.WHOLE or before is manner:
            return
        self.manners[thing] = manner
        if before is None:
            self.found.kinds[thing] = kind
            self.found.depths[thing] = depth
            self.next.setdefault((kind, Manner.PART), []).append(thing)
        if manner is Manner.WHOLE:
            self.next.setdefault((kind, Manner.WHOLE), []).append(thing)


def reach_forward(roots: Mapping[N, Kind], neighbours: Neighbours[N]) -> Closure[N]:
    """Return everything that some causes reach, towards the client.

    Args:
        roots: the causes, each with its kind.
        neighbours: gives the neighbours of a set of things.
    """
    return _walk(roots, neighbours, Direction.FORWARD, ((FORWARD, Direction.FORWARD),))


def reach_backward(roots: Mapping[N, Kind], neighbours: Neighbours[N]) -> Closure[N]:
    """Return everything that some things came from, towards the maker.

    Args:
        roots: the things, each with its kind.
        neighbours: gives the neighbours of a set of things.
    """
    ways = ((BACKWARD, Direction.BACKWARD), (_ACROSS, Direction.FORWARD))
    return _walk(roots, neighbours, Direction.BACKWARD, ways)


_Ways = tuple[tuple[Mapping[tuple[Kind, Manner], tuple[Link, ...]], Direction], ...]


def _walk(roots: Mapping[N, Kind], neighbours: Neighbours[N], direction: Direction, ways: _Ways) -> Closure[N]:
    walk: _Walk[N] = _Walk(found=Closure(direction=direction))
    for thing, kind in roots.items():
        walk.reach(thing, kind, Manner.WHOLE, 0)
    depth = 0
    while walk.next:
        depth += 1
        frontier, walk.next = walk.next, {}
        for state, things in frontier.items():
            for rules, way in ways:
                for link in rules.get(state, ()):
                    _step(walk, link, way, neighbours(link, way, things), depth)
    return walk.found


def _step(walk: _Walk[N], link: Link, way: Direction, pairs: Iterable[tuple[N, N]], depth: int) -> None:
    """Take one link from a whole frontier."""
    joint = JOINTS[link]
    kind = joint.effect if way is Direction.FORWARD else joint.cause
    manner = Manner.PART if link in _PARTS else Manner.WHOLE
    for cause, effect in pairs:
        walk.found.edges.append((cause, link, effect))
        if kind is not None:
            walk.reach(effect if way is Direction.FORWARD else cause, kind, manner, depth)
