"""The chain made small enough to be read: equal siblings stand together, *38 tubes* instead of 38 lines."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from tracelabels.custody import JOINTS, Kind, Link, Name
from tracelabels.words import in_words
from tracelabels.workflows.chain_graph import ChainGraph, ChainNode, links_between

FEW: Final = 3
"""So many equal siblings are still shown one by one."""
SMALL: Final = 24
"""A chain of so many things is shown whole."""

_PLURALS: Final = {Kind.POUCH: "pouches", Kind.STERILISER: "sterilisers"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Things of one kind that came from the same things, and of which the same is said."""

    nodes: tuple[ChainNode, ...]
    """The things, by name."""

    @property
    def kind(self) -> Kind:
        """Return their kind."""
        return self.nodes[0].name.kind

    @property
    def title(self) -> str:
        """Return what they are called: the one name, or how many there are."""
        kind = in_words(self.kind)
        if len(self.nodes) == 1:
            return f"{kind} {self.nodes[0].name.text}"
        return f"{len(self.nodes)} {_PLURALS.get(self.kind, kind + 's')}"

    @property
    def words(self) -> str:
        """Return what is worth saying beside it."""
        first = self.nodes[0]
        if len(self.nodes) == 1:
            return first.words
        return f"{first.name.text} \N{EN DASH} {self.nodes[-1].name.text}"

    @property
    def fate(self) -> str | None:
        """Return what became of them."""
        return self.nodes[0].fate

    @property
    def marks(self) -> tuple[str, ...]:
        """Return what else speaks for or against them."""
        return self.nodes[0].marks


@dataclass(frozen=True, slots=True, kw_only=True)
class Branch:
    """One line of a tree."""

    depth: int
    """How deep it stands."""
    link: Link | None
    """What joins it to the line above; None for a beginning."""
    group: Group
    """What stands there."""
    is_repeated: bool
    """Whether it was shown before; then what follows is not shown again."""
    is_last: tuple[bool, ...]
    """For each level down to this line, whether it is the last of its siblings."""


def group_chain(graph: ChainGraph) -> dict[Name, Group]:
    """Return the group of each thing; things stand together if they are alike and there are more than a few of them."""
    before: dict[Name, list[tuple[Link, Name]]] = defaultdict(list)
    for start, ends in links_between(graph).items():
        for link, end in ends:
            before[end].append((link, start))
    groups: dict[Name, Group] = {}
    for depth in sorted({node.depth for node in graph.nodes.values()}):
        alike: dict[object, list[ChainNode]] = defaultdict(list)
        for name, node in sorted(graph.nodes.items()):
            if node.depth == depth:
                origin = frozenset((link, id(groups[one])) for link, one in before[name] if one in groups)
                alike[(name.kind, node.fate, node.marks, origin)].append(node)
        for nodes in alike.values():
            together = len(nodes) > FEW and len(graph.nodes) > SMALL
            for part in [nodes] if together else [[node] for node in nodes]:
                group = Group(nodes=tuple(part))
                groups |= {node.name: group for node in part}
    return groups


def tree_of(graph: ChainGraph) -> Iterator[Branch]:
    """Give the lines of the chain as a tree, beginnings first; what was shown before is not unfolded again."""
    groups = group_chain(graph)
    below = _children(graph, groups)
    shown: set[int] = set()
    roots = list({id(groups[name]): groups[name] for name in graph.roots}.values())
    stack: list[tuple[int, Link | None, Group, tuple[bool, ...]]] = [(0, None, group, ()) for group in reversed(roots)]
    while stack:
        depth, link, group, is_last = stack.pop()
        children = below.get(id(group), ())
        is_repeated = id(group) in shown
        yield Branch(depth=depth, link=link, group=group, is_repeated=is_repeated and bool(children), is_last=is_last)
        if not is_repeated:
            shown.add(id(group))
            lines = [
                (depth + 1, by, child, (*is_last, place == len(children) - 1))
                for place, (by, child) in enumerate(children)
            ]
            stack += reversed(lines)


def _children(graph: ChainGraph, groups: Mapping[Name, Group]) -> dict[int, Sequence[tuple[Link, Group]]]:
    found: dict[int, dict[tuple[Link, int], tuple[Link, Group]]] = defaultdict(dict)
    for start, ends in links_between(graph).items():
        for link, end in ends:
            if graph.nodes[end].depth > graph.nodes[start].depth:
                found[id(groups[start])].setdefault((link, id(groups[end])), (link, groups[end]))
    order = {kind: place for place, kind in enumerate(Kind)}
    return {
        group: sorted(children.values(), key=lambda one: (order[one[1].kind], one[1].nodes[0].name))
        for group, children in found.items()
    }


def say_link(link: Link, below: Kind) -> str:
    """Say what a link means, read from the thing above in a tree to the one below.

    Args:
        link: what joins them.
        below: the kind of thing below.
    """
    joint = JOINTS[link]
    return joint.words if joint.effect is below else joint.back
