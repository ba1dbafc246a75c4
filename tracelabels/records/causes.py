"""Where a trace begins, and what stands beside its things: batches, lots, times, erasures; for whole sets of things."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from functools import cache
from typing import Any, Final

from sqlalchemy import ColumnElement, Select, Table, func, select, union

from tracelabels.custody import ConsumableKind, CycleKind, Kind
from tracelabels.records.among import among
from tracelabels.records.fact_reading import erased, key_of, names, pair_of, same_pair, standing, standing_rows, wrote
from tracelabels.records.facts import FactId
from tracelabels.records.rows import instant_text
from tracelabels.records.schema import (
    bottle,
    chair,
    component,
    fact,
    pouch,
    preparation,
    print_run,
    processing,
    product,
    tube,
)
from tracelabels.records.tracing import Tracing, by_kind


@dataclass(frozen=True, slots=True, kw_only=True)
class Detail:
    """What is worth saying of a thing beside its name."""

    words: str
    """Product and batch, programme, layout, and so on; may be empty."""
    at: datetime | None = None
    """When (UTC), where a moment is known."""
    day: date | None = None
    """The day, where only that is known."""


_THING: Final = pair_of(fact, "thing")
_LOTS: Final[Mapping[ConsumableKind, tuple[Table, str, Kind]]] = {
    ConsumableKind.TUBES: (tube, "lot", Kind.TUBE),
    ConsumableKind.POUCH_MATERIAL: (pouch, "material_lot", Kind.POUCH),
    ConsumableKind.SPORE_TESTS: (processing.spore_test, "lot", Kind.SPORE_TEST),
    ConsumableKind.LABEL_STOCK: (print_run, "stock_lot", Kind.PRINT_RUN),
}
_DETAILS: Final[Mapping[Kind, tuple[Table, str, str]]] = {
    Kind.PREPARATION: (preparation, "variant", "prepared_on"),
    Kind.LOAD: (processing.load, "programme", "started_at"),
    Kind.SPORE_TEST: (processing.spore_test, "placement", "at"),
    Kind.PRINT_RUN: (print_run, "layout", "printed_on"),
    Kind.USE: (chair.client_use, "practitioner", "at"),
    Kind.INCIDENT: (chair.incident, "kind", "at"),
    Kind.ADVERSE_EVENT: (chair.adverse_event, "number", "onset"),
}


class CauseReading(Tracing):
    """Finds where a trace begins."""

    def bottles_of_batch(self, batch: str, *, maker: str | None = None) -> list[tuple[FactId, str]]:
        """Return each bottle of a maker's batch with its maker, as on record today."""
        query = _bottles_with(product.c.maker).where(bottle.c.batch == batch)
        if maker is not None:
            query = query.where(product.c.maker == maker)
        return [(FactId(site=a, sequence=b), maker) for a, b, maker in self._pairs(query.order_by(*_THING))]

    def preparations_with_diluent(self, batch: str, *, name: str | None = None) -> list[tuple[FactId, str]]:
        """Return each preparation into which a batch of a diluent went, with the diluent's name."""
        query = standing_rows(component, *_THING, component.c.diluent_name).where(component.c.diluent_batch == batch)
        if name is not None:
            query = query.where(component.c.diluent_name == name)
        return [(FactId(site=a, sequence=b), called) for a, b, called in self._pairs(query.order_by(*_THING))]

    def things_of_kind(self, kind: Kind) -> dict[FactId, Kind]:
        """Return everything of a kind that was ever recorded, also what was taken back since."""
        query = select(*key_of(fact)).where(fact.c.kind == kind.value, fact.c.version == 1)
        return {FactId(site=a, sequence=b): kind for a, b in self._pairs(query.order_by(*key_of(fact)))}

    def lots_called(self, lot: str) -> list[tuple[FactId, ConsumableKind]]:
        """Return the lots of consumables on record that bear a text."""
        table = processing.consumable
        rows = self._pairs(standing_rows(table, *_THING, table.c.kind).where(table.c.lot == lot).order_by(*_THING))
        return [(FactId(site=a, sequence=b), ConsumableKind(kind)) for a, b, kind in rows]

    def things_with_lot(self, kind: ConsumableKind, lot: str) -> dict[FactId, Kind]:
        """Return what bears the text of a lot, also if the lot itself was never entered."""
        if kind not in _LOTS:
            return {}
        table, column, what = _LOTS[kind]
        query = standing_rows(table, *_THING).where(table.c[column] == lot).order_by(*_THING)
        return {FactId(site=a, sequence=b): what for a, b in self._pairs(query)}

    def loads_of_process(self, steriliser: FactId, cycle_kind: CycleKind) -> list[tuple[FactId, str, datetime]]:
        """Return each load of a steriliser and cycle kind with its number and start, in the order of time."""
        load = processing.load
        query = standing_rows(load, *_THING, load.c.number, load.c.started_at)
        query = query.where(names("steriliser", load, steriliser), load.c.cycle_kind == cycle_kind.value)
        rows = self._pairs(query.order_by(load.c.started_at, *_THING))
        return [(FactId(site=a, sequence=b), number, datetime.fromisoformat(at)) for a, b, number, at in rows]

    def uses_before(self, client: FactId, moment: datetime) -> tuple[FactId, ...]:
        """Return the uses on a client before a moment, in the order of time."""
        use = chair.client_use
        query = standing_rows(use, *_THING).where(names("client", use, client), use.c.at < instant_text(moment))
        return tuple(FactId(site=a, sequence=b) for a, b in self._pairs(query.order_by(use.c.at, *_THING)))

    def erased_among(self, things: Iterable[FactId]) -> set[FactId]:
        """Return those of some things about which something personal was erased."""
        query = select(*_THING).where(erased(key_of(fact)))
        return {FactId(site=a, sequence=b) for a, b in self._pairs_among(query, _THING, things)}

    def count_used(self, clients: Collection[FactId], lists: Collection[FactId]) -> int:
        """Count the bottles, tubes and pouches that some uses and incidents name, and all those on some clients.

        This is the second count of what was used, apart from the walk that lists it.
        """
        named, made = [], fact.alias("made")
        for table, items in ((chair.client_use, chair.client_use_items), (chair.incident, chair.incident_items)):
            query = standing_rows(items, *pair_of(items, "item")).join(table, wrote(table, items))
            named += [query.where(condition) for condition in among(pair_of(table, "client"), clients)]
            named += [query.where(condition) for condition in among(_THING, lists)]
        if not named:
            return 0
        found = union(*named).subquery()
        kinds = [Kind.BOTTLE.value, Kind.TUBE.value, Kind.POUCH.value]
        count = select(func.count()).select_from(found)
        count = count.join(made, same_pair(key_of(made), pair_of(found, "item")))
        return int(next(iter(self._pairs(count.where(made.c.kind.in_(kinds)))))[0])

    def details_of(self, kinds: Mapping[FactId, Kind]) -> dict[FactId, Detail]:
        """Return what is worth saying of each of many things beside its name.

        Args:
            kinds: the things, each with its kind.
        """
        things_of = by_kind(kinds)
        found = self._bottle_details(things_of.get(Kind.BOTTLE, ()))
        for kind, things in things_of.items():
            if kind in _DETAILS:
                table, words, when = _DETAILS[kind]
                query = standing_rows(table, *_THING, table.c[words], table.c[when])
                for a, b, said, moment in self._pairs_among(query, _THING, things):
                    found[FactId(site=a, sequence=b)] = _detail(str(said), moment)
        return found

    def _bottle_details(self, bottles: Collection[FactId]) -> dict[FactId, Detail]:
        query = _bottles_with(product.c.name, bottle.c.batch)
        return {
            FactId(site=a, sequence=b): Detail(words=f"{name}, batch {batch}")
            for a, b, name, batch in self._pairs_among(query, _THING, bottles)
        }


@cache
def _bottles_with(*columns: ColumnElement[Any]) -> Select[Any]:
    """Return the query for the bottles that stand, each with columns of its own or of its product."""
    of = fact.alias("of")
    made_of = same_pair(pair_of(of, "thing"), pair_of(bottle, "product"))
    query = standing_rows(bottle, *_THING, *columns).join(of, made_of).join(product, wrote(product, of))
    return query.where(standing(of))


def _detail(words: str, when: date | str) -> Detail:
    if isinstance(when, date):
        return Detail(words=words, day=when)
    return Detail(words=words, at=datetime.fromisoformat(when))
