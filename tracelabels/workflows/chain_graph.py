"""The chain around some things as a graph with names, ready to be shown as a tree, as JSON, as a picture."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import tzinfo
from typing import Final

from tracelabels.custody import Closure, Direction, Kind, Link, Name
from tracelabels.records import Detail, FactId, Reading
from tracelabels.words import in_words, local_minute


@dataclass(frozen=True, slots=True, kw_only=True)
class ChainNode:
    """One thing in the chain."""

    name: Name
    """What people call it today."""
    depth: int
    """How many links it lies from a beginning."""
    words: str = ""
    """What is worth saying beside its name."""
    fate: str | None = None
    """What became of it, for bottles, tubes and pouches, loads and spore tests."""
    marks: tuple[str, ...] = ()
    """What else speaks for or against it, in a few words each; what differs in them never stands together."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ChainEdge:
    """One link between two things."""

    cause: Name
    """The thing on the maker's side."""
    link: Link
    """What joins them."""
    effect: Name
    """The thing on the client's side."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ChainGraph:
    """Everything that was reached, one way."""

    direction: Direction
    """Which way: forward to the client, backward to the maker."""
    roots: tuple[Name, ...]
    """Where it begins."""
    nodes: Mapping[Name, ChainNode]
    """Every thing, the beginnings too."""
    edges: tuple[ChainEdge, ...]
    """Every link that was walked."""

    def of_kind(self, *kinds: Kind) -> tuple[Name, ...]:
        """Return the names of some kinds, in order."""
        return tuple(sorted(name for name in self.nodes if name.kind in kinds))


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """What is said of things beside their names."""

    fates: Mapping[FactId, str]
    """What became of each, as far as known."""
    marks: Mapping[FactId, tuple[str, ...]]
    """What else speaks for or against it."""


def named_graph(
    ledger: Reading,
    closure: Closure[FactId],
    *,
    names: Mapping[FactId, Name],
    roots: Mapping[FactId, Kind],
    said: Said,
    zone: tzinfo,
) -> ChainGraph:
    """Give every thing of a walk its name, and what is worth saying beside it.

    Args:
        ledger: the state that was walked.
        closure: the walk.
        names: what people call each of its things.
        roots: where it began.
        said: what became of things, and what speaks for or against them.
        zone: the practice's, for moments.
    """
    details = ledger.details_of(closure.kinds)
    nodes = {}
    for thing in closure.kinds:
        words = _words(details.get(thing), closure.kinds[thing], zone)
        name = names[thing]
        nodes[name] = ChainNode(
            name=name,
            depth=closure.depths[thing],
            words=words,
            fate=said.fates.get(thing),
            marks=said.marks.get(thing, ()),
        )
    edges = (_edge(names[a], link, names[b]) for a, link, b in closure.edges)
    return ChainGraph(
        direction=closure.direction,
        roots=tuple(names[one] for one in roots),
        nodes=nodes,
        edges=tuple(dict.fromkeys(edges)),
    )


def _words(detail: Detail | None, kind: Kind, zone: tzinfo) -> str:
    """Say what is worth saying beside a name."""
    if detail is None:
        return ""
    known = [detail.words] if _says(kind) else []
    known += [local_minute(detail.at, zone)] if detail.at else []
    known += [detail.day.isoformat()] if detail.day else []
    return ", ".join(in_words(one) if one == one.lower() else one for one in known)


_TURNED: Final = {Link.POUCH_TUBE: Link.TUBE_POUCH, Link.INCIDENT_USE: Link.USE_INCIDENT}
"""Links that say the same as another the other way round; in a picture one of them is enough."""


def _edge(cause: Name, link: Link, effect: Name) -> ChainEdge:
    if link in _TURNED:
        return ChainEdge(cause=effect, link=_TURNED[link], effect=cause)
    return ChainEdge(cause=cause, link=link, effect=effect)


def _says(kind: Kind) -> bool:
    """Say whether a kind's own words are worth reading beside its name."""
    return kind not in {Kind.USE, Kind.ADVERSE_EVENT}


def links_between(graph: ChainGraph) -> Mapping[Name, list[tuple[Link, Name]]]:
    """Return for each thing where the walk went from it: the link, and the thing at its other end."""
    found: dict[Name, list[tuple[Link, Name]]] = {}
    for edge in graph.edges:
        is_forward = graph.nodes[edge.cause].depth <= graph.nodes[edge.effect].depth
        start, end = (edge.cause, edge.effect) if is_forward else (edge.effect, edge.cause)
        found.setdefault(start, []).append((edge.link, end))
    return found
