"""The links of the chain, asked for whole sets of things at once: standing facts only, corrected numbers followed.

A link is one statement over two ends. Either end may be given: the statement is the same, the condition stands at the
other side. Each row of a statement must stand, and so must the rows that two things share a text with (a lot, a
serial), so that what was corrected or taken back never counts.
"""

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any, Final

from sqlalchemy import ColumnElement, Select, Table, exists, select, true

from tracelabels.custody import ConsumableKind, Direction, Kind, Link, Name
from tracelabels.records.among import Pair, among, chunks, is_given
from tracelabels.records.fact_reading import (
    FactReading,
    OwnFact,
    key_of,
    pair_of,
    same_pair,
    standing,
    standing_of_given,
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


@dataclass(frozen=True, slots=True, kw_only=True)
class _Way:
    """The two statements of a link. Each row of them names the end that was given, then the other; all stand."""

    forward: Any
    """A chunk of causes is given."""
    backward: Any
    """A chunk of effects is given."""


def _named(table: Table, cause: str, effect: str, *, kind: Kind | None = None) -> _Way:
    """Return the way over one row that names both ends; ``thing`` is the thing that the row itself is about.

    Args:
        table: the rows.
        cause: its pair of columns for the end on the maker's side.
        effect: that for the client's side.
        kind: kind of the causes, where the columns alone do not tell it.
    """
    return _Way(forward=_rows(table, cause, effect), backward=_rows(table, effect, cause, kind=kind))


def _rows(table: Table, given: str, found: str, *, kind: Kind | None = None) -> Any:  # noqa: ANN401  a query
    """Return the statement over one row from one of its ends to the other, which is of a kind if one is said."""
    if given == "thing":
        end = pair_of(table, found)
        is_kind = true() if kind is None else _is_kind(end, kind)
        return standing_of_given(table, *end, where=end[1].is_not(None) & is_kind)
    begin, own = pair_of(table, given), OwnFact.of(table)
    end = own.thing if found == "thing" else pair_of(table, found)
    query = own.standing(select(*begin, *end).select_from(table)).where(is_given(begin))
    return query if found == "thing" else query.where(end[1].is_not(None))


def _is_kind(thing: Pair, kind: Kind) -> ColumnElement[bool]:
    first = fact.alias("first_fact")
    return exists().where(same_pair(key_of(first), thing), first.c.kind == NAMINGS[kind].kind.value)


def _item(table: Table, kind: Kind) -> _Way:
    """Return the way from the items of a kind to the fact that lists them."""
    return _named(table, "item", "thing", kind=kind)


def _by_text(table: Table, below: str, tell: Select[Any], above: Pair, *, same: ColumnElement[bool]) -> _Way:
    """Return the way over a text that two rows share.

    Args:
        table: the row on the client's side.
        below: column of that row which names the effect.
        tell: the rows on the maker's side that stand, without columns.
        above: the columns that name the cause.
        same: the condition that the two rows share the text.
    """
    said, own = tell.join(table, same), OwnFact.of(table)
    if below == "thing":
        thing = pair_of(fact, "thing")
        back = said.add_columns(*thing, *above).join(fact, wrote(table)).where(standing(), is_given(thing))
        return _Way(forward=own.standing(said.add_columns(*above, *own.thing)).where(is_given(above)), backward=back)
    end = pair_of(table, below)
    forward = own.standing(said.add_columns(*above, *end)).where(is_given(above), end[1].is_not(None))
    return _Way(forward=forward, backward=own.standing(said.add_columns(*end, *above)).where(is_given(end)))


def _by_lot(kind: ConsumableKind, table: Table, column: str, effect: str = "thing") -> _Way:
    """Return the way from a lot of a consumable to what bears its text."""
    lots, other = processing.consumable, fact.alias("lot_fact")
    tell = select().select_from(lots).join(other, wrote(lots, other)).where(lots.c.kind == kind.value, standing(other))
    return _by_text(table, effect, tell, pair_of(other, "thing"), same=table.c[column] == lots.c.lot)


def _by_label(table: Table) -> _Way:
    """Return the way from a print run to the things whose serials stand on its labels, voided ones too."""
    other = fact.alias("label_fact")
    tell = select().distinct().select_from(printed_label).join(other, wrote(printed_label, other))
    same = table.c.serial == printed_label.c.serial
    return _by_text(table, "thing", tell.where(standing(other)), pair_of(printed_label, "run"), same=same)


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
    """Return the statements of a link, made once: to make them for each set took as long as the answer."""
    return _WAYS[link]()


@cache
def _name_question(kind: Kind) -> Any:  # noqa: ANN401  a query
    """Return the statement for the names of a kind of thing, made once as well."""
    naming = NAMINGS[kind]
    return standing_of_given(naming.table, *(naming.table.c[column] for column in naming.columns), where=true())


class Tracing(FactReading):
    """Asks which things hang together."""

    def neighbours(
        self, link: Link, direction: Direction, things: Collection[FactId]
    ) -> Iterator[tuple[FactId, FactId]]:
        """Give each (cause, effect) of a link that stands today, for a set of things at one of its ends.

        Args:
            link: which link.
            direction: *forward* if the things are causes, *backward* if they are effects.
            things: any number of them, of the kind that the link joins at that end.
        """
        is_forward, way = direction is Direction.FORWARD, _way(link)
        for given, found in self._answers(way.forward if is_forward else way.backward, things):
            other = FactId(site=found[0], sequence=found[1])
            yield (given, other) if is_forward else (other, given)

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
            for thing, parts in self._answers(_name_question(kind), things):
                found[thing] = Name(kind, "/".join(parts))
        return found

    def facts_among(self, names: Collection[FactId]) -> dict[FactId, Fact]:
        """Return many facts, without their content: who wrote each down, and when."""
        rows = (row for condition in among(key_of(fact), names) for row in self._all(select(fact).where(condition)))
        return {found.id: found for found in map(fact_from, rows)}

    def _pairs(self, query: Select[Any], values: Mapping[str, Any] | None = None) -> Sequence[Any]:
        self._settle()
        return self._connection.execute(query, values).all()

    def _answers(self, query: Any, things: Iterable[FactId]) -> Iterator[tuple[FactId, Sequence[Any]]]:  # noqa: ANN401  a query
        """Give each row of a statement about given things: the thing, and the rest of the row."""
        for chunk in chunks(things):
            known = chunk.things
            for _, sequence, *rest in self._pairs(query, chunk.values):
                yield known[sequence], rest

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
