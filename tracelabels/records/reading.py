"""Fetching the things of the bench as they stand today: from the product to the printed label, and staff."""

from collections.abc import Callable, Iterator
from typing import Any

from sqlalchemy import ColumnElement, Select, Table, exists, func, select

from tracelabels.custody import Bottle, Component, Pouch, Preparation, PrintedLabel, PrintRun, Product, Tube
from tracelabels.records import rows
from tracelabels.records.causes import CauseReading
from tracelabels.records.counting import CountReading
from tracelabels.records.fact_reading import (
    current,
    every_version,
    key_of,
    names,
    pair_is,
    pair_of,
    pairs_in,
    same_pair,
    standing,
    standing_rows,
    wrote,
    wrote_by,
)
from tracelabels.records.facts import Fact, FactId, FactKind, Recorded, StaffMember
from tracelabels.records.happenings import HappeningReading
from tracelabels.records.kinds import SHAPE_OF_KIND
from tracelabels.records.notices import NoticeReading
from tracelabels.records.rows import Row, require_named, thing_named
from tracelabels.records.schema import (
    CONTENT_TABLES,
    bottle,
    bottle_event,
    component,
    fact,
    label_outcome,
    label_void,
    pouch,
    pouch_content,
    preparation,
    print_run,
    printed_label,
    product,
    sealed,
    staff,
    tube,
)
from tracelabels.records.shaped_reading import ShapedReading


class Reading(ShapedReading, HappeningReading, CauseReading, CountReading, NoticeReading):
    """One unchanging state of the ledger, to ask as long as its unit lasts: things of every kind."""

    # -- products and bottles ---------------------------------------------------------------------------------------

    def products(self, *, item_number: str | None = None) -> Iterator[Recorded[Product]]:
        """Give the products, of one item number if asked, by maker and item number."""
        query = current(product).order_by(product.c.maker, product.c.item_number)
        if item_number is not None:
            query = query.where(product.c.item_number == item_number)
        for row in self._stream(query):
            yield self._recorded(row, rows.product_from(row))

    def find_product(self, *, maker: str, item_number: str) -> Recorded[Product] | None:
        """Return the product with this maker and item number."""
        query = current(product).where(product.c.maker == maker, product.c.item_number == item_number)
        row = self._first(query.order_by(product.c.site, product.c.sequence))
        return None if row is None else self._recorded(row, rows.product_from(row))

    def bottles(self, *, batch: str | None = None, product_thing: FactId | None = None) -> Iterator[Recorded[Bottle]]:
        """Give the bottles, of one maker's batch or one product if asked, by serial."""
        query = current(bottle).order_by(bottle.c.serial)
        if batch is not None:
            query = query.where(bottle.c.batch == batch)
        if product_thing is not None:
            query = query.where(names("product", bottle, product_thing))
        for row in self._stream(query):
            yield self._recorded(row, self._bottle(row))

    def bottle_history(self, thing: FactId) -> tuple[Fact, ...]:
        """Return the facts that stand about what happened to a bottle: opened, finished, withdrawn."""
        query = select(fact).join(bottle_event, wrote(bottle_event)).where(names("bottle", bottle_event, thing))
        query = query.where(standing()).order_by(fact.c.site, fact.c.sequence)
        return tuple(rows.fact_from(row) for row in self._all(query))

    def find_bottle(self, serial: str) -> Recorded[Bottle] | None:
        """Return the bottle with this serial."""
        row = self._only(current(bottle).where(bottle.c.serial == serial), f"bottle {serial}")
        return None if row is None else self._recorded(row, self._bottle(row))

    # -- preparations, tubes, pouches ----------------------------------------------------------------------------------

    def preparations(self, *, bottle_thing: FactId | None = None) -> Iterator[Recorded[Preparation]]:
        """Give the preparations, with a component of one bottle if asked, by number."""
        query = current(preparation).order_by(preparation.c.number)
        if bottle_thing is not None:
            holds = exists().where(wrote(component, preparation), names("bottle", component, bottle_thing))
            query = query.where(holds)
        for row in self._stream(query):
            yield self._recorded(row, self._preparation(row))

    def find_preparation(self, number: str) -> Recorded[Preparation] | None:
        """Return the preparation with this number."""
        query = current(preparation).where(preparation.c.number == number)
        row = self._only(query, f"preparation {number}")
        return None if row is None else self._recorded(row, self._preparation(row))

    def find_tube(self, serial: str) -> Recorded[Tube] | None:
        """Return the tube with this serial."""
        row = self._only(current(tube).where(tube.c.serial == serial), f"tube {serial}")
        return None if row is None else self._recorded(row, self._tube(row))

    def tubes_of(self, number: str) -> Iterator[Recorded[Tube]]:
        """Give the tubes of a preparation, by serial."""
        found = self.find_preparation(number)
        if found is None:
            return
        for row in self._stream(current(tube).where(names("preparation", tube, found.thing)).order_by(tube.c.serial)):
            yield self._recorded(row, rows.tube_from(row, number))

    def find_pouch(self, serial: str) -> Recorded[Pouch] | None:
        """Return the pouch with this serial."""
        row = self._only(current(pouch).where(pouch.c.serial == serial), f"pouch {serial}")
        return None if row is None else self._recorded(row, self._pouch(row))

    def pouches_with(self, tube_serial: str) -> Iterator[Recorded[Pouch]]:
        """Give the pouches that a tube was packed in, by serial (more than one if it was packed again)."""
        found = self.find_tube(tube_serial)
        if found is None:
            return
        holds = exists().where(wrote(pouch_content, pouch), names("tube", pouch_content, found.thing))
        for row in self._stream(current(pouch).where(holds).order_by(pouch.c.serial)):
            yield self._recorded(row, self._pouch(row))

    # -- prints -----------------------------------------------------------------------------------------------------

    def print_runs(self) -> Iterator[Recorded[PrintRun]]:
        """Give the print runs, by number."""
        for row in self._stream(current(print_run).order_by(print_run.c.number)):
            yield self._recorded(row, self._print_run(row))

    def find_print_run(self, number: str) -> Recorded[PrintRun] | None:
        """Return the print run with this number."""
        row = self._only(current(print_run).where(print_run.c.number == number), f"print run {number}")
        return None if row is None else self._recorded(row, self._print_run(row))

    def labels_of_run(self, number: str) -> Iterator[Recorded[PrintedLabel]]:
        """Give the labels of a print run in the order printed, a few at a time."""
        found = self.find_print_run(number)
        if found is not None:
            yield from self._labels(names("run", printed_label, found.thing))

    def labels_with_serial(self, serial: str) -> tuple[Recorded[PrintedLabel], ...]:
        """Return every label ever printed for a serial, voided ones too, in the order printed."""
        return tuple(self._labels(printed_label.c.serial == serial))

    def labels_unaccounted(self) -> tuple[tuple[str, int], ...]:
        """Return the print runs with labels that were neither applied nor destroyed, each with how many; by number."""
        told, runs = fact.alias("told"), pair_of(printed_label, "run")
        is_told = exists().where(
            wrote(label_outcome, told),
            standing(told),
            same_pair(pair_of(label_outcome, "run"), runs),
            label_outcome.c.serial == printed_label.c.serial,
            label_outcome.c.kind == printed_label.c.kind,
        )
        query = standing_rows(printed_label, *runs, func.count().label("labels")).where(~is_told).group_by(*runs)
        counted = [(self.name_of(require_named("run", row)).text, row["labels"]) for row in self._all(query)]
        return tuple(sorted(counted))

    # -- staff ------------------------------------------------------------------------------------------------------

    def find_staff(self, code: str) -> Recorded[StaffMember] | None:
        """Return the member of staff with this code; without name and initials once they are erased."""
        query = (
            current(staff).add_columns(sealed.c.content).outerjoin(sealed, wrote(sealed)).where(staff.c.code == code)
        )
        row = self._first(query)
        return None if row is None else self._recorded(row, rows.staff_from(row))

    # -- whatever a fact says ---------------------------------------------------------------------------------------

    def said(self, at: FactId) -> object | None:
        """Return what a fact recorded, in that very version, whether it stands today or not.

        Names in it are today's. None for a fact without a value: a retraction, an erasure, a bottle's opening.
        """
        found = self.find_fact(at)
        shape = None if found is None else SHAPE_OF_KIND.get(found.kind)
        if found is None:
            return None
        if shape is not None:
            row = self._row_of(shape.table, at)
            return None if row is None else self._taken(shape, row).value
        if found.kind is FactKind.STAFF:
            query = every_version(staff).add_columns(sealed.c.content).outerjoin(sealed, wrote(sealed))
            row = self._first(query.where(pair_is(key_of(staff), at)))
            return None if row is None else rows.staff_from(row)
        takers: dict[FactKind, tuple[Table, Callable[[Row], object]]] = {
            FactKind.PRODUCT: (product, rows.product_from),
            FactKind.BOTTLE: (bottle, self._bottle),
            FactKind.PREPARATION: (preparation, self._preparation),
            FactKind.TUBE: (tube, self._tube),
            FactKind.POUCH: (pouch, self._pouch),
            FactKind.PRINT_RUN: (print_run, self._print_run),
        }
        if found.kind not in takers:
            return None
        table, take = takers[found.kind]
        row = self._row_of(table, at)
        return None if row is None else take(row)

    def facts_naming(self, thing: FactId) -> tuple[Fact, ...]:
        """Return every fact whose rows name a thing, in every version, in the order recorded at each site."""
        found: dict[FactId, Fact] = {}
        for table in CONTENT_TABLES:
            for pair in pairs_in(table):
                query = select(fact).join(table, wrote(table)).where(pair_is(pair, thing))
                found |= {one.id: one for one in map(rows.fact_from, self._all(query))}
        return tuple(found[at] for at in sorted(found))

    def bottle_of_event(self, at: FactId) -> str | None:
        """Return the serial of the bottle that was opened, finished or withdrawn by a fact; None for any other fact."""
        row = self._row_of(bottle_event, at)
        return None if row is None else self.name_of(require_named("bottle", row)).text

    # -- inner workings ---------------------------------------------------------------------------------------------

    def _row_of(self, table: Table, at: FactId) -> Row | None:
        return self._first(every_version(table).where(pair_is(key_of(table), at)))

    def _bottle(self, row: Row) -> Bottle:
        of = rows.product_from(self._latest(product, require_named("product", row)))
        thing = require_named("thing", row)
        query = select(fact.c.kind, bottle_event.c.happened_on).join(bottle_event, wrote(bottle_event))
        query = query.where(names("bottle", bottle_event, thing), standing())
        events = [(FactKind(event["kind"]), event["happened_on"]) for event in self._all(query)]
        return rows.bottle_from(row, of, events)

    def _preparation(self, row: Row) -> Preparation:
        query = select(component).where(wrote_by(component, row)).order_by(component.c.position)
        return rows.preparation_from(row, tuple(self._component(part) for part in self._all(query)))

    def _component(self, row: Row) -> Component:
        thing = thing_named("bottle", row)
        return rows.component_from(row, None if thing is None else self._bottle(self._latest(bottle, thing)))

    def _tube(self, row: Row) -> Tube:
        thing = thing_named("preparation", row)
        return rows.tube_from(row, None if thing is None else self._latest(preparation, thing)["number"])

    def _pouch(self, row: Row) -> Pouch:
        query = select(pouch_content).where(wrote_by(pouch_content, row)).order_by(pouch_content.c.position)
        contents = self._all(query)
        things = [thing for thing in (thing_named("tube", part) for part in contents) if thing is not None]
        return rows.pouch_from(
            row,
            tuple(self._latest(tube, thing)["serial"] for thing in things),
            tuple(part["instrument"] for part in contents if part["instrument"] is not None),
        )

    def _print_run(self, row: Row) -> PrintRun:
        before = thing_named("reprint_of", row)
        return rows.print_run_from(row, None if before is None else self._latest(print_run, before)["number"])

    def _labels(self, condition: ColumnElement[bool]) -> Iterator[Recorded[PrintedLabel]]:
        runs: dict[FactId, str] = {}

        def number_of(thing: FactId) -> str:
            if thing not in runs:
                runs[thing] = self._latest(print_run, thing)["number"]
            return runs[thing]

        query = labels_with_voids().where(condition)
        last = None
        for row in self._stream(query):
            at = (row["site"], row["sequence"])
            if at == last:
                continue
            last = at
            replaced = thing_named("void_run", row)
            voided_by = row["void_reason"] if replaced is None else f"print run {number_of(replaced)}"
            label = rows.printed_label_from(row, number_of(require_named("run", row)), voided_by)
            yield self._recorded(row, label)


def labels_with_voids() -> Select[Any]:
    """Return the query for printed labels, each with what voided it: a reason, or the run of its replacement.

    Plain joins, no inner query: each is one step through an index.
    """
    voiding = fact.alias("voiding")
    replacement = printed_label.alias("replacement")
    return (
        current(printed_label)
        .add_columns(
            voiding.c.sequence.label("void_sequence"),
            voiding.c.reason.label("void_reason"),
            replacement.c.run_site.label("void_run_site"),
            replacement.c.run_sequence.label("void_run_sequence"),
        )
        .outerjoin(
            label_void,
            same_pair(pair_of(label_void, "label"), key_of(printed_label)),
        )
        .outerjoin(voiding, wrote(label_void, voiding) & standing(voiding))
        .outerjoin(
            replacement,
            wrote(replacement, voiding),
        )
        .order_by(printed_label.c.site, printed_label.c.sequence, voiding.c.sequence.is_(None), voiding.c.sequence)
    )
