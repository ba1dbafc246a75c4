"""The links of the chain, asked for whole sets of things at once: standing facts only, corrected numbers followed.

A link is one statement over two ends. Either end may be given: the statement is the same, the condition stands at the
other side. Each row of a statement must stand, and so must the rows that two things share a text with (a lot, a
serial), so that what was corrected or taken back never counts.
"""

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import islice
from typing import Any, Final

from sqlalchemy import ColumnElement, Select, Table, func, select

from tracelabels.custody import ConsumableKind, Direction, Kind, Link, Name
from tracelabels.records.fact_reading import (
    FactReading,
    Pair,
    key_of,
    pair_of,
    same_pair,
    standing,
    standing_rows,
    wrote,
)
from tracelabels.records.facts import Fact, FactId
from tracelabels.records.kinds import KIND_OF, NAMINGS
from tracelabels.records.rows import fact_from
from tracelabels.records.schema import (
    bottle,
    chair,
    component,
    fact,
    pouch,
    pouch_content,
    print_run,
    printed_label,
    processing,
    tube,
)

CHUNK: Final = 500
"""How many things one statement asks about: far below the limits of both databases."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Way:
    """How the two ends of a link stand in the database."""

    cause: Pair
    """Columns that name the end on the maker's side."""
    effect: Pair
    """Columns that name the end on the client's side."""
    query: Any
    """Both ends, without a condition on either."""


def _ends(table: Table, column: str) -> Pair:
    """Return a pair of columns; ``thing`` is the thing that the row itself is about."""
    return pair_of(fact if column == "thing" else table, column)


def _named(table: Table, cause: str, effect: str) -> _Way:
    """Return the way over one row that names both ends."""
    above, below = _ends(table, cause), _ends(table, effect)
    return _Way(cause=above, effect=below, query=standing_rows(table, *above, *below))


def _item(table: Table, kind: Kind) -> _Way:
    """Return the way from the items of a kind to the fact that lists them."""
    way = _named(table, "item", "thing")
    first = fact.alias("first_fact")
    # Wrapped, so that no database begins with the index of kinds: that would walk every thing of the kind.
    is_kind = func.coalesce(first.c.kind, "") == NAMINGS[kind].kind.value
    query = way.query.join(first, same_pair(key_of(first), way.cause)).where(is_kind)
    return _Way(cause=way.cause, effect=way.effect, query=query)


def _by_lot(kind: ConsumableKind, table: Table, column: str, effect: str = "thing") -> _Way:
    """Return the way from a lot of a consumable to what bears its text."""
    lots, other = processing.consumable, fact.alias("lot_fact")
    above, below = pair_of(other, "thing"), _ends(table, effect)
    query = (
        select(*above, *below)
        .select_from(lots)
        .join(other, wrote(lots, other))
        .join(table, table.c[column] == lots.c.lot)
        .join(fact, wrote(table))
        .where(lots.c.kind == kind.value, standing(other), standing())
    )
    if effect != "thing":
        query = query.where(below[0].is_not(None))
    return _Way(cause=above, effect=below, query=query)


def _by_label(table: Table) -> _Way:
    """Return the way from a print run to the things whose serials stand on its labels, voided ones too."""
    other = fact.alias("label_fact")
    above, below = _ends(printed_label, "run"), _ends(table, "thing")
    query = (
        select(*above, *below)
        .select_from(printed_label)
        .join(other, wrote(printed_label, other))
        .join(table, table.c.serial == printed_label.c.serial)
        .join(fact, wrote(table))
        .where(standing(other), standing())
        .distinct()
    )
    return _Way(cause=above, effect=below, query=query)


_USED: Final = chair.client_use_items
_MET: Final = chair.incident_items

_WAYS: Final[Mapping[Link, Callable[[], _Way]]] = {
    Link.PRODUCT_BOTTLE: lambda: _named(bottle, "product", "thing"),
    Link.BOTTLE_PREPARATION: lambda: _named(component, "bottle", "thing"),
    Link.PREPARATION_TUBE: lambda: _named(tube, "preparation", "thing"),
    Link.PREPARATION_FILLED: lambda: _named(chair.fill, "preparation", "tube"),
    Link.TUBE_POUCH: lambda: _named(pouch_content, "tube", "thing"),
    Link.POUCH_TUBE: lambda: _named(pouch_content, "thing", "tube"),
    Link.STERILISER_LOAD: lambda: _named(processing.load, "steriliser", "thing"),
    Link.TEST_LOAD: lambda: _named(processing.spore_test, "thing", "load"),
    Link.LOAD_POUCH: lambda: _named(processing.load_pouches, "thing", "item"),
    Link.LOT_TUBE: lambda: _by_lot(ConsumableKind.TUBES, tube, "lot"),
    Link.LOT_POUCH: lambda: _by_lot(ConsumableKind.POUCH_MATERIAL, pouch, "material_lot"),
    Link.LOT_INDICATED_POUCH: lambda: _by_lot(
        ConsumableKind.INDICATORS, processing.indicator_reading, "lot", effect="pouch"
    ),
    Link.LOT_INDICATED_LOAD: lambda: _by_lot(
        ConsumableKind.INDICATORS, processing.indicator_reading, "lot", effect="load"
    ),
    Link.LOT_TEST: lambda: _by_lot(ConsumableKind.SPORE_TESTS, processing.spore_test, "lot"),
    Link.LOT_RUN: lambda: _by_lot(ConsumableKind.LABEL_STOCK, print_run, "stock_lot"),
    Link.RUN_TUBE: lambda: _by_label(tube),
    Link.RUN_POUCH: lambda: _by_label(pouch),
    Link.BOTTLE_USE: lambda: _item(_USED, Kind.BOTTLE),
    Link.TUBE_USE: lambda: _item(_USED, Kind.TUBE),
    Link.POUCH_USE: lambda: _item(_USED, Kind.POUCH),
    Link.LOT_USE: lambda: _item(_USED, Kind.CONSUMABLE),
    Link.USE_CLIENT: lambda: _named(chair.client_use, "thing", "client"),
    Link.BOTTLE_INCIDENT: lambda: _item(_MET, Kind.BOTTLE),
    Link.TUBE_INCIDENT: lambda: _item(_MET, Kind.TUBE),
    Link.POUCH_INCIDENT: lambda: _item(_MET, Kind.POUCH),
    Link.LOT_INCIDENT: lambda: _item(_MET, Kind.CONSUMABLE),
    Link.ITEM_INCIDENT: lambda: _named(_MET, "item", "thing"),
    Link.USE_INCIDENT: lambda: _named(chair.incident, "use", "thing"),
    Link.INCIDENT_USE: lambda: _named(chair.incident, "thing", "use"),
    Link.INCIDENT_CLIENT: lambda: _named(chair.incident, "thing", "client"),
    Link.USE_EVENT: lambda: _named(chair.adverse_event_uses, "item", "thing"),
    Link.EVENT_CLIENT: lambda: _named(chair.adverse_event, "thing", "client"),
}


@cache
def _way(link: Link) -> _Way:
    return _WAYS[link]()


class Tracing(FactReading):
    """Asks which things hang together."""

    def neighbours(
        self, link: Link, direction: Direction, things: Collection[FactId]
    ) -> Iterator[tuple[FactId, FactId]]:
        """Give each (cause, effect) of a link that stands today, for a set of things at one of its ends.

        Args:
            link: which link.
            direction: *forward* if the things are causes, *backward* if they are effects.
            things: any number of them.
        """
        way = _way(link)
        given, found = (way.cause, way.effect) if direction is Direction.FORWARD else (way.effect, way.cause)
        for a, b, c, d in self._pairs_among(way.query.where(found[1].is_not(None)), given, things):
            yield FactId(site=a, sequence=b), FactId(site=c, sequence=d)

    def kinds_of(self, things: Collection[FactId]) -> dict[FactId, Kind]:
        """Return of what kind each thing is; what has no name is left out."""
        own, found = key_of(fact), {}
        for site, sequence, kind in self._pairs_among(select(*own, fact.c.kind), own, things):
            known = KIND_OF.get(kind)
            if known is not None:
                found[FactId(site=site, sequence=sequence)] = known
        return found

    def names_of(self, kinds: Mapping[FactId, Kind]) -> dict[FactId, Name]:
        """Return what people call each of many things today.

        Args:
            kinds: the things, each with its kind.
        """
        found = {}
        for kind, things in by_kind(kinds).items():
            naming, own = NAMINGS[kind], pair_of(fact, "thing")
            columns = [naming.table.c[column] for column in naming.columns]
            query = select(*own, *columns).select_from(fact).join(naming.table, wrote(naming.table)).where(standing())
            for site, sequence, *parts in self._pairs_among(query, own, things):
                found[FactId(site=site, sequence=sequence)] = Name(kind, "/".join(parts))
        return found

    def facts_among(self, names: Collection[FactId]) -> dict[FactId, Fact]:
        """Return many facts, without their content: who wrote each down, and when."""
        rows = (row for condition in among(key_of(fact), names) for row in self._all(select(fact).where(condition)))
        return {found.id: found for found in map(fact_from, rows)}

    def _pairs(self, query: Select[Any]) -> Sequence[Any]:
        self._settle()
        return self._connection.execute(query).all()

    def _pairs_among(self, query: Select[Any], ends: Pair, things: Iterable[FactId]) -> Iterator[Any]:
        """Give the rows of a query whose ends are one of these things, asking about some of them at a time."""
        for condition in among(ends, things):
            yield from self._pairs(query.where(condition))


def by_kind(kinds: Mapping[FactId, Kind]) -> dict[Kind, list[FactId]]:
    """Return the things of each kind."""
    found: dict[Kind, list[FactId]] = defaultdict(list)
    for thing, kind in kinds.items():
        found[kind].append(thing)
    return found


def among(ends: Pair, things: Iterable[FactId]) -> Iterator[ColumnElement[bool]]:
    """Give conditions that a pair of columns names one of these things, for some of them at a time."""
    by_site: dict[int, list[int]] = defaultdict(list)
    for thing in things:
        by_site[thing.site].append(thing.sequence)
    for site, sequences in sorted(by_site.items()):
        source = iter(sorted(sequences))
        while chunk := list(islice(source, CHUNK)):
            yield (ends[0] == site) & ends[1].in_(chunk)
