"""A picture of the chain, as SVG or PDF: columns from the maker to the client, equal siblings as one box."""

import itertools
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from tracelabels.custody import Kind, Name
from tracelabels.lengths import Mm, Points
from tracelabels.paper import Face
from tracelabels.workflows.chain_cards import Card
from tracelabels.workflows.chain_graph import ChainGraph
from tracelabels.workflows.chain_groups import Group, group_chain
from tracelabels.workflows.chain_panels import Panel, place_cards
from tracelabels.workflows.chain_text import Words, block

COLUMNS: Final[Mapping[Kind, int]] = {
    Kind.PRODUCT: 0,
    Kind.CONSUMABLE: 0,
    Kind.BOTTLE: 1,
    Kind.STERILISER: 1,
    Kind.PREPARATION: 2,
    Kind.SPORE_TEST: 2,
    Kind.PRINT_RUN: 2,
    Kind.TUBE: 3,
    Kind.LOAD: 3,
    Kind.POUCH: 4,
    Kind.USE: 5,
    Kind.INCIDENT: 6,
    Kind.ADVERSE_EVENT: 6,
    Kind.CLIENT: 7,
}
BOX: Final = (40.0, 9.0)
"""How wide a box is, and how high at least, in millimetres: a chain from maker to client is as wide as an A3 page."""
GAP: Final = (12.0, 3.5)
MARGIN: Final = 8.0
PASSING: Final = 1.0
SWEEPS: Final = 8
PAPERS: Final = ((297.0, 210.0), (420.0, 297.0))
"""A4 and A3, lying down, in millimetres."""
_PAD: Final = 1.8
_AFTER: Final = 6.0
"""Between the head, the chain and the cards, in millimetres."""
_TITLE, _NAME, _TEXT = Points(12.0), Points(7.5), Points(6.0)
_NOTE: Final = Points(7.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """One box of the picture."""

    group: Group
    """What it stands for."""
    left: Mm
    """From the picture's left edge."""
    top: Mm
    """From its top edge."""
    height: Mm
    """How high."""
    words: tuple[Words, ...]
    """What stands in it."""
    is_root: bool
    """Whether the question began here."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stop:
    """Where a line meets a box, or passes a column."""

    left: Mm
    """The column's left edge."""
    right: Mm
    """Its right edge."""
    y: Mm
    """How far down."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """Where everything stands."""

    title: str
    """What was asked."""
    width: Mm
    """Of the whole."""
    height: Mm
    """Of the whole."""
    boxes: tuple[Box, ...]
    """The boxes, column by column."""
    lines: tuple[tuple[Stop, ...], ...]
    """What hangs together, left to right."""
    panels: tuple[Panel, ...]
    """What is told below the chain."""
    words: tuple[Words, ...]
    """What stands above and below it all."""


def lay_out(
    title: str,
    graphs: Iterable[ChainGraph],
    *,
    cards: Sequence[Card] = (),
    above: Sequence[str] = (),
    below: Sequence[str] = (),
) -> Picture:
    """Place the boxes of one or two walks, and what is told below them.

    A column for each step of the chain, lines as straight as they go; boxes are as high as their words ask for.

    Args:
        title: what was asked.
        graphs: the walks.
        cards: what is told at length.
        above: lines below the title.
        below: lines at the foot.
    """
    grid, boxes, roots = _gridded(graphs)
    chain = len(grid.columns) * (BOX[0] + GAP[0]) - GAP[0]
    wide = next((paper for paper, _ in PAPERS if chain + 2 * MARGIN <= paper), chain + 2 * MARGIN)
    room, grid.left = wide - 2 * MARGIN, (wide - chain) / 2
    head, grid.top = block([title], left=MARGIN, top=MARGIN, width=room, size=_TITLE, face=Face.BOLD)
    notes, grid.top = block(above, left=MARGIN, top=grid.top, width=room, size=_NOTE)
    grid.top += _AFTER
    tops = grid.tops()
    placed = [grid.box(one, group, tops, roots) for one, group in boxes.items()]
    panels = place_cards(cards, left=MARGIN, top=grid.top + grid.height + _AFTER, room=room)
    ends = max([grid.top + grid.height, *(one.top + one.height for one in panels)]) + _AFTER
    foot, ends = block(below, left=MARGIN, top=ends, width=room, size=_NOTE)
    return Picture(
        title=title,
        width=Mm(wide),
        height=Mm(ends + MARGIN),
        boxes=tuple(placed),
        lines=tuple(tuple(grid.point(one, tops) for one in line) for line in grid.lines),
        panels=panels,
        words=(*head, *notes, *foot),
    )


def _gridded(graphs: Iterable[ChainGraph]) -> "tuple[_Grid, Mapping[int, Group], Collection[Name]]":
    """Return the boxes of some walks in their columns, neighbours near each other; the boxes; the beginnings."""
    groups: dict[Name, Group] = {}
    roots: set[Name] = set()
    edges: set[tuple[Name, Name]] = set()
    for graph in graphs:
        roots |= set(graph.roots)
        groups = {**group_chain(graph), **groups}
        edges |= {(one.cause, one.effect) for one in graph.edges}
    boxes = {id(group): group for group in sorted(groups.values(), key=_name)}
    pairs = sorted({(_name(groups[a]), _name(groups[b]), id(groups[a]), id(groups[b])) for a, b in edges})
    sizes = {one: _words(group, left=0.0, top=0.0)[1] for one, group in boxes.items()}
    grid = _Grid.of(boxes, [(a, b) for *_, a, b in pairs if a != b], sizes)
    grid.order()
    return grid, boxes, roots


def _words(group: Group, *, left: float, top: float) -> tuple[tuple[Words, ...], float]:
    """Return what stands in a box, and how high the box is for it."""
    start, room = left + _PAD, BOX[0] - 2 * _PAD
    name, y = block([group.title], left=start, top=top + _PAD, width=room, size=_NAME, face=Face.BOLD)
    texts = [text for text in (group.words, group.fate, *group.marks) if text]
    told, y = block(texts, left=start, top=y, width=room, size=_TEXT)
    return (*name, *told), max(BOX[1], y + _PAD - top)


def _name(group: Group) -> tuple[int, Name]:
    return (list(Kind).index(group.kind), group.nodes[0].name)


@dataclass(slots=True, kw_only=True)
class _Grid:
    """Boxes in columns, and lines that pass through a narrow place of their own in each column between."""

    columns: list[list[int]]
    """What stands in each column, top to bottom: boxes, and places where lines pass."""
    column: dict[int, int]
    """The column of each."""
    lines: list[list[int]]
    """Each line as what it runs through, left to right."""
    sizes: Mapping[int, float]
    """How high each box is; what has none is a place where a line passes."""
    left: float = 0.0
    """Where the first column begins."""
    top: float = 0.0
    """Where all columns begin."""

    @classmethod
    def of(cls, boxes: Mapping[int, Group], joined: Sequence[tuple[int, int]], sizes: Mapping[int, float]) -> "_Grid":
        """Put each box into its column, and each line through every column between its ends."""
        used = sorted({COLUMNS[group.kind] for group in boxes.values()})
        column = {one: used.index(COLUMNS[group.kind]) for one, group in boxes.items()}
        columns: list[list[int]] = [[] for _ in used]
        for one in boxes:
            columns[column[one]].append(one)
        lines, fresh = [], itertools.count(-1, -1)
        for a, b in joined:
            first, last = sorted((a, b), key=lambda one: column[one])
            between = range(column[first] + 1, column[last])
            passing = [next(fresh) for _ in between]
            for one, place in zip(passing, between, strict=True):
                column[one] = place
                columns[place].append(one)
            lines.append([first, *passing, last])
        return cls(columns=columns, column=column, lines=lines, sizes=sizes)

    def order(self) -> None:
        """Bring neighbours near each other, column by column (the barycentre method)."""
        near: dict[int, list[int]] = defaultdict(list)
        for line in self.lines:
            for a, b in pairwise(line):
                near[a].append(b)
                near[b].append(a)
        for sweep in range(SWEEPS):
            places = range(len(self.columns))
            for place in places if sweep % 2 == 0 else reversed(places):
                tops = self.tops()
                middle = {one: self._mean([*near[one]] or [one], tops) for one in self.columns[place]}
                self.columns[place].sort(key=middle.__getitem__)

    def tops(self) -> dict[int, float]:
        """Return where each stands, all columns centred about one line."""
        found = {}
        for column in self.columns:
            top = (self.height - self._length(column)) / 2
            for one in column:
                found[one] = top
                top += self._size(one) + GAP[1]
        return found

    @property
    def height(self) -> float:
        """Return the height of the tallest column."""
        return max((self._length(column) for column in self.columns), default=BOX[1])

    def box(self, one: int, group: Group, tops: Mapping[int, float], roots: Collection[Name]) -> Box:
        """Return a box in its place."""
        left, top = self._left(one), self.top + tops[one]
        words, height = _words(group, left=left, top=top)
        is_root = any(node.name in roots for node in group.nodes)
        return Box(group=group, left=Mm(left), top=Mm(top), height=Mm(height), words=words, is_root=is_root)

    def point(self, one: int, tops: Mapping[int, float]) -> Stop:
        """Return where lines meet a box or pass a column."""
        left = self._left(one)
        return Stop(left=Mm(left), right=Mm(left + BOX[0]), y=Mm(self.top + tops[one] + self._size(one) / 2))

    def _left(self, one: int) -> float:
        return self.left + self.column[one] * (BOX[0] + GAP[0])

    def _mean(self, others: Sequence[int], tops: Mapping[int, float]) -> float:
        return sum(tops[one] + self._size(one) / 2 for one in others) / len(others)

    def _size(self, one: int) -> float:
        return self.sizes.get(one, PASSING)

    def _length(self, column: Sequence[int]) -> float:
        return sum(self._size(one) for one in column) + GAP[1] * max(0, len(column) - 1)


def course(line: Sequence[Stop]) -> list[tuple[Mm, Mm]]:
    """Return the points of a line: level past each column, a smooth bend between; in one column round the outside."""
    first, last = line[0], line[-1]
    if first.left == last.left:
        return bend((first.right, first.y), (last.right, last.y))
    points: list[tuple[Mm, Mm]] = []
    for a, b in pairwise(line):
        points += bend((a.right, a.y), (b.left, b.y))
    return points


def bend(start: tuple[float, float], end: tuple[float, float], *, parts: int = 24) -> list[tuple[Mm, Mm]]:
    """Return the points of a smooth line that leaves and arrives level."""
    (x0, y0), (x1, y1) = start, end
    arm = max(abs(x1 - x0) / 2, GAP[0] / 2)
    points = []
    for place in range(parts + 1):
        t = place / parts
        a, b, c, d = (1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3
        points.append((Mm(a * x0 + b * (x0 + arm) + c * (x1 - arm) + d * x1), Mm(a * y0 + (b * y0 + c * y1) + d * y1)))
    return points
