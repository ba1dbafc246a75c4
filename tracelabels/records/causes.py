"""Where a trace begins, and what stands beside its things: batches, lots, times, erasures; for whole sets of things."""

from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Final

from sqlalchemy import func, select, union

from tracelabels.custody import ConsumableKind, CycleKind, Kind
from tracelabels.records.fact_reading import standing, wrote
from tracelabels.records.facts import FactId
from tracelabels.records.rows import instant_text
from tracelabels.records.schema import (
    bottle,
    chair,
    component,
    erasure,
    fact,
    pouch,
    preparation,
    print_run,
    processing,
    product,
    tube,
)
from tracelabels.records.tracing import Tracing, among


@dataclass(frozen=True, slots=True, kw_only=True)
class Detail:
    """What is worth saying of a thing beside its name."""

    words: str
    """Product and batch, programme, layout, and so on; may be empty."""
    at: datetime | None = None
    """When (UTC), where a moment is known."""
    day: date | None = None
    """The day, where only that is known."""


_THING: Final = (fact.c.thing_site, fact.c.thing_sequence)
_LOTS: Final[Mapping[ConsumableKind, tuple[tuple[Any, Any, Kind], ...]]] = {
    ConsumableKind.TUBES: ((tube, tube.c.lot, Kind.TUBE),),
    ConsumableKind.POUCH_MATERIAL: ((pouch, pouch.c.material_lot, Kind.POUCH),),
    ConsumableKind.SPORE_TESTS: ((processing.spore_test, processing.spore_test.c.lot, Kind.SPORE_TEST),),
    ConsumableKind.LABEL_STOCK: ((print_run, print_run.c.stock_lot, Kind.PRINT_RUN),),
}
_DETAILS: Final[Mapping[Kind, tuple[Any, Any, Any]]] = {
    Kind.PREPARATION: (preparation, preparation.c.variant, preparation.c.prepared_on),
    Kind.LOAD: (processing.load, processing.load.c.programme, processing.load.c.started_at),
    Kind.SPORE_TEST: (processing.spore_test, processing.spore_test.c.placement, processing.spore_test.c.at),
    Kind.PRINT_RUN: (print_run, print_run.c.layout, print_run.c.printed_on),
    Kind.USE: (chair.client_use, chair.client_use.c.practitioner, chair.client_use.c.at),
    Kind.INCIDENT: (chair.incident, chair.incident.c.kind, chair.incident.c.at),
    Kind.ADVERSE_EVENT: (chair.adverse_event, chair.adverse_event.c.number, chair.adverse_event.c.onset),
}


class CauseReading(Tracing):
    """Finds where a trace begins."""

    def bottles_of_batch(self, batch: str, *, maker: str | None = None) -> list[tuple[FactId, str]]:
        """Return each bottle of a maker's batch with its maker, as on record today."""
        of = fact.alias("of")
        its = (of.c.thing_site == bottle.c.product_site) & (of.c.thing_sequence == bottle.c.product_sequence)
        query = (
            select(*_THING, product.c.maker)
            .select_from(bottle)
            .join(fact, wrote(bottle))
            .join(of, its)
            .join(product, wrote(product, of))
            .where(bottle.c.batch == batch, standing(), standing(of))
        )
        if maker is not None:
            query = query.where(product.c.maker == maker)
        return [(FactId(site=a, sequence=b), maker) for a, b, maker in self._pairs(query.order_by(*_THING))]

    def preparations_with_diluent(self, batch: str, *, name: str | None = None) -> list[tuple[FactId, str]]:
        """Return each preparation into which a batch of a diluent went, with the diluent's name."""
        query = select(*_THING, component.c.diluent_name).select_from(component).join(fact, wrote(component))
        query = query.where(component.c.diluent_batch == batch, standing())
        if name is not None:
            query = query.where(component.c.diluent_name == name)
        return [(FactId(site=a, sequence=b), called) for a, b, called in self._pairs(query.order_by(*_THING))]

    def things_of_kind(self, kind: Kind) -> dict[FactId, Kind]:
        """Return everything of a kind that was ever recorded, also what was taken back since."""
        query = select(fact.c.site, fact.c.sequence).where(fact.c.kind == kind.value, fact.c.version == 1)
        return {FactId(site=a, sequence=b): kind for a, b in self._pairs(query.order_by(fact.c.site, fact.c.sequence))}

    def lots_called(self, lot: str) -> list[tuple[FactId, ConsumableKind]]:
        """Return the lots of consumables on record that bear a text."""
        table = processing.consumable
        query = select(*_THING, table.c.kind).select_from(table).join(fact, wrote(table))
        rows = self._pairs(query.where(table.c.lot == lot, standing()).order_by(*_THING))
        return [(FactId(site=a, sequence=b), ConsumableKind(kind)) for a, b, kind in rows]

    def things_with_lot(self, kind: ConsumableKind, lot: str) -> dict[FactId, Kind]:
        """Return what bears the text of a lot, also if the lot itself was never entered."""
        found: dict[FactId, Kind] = {}
        for table, column, what in _LOTS.get(kind, ()):
            query = select(*_THING).select_from(table).join(fact, wrote(table)).where(column == lot, standing())
            found |= {FactId(site=a, sequence=b): what for a, b in self._pairs(query.order_by(*_THING))}
        return found

    def loads_of_process(self, steriliser: FactId, cycle_kind: CycleKind) -> list[tuple[FactId, str, datetime]]:
        """Return each load of a steriliser and cycle kind with its number and start, in the order of time."""
        load = processing.load
        query = select(*_THING, load.c.number, load.c.started_at).select_from(load).join(fact, wrote(load))
        query = query.where(
            load.c.steriliser_site == steriliser.site,
            load.c.steriliser_sequence == steriliser.sequence,
            load.c.cycle_kind == cycle_kind.value,
            standing(),
        )
        rows = self._pairs(query.order_by(load.c.started_at, *_THING))
        return [(FactId(site=a, sequence=b), number, datetime.fromisoformat(at)) for a, b, number, at in rows]

    def uses_before(self, client: FactId, moment: datetime) -> tuple[FactId, ...]:
        """Return the uses on a client before a moment, in the order of time."""
        use = chair.client_use
        query = select(*_THING).select_from(use).join(fact, wrote(use))
        mine = (use.c.client_site == client.site) & (use.c.client_sequence == client.sequence)
        query = query.where(mine, use.c.at < instant_text(moment), standing())
        return tuple(FactId(site=a, sequence=b) for a, b in self._pairs(query.order_by(use.c.at, *_THING)))

    def erased_among(self, things: Collection[FactId]) -> set[FactId]:
        """Return those of some things about which something personal was erased."""
        found: set[FactId] = set()
        query = select(*_THING).select_from(fact)
        query = query.join(
            erasure, (erasure.c.erased_site == fact.c.site) & (erasure.c.erased_sequence == fact.c.sequence)
        )
        for condition in among(_THING, things):
            found |= {FactId(site=a, sequence=b) for a, b in self._pairs(query.where(condition))}
        return found

    def count_used(self, clients: Collection[FactId], lists: Collection[FactId]) -> int:
        """Count the bottles, tubes and pouches that some uses and incidents name, and all those on some clients.

        This is the second count of what was used, apart from the walk that lists it.
        """
        named, made = [], fact.alias("made")
        for table, items in ((chair.client_use, chair.client_use_items), (chair.incident, chair.incident_items)):
            ends = (table.c.client_site, table.c.client_sequence)
            query = select(items.c.item_site, items.c.item_sequence).select_from(items)
            query = query.join(table, wrote(table, items)).join(fact, wrote(table)).where(standing())
            named += [query.where(condition) for condition in among(ends, clients)]
            named += [query.where(condition) for condition in among(_THING, lists)]
        if not named:
            return 0
        found = union(*named).subquery()
        kinds = [Kind.BOTTLE.value, Kind.TUBE.value, Kind.POUCH.value]
        count = select(func.count()).select_from(found)
        count = count.join(made, (made.c.site == found.c[0]) & (made.c.sequence == found.c[1]))
        return int(next(iter(self._pairs(count.where(made.c.kind.in_(kinds)))))[0])

    def details_of(self, kinds: Mapping[FactId, Kind]) -> dict[FactId, Detail]:
        """Return what is worth saying of each of many things beside its name.

        Args:
            kinds: the things, each with its kind.
        """
        by_kind: dict[Kind, list[FactId]] = defaultdict(list)
        for thing, kind in kinds.items():
            by_kind[kind].append(thing)
        found = self._bottle_details(by_kind.get(Kind.BOTTLE, ()))
        for kind, things in by_kind.items():
            if kind in _DETAILS:
                table, words, when = _DETAILS[kind]
                query = select(*_THING, words, when).select_from(fact).join(table, wrote(table)).where(standing())
                for condition in among(_THING, things):
                    for a, b, said, moment in self._pairs(query.where(condition)):
                        found[FactId(site=a, sequence=b)] = _detail(str(said), moment)
        return found

    def _bottle_details(self, bottles: Collection[FactId]) -> dict[FactId, Detail]:
        of = fact.alias("of")
        its = (of.c.thing_site == bottle.c.product_site) & (of.c.thing_sequence == bottle.c.product_sequence)
        query = (
            select(*_THING, product.c.name, bottle.c.batch)
            .select_from(fact)
            .join(bottle, wrote(bottle))
            .join(of, its)
            .join(product, wrote(product, of))
            .where(standing(), standing(of))
        )
        return {
            FactId(site=a, sequence=b): Detail(words=f"{name}, batch {batch}")
            for condition in among(_THING, bottles)
            for a, b, name, batch in self._pairs(query.where(condition))
        }


def _detail(words: str, when: date | str) -> Detail:
    if isinstance(when, date):
        return Detail(words=words, day=when)
    return Detail(words=words, at=datetime.fromisoformat(when))
