"""Appending the trade's things: each call writes facts, and refuses duplicates and things that are not known."""

from collections.abc import Iterable, Sequence
from datetime import date
from typing import TypeVar

from sqlalchemy import Table, select

from tracelabels.custody import (
    Bottle,
    Component,
    Pouch,
    Preparation,
    PrintedLabel,
    PrintRun,
    Product,
    Tube,
)
from tracelabels.errors import LedgerError
from tracelabels.records import rows
from tracelabels.records.erasing import ErasingWriting
from tracelabels.records.fact_reading import names, standing, wrote
from tracelabels.records.facts import FactId, FactKind, Recorded, StaffMember
from tracelabels.records.reading import labels_with_voids
from tracelabels.records.refusals import given_reason, happened_before, known, taken_before
from tracelabels.records.rows import NewRow, named, require_key
from tracelabels.records.schema import (
    bottle,
    bottle_event,
    component,
    fact,
    label_void,
    pouch,
    pouch_content,
    preparation,
    print_run,
    printed_label,
    product,
    staff,
    tube,
)
from tracelabels.records.writing import (
    Draft,
    Rows,
    in_chunks,
    sealed_json,
    serial_row,
)

Thing = TypeVar("Thing", Product, Bottle, Preparation, Tube, Pouch, PrintRun)


class Writing(ErasingWriting):
    """One unit of writing over the trade's things."""

    # -- products and bottles ---------------------------------------------------------------------------------------

    def add_product(self, value: Product) -> FactId:
        """Record a product; maker and item number name it."""
        return self.append(Draft(kind=FactKind.PRODUCT, rows=self._product_rows(value, None)))

    def add_bottle(self, value: Bottle) -> FactId:
        """Record a bottle of a known product, with what already happened to it."""
        thing = self.append(Draft(kind=FactKind.BOTTLE, rows=self._bottle_rows(value, None)))
        if value.opening is not None:
            self._bottle_event(thing, FactKind.BOTTLE_OPENED, value.opening.on, None)
        if value.finished_on is not None:
            self._bottle_event(thing, FactKind.BOTTLE_FINISHED, value.finished_on, None)
        if value.withdrawn_on is not None:
            self._bottle_event(thing, FactKind.BOTTLE_WITHDRAWN, value.withdrawn_on, None)
        return thing

    def open_bottle(self, serial: str, *, on: date | None) -> FactId:
        """Record that a bottle was opened; None for a day that nobody knows."""
        found = self.require_bottle(serial)
        if found.value.opening is not None:
            raise happened_before(serial=serial, what="opened")
        return self._bottle_event(found.thing, FactKind.BOTTLE_OPENED, on, None)

    def finish_bottle(self, serial: str, *, on: date) -> FactId:
        """Record that a bottle was used up or thrown away."""
        found = self.require_bottle(serial)
        if found.value.finished_on is not None:
            raise happened_before(serial=serial, what="finished")
        return self._bottle_event(found.thing, FactKind.BOTTLE_FINISHED, on, None)

    def withdraw_bottle(self, serial: str, *, on: date, reason: str) -> FactId:
        """Record that a bottle was taken out of use."""
        found = self.require_bottle(serial)
        if found.value.withdrawn_on is not None:
            raise happened_before(serial=serial, what="withdrawn")
        return self._bottle_event(found.thing, FactKind.BOTTLE_WITHDRAWN, on, given_reason(reason))

    def require_bottle(self, serial: str) -> Recorded[Bottle]:
        """Return the bottle with this serial.

        Raises:
            LedgerError: there is none.
        """
        return known(self.find_bottle(serial), what="bottle", name=serial)

    def _bottle_event(self, thing: FactId, kind: FactKind, on: date | None, reason: str | None) -> FactId:
        row = {**named("bottle", thing), "happened_on": on}
        return self.append(Draft(kind=kind, rows=((bottle_event, row),), reason=reason))

    # -- preparations, tubes, pouches ---------------------------------------------------------------------------------

    def add_preparation(self, value: Preparation) -> FactId:
        """Record a preparation of known bottles."""
        return self.append(Draft(kind=FactKind.PREPARATION, rows=self._preparation_rows(value, None)))

    def add_tubes(self, tubes: Iterable[Tube]) -> int:
        """Record tubes and return how many; they may be a great many, and are taken a chunk at a time."""
        preparations: dict[str, FactId] = {}
        count = 0
        for chunk in in_chunks(tubes):
            self._refuse_taken_serials([one.serial for one in chunk])
            for one in chunk:
                if one.preparation is not None and one.preparation not in preparations:
                    preparations[one.preparation] = self._require_preparation(one.preparation)
                thing = None if one.preparation is None else preparations[one.preparation]
                content = ((tube, rows.tube_row(one, thing)), serial_row(one.serial))
                self.append(Draft(kind=FactKind.TUBE, rows=content))
            count += len(chunk)
        return count

    def add_pouch(self, value: Pouch) -> FactId:
        """Record a pouch with known tubes in it, and instruments by name."""
        return self.append(Draft(kind=FactKind.POUCH, rows=self._pouch_rows(value, None)))

    # -- prints -----------------------------------------------------------------------------------------------------

    def add_print_run(self, run: PrintRun, labels: Iterable[PrintedLabel]) -> FactId:
        """Record a print run and its labels, which may be a great many.

        Each label of a reprint voids the valid labels of the same serial and surface in the run that it replaces.

        Raises:
            LedgerError: the number is taken, the run to replace is not known, or never had a label of that serial.
        """
        thing = self.append(Draft(kind=FactKind.PRINT_RUN, rows=self._print_run_rows(run, None)))
        before = None if run.reprint_of is None else self._require_print_run(run.reprint_of)
        for chunk in in_chunks(labels):
            self._settle()
            replaced = {} if before is None else self._valid_labels(before, chunk)
            for label in chunk:
                voided = replaced.pop((label.serial, label.kind.value), [])
                self._add_label(label, thing, voided)
            self._refuse_unreplaced(run, before, chunk)
        return thing

    def void_label(self, label: FactId, *, reason: str) -> FactId:
        """Record that a printed label may not be used (spoiled, torn off, never applied)."""
        self._refuse_unknown(printed_label, label)
        if self._first(
            select(label_void).join(fact, wrote(label_void)).where(names("label", label_void, label), standing())
        ):
            raise taken_before(what=f"label {label}, which is void already", whose="the fact that voided it")
        row = {**named("label", label), "position": 0}
        return self.append(Draft(kind=FactKind.LABEL_VOIDED, rows=((label_void, row),), reason=given_reason(reason)))

    def _add_label(self, label: PrintedLabel, run: FactId, voided: Sequence[FactId]) -> None:
        content: Rows = [(printed_label, rows.printed_label_row(label, run))]
        content += [(label_void, {**named("label", one), "position": place}) for place, one in enumerate(voided)]
        self.append(Draft(kind=FactKind.LABEL_PRINTED, rows=content))

    def _valid_labels(self, run: FactId, chunk: Sequence[PrintedLabel]) -> dict[tuple[str, str], list[FactId]]:
        """Return the labels of a run that a chunk of new labels replaces and that are not void yet."""
        query = labels_with_voids().where(
            names("run", printed_label, run),
            printed_label.c.serial.in_([label.serial for label in chunk]),
        )
        found: dict[tuple[str, str], list[FactId]] = {}
        for row in self._all(query):
            if row["void_sequence"] is not None:
                continue
            found.setdefault((row["serial"], row["kind"]), []).append(require_key(row))
        return found

    def _refuse_unreplaced(self, run: PrintRun, before: FactId | None, chunk: Sequence[PrintedLabel]) -> None:
        """Refuse a reprint of a label that was never in the run it claims to replace."""
        if before is None:
            return
        query = select(printed_label.c.serial, printed_label.c.kind).where(
            names("run", printed_label, before),
            printed_label.c.serial.in_([label.serial for label in chunk]),
        )
        known = {(row["serial"], row["kind"]) for row in self._all(query)}
        stranger = next((one for one in chunk if (one.serial, one.kind.value) not in known), None)
        if stranger is not None:
            raise LedgerError(
                given=f"a reprint of the {stranger.kind.value} label {stranger.serial}",
                expected=f"a label of print run {run.reprint_of}",
                remedy="name the run that printed it, or print it as a new run",
            )

    # -- staff ------------------------------------------------------------------------------------------------------

    def add_staff(self, member: StaffMember) -> FactId:
        """Record a member of staff: the code for good, name and initials where they can be erased."""
        self._refuse_taken(f"staff code {member.code}", staff, {"code": member.code})
        return self.append(_staff_draft(member))

    def correct_staff(self, recorded: Recorded[StaffMember], member: StaffMember, *, reason: str) -> FactId:
        """Put another name or other initials on record.

        Raises:
            LedgerError: the personal content was erased, the code is taken, or the fact does not stand any more.
        """
        self._refuse_taken(f"staff code {member.code}", staff, {"code": member.code}, thing=recorded.thing)
        if recorded.value.name is None and recorded.value.initials is None:
            raise LedgerError(
                given=f"a correction of {member.code}, whose personal content was erased",
                expected="a member of staff who is on record",
                remedy="record a new code",
            )
        return self.append(_staff_draft(member).correcting(recorded.fact, given_reason(reason)))

    # -- corrections ------------------------------------------------------------------------------------------------

    def correct(self, recorded: Recorded[Thing], value: Thing, *, reason: str) -> FactId:
        """Put another version of a thing on record; the one before stays readable in its history.

        What happened to a bottle (opened, finished, withdrawn) is corrected by taking back that fact.

        Raises:
            LedgerError: the fact was corrected by somebody else meanwhile, or the new version is refused.
        """
        standing_fact = known(self.find_fact(recorded.fact), what="fact", name=str(recorded.fact))
        if isinstance(value, Bottle):
            _refuse_changed_events(recorded.value, value)
        content = self._rows_of(value, recorded.thing)
        kind = standing_fact.kind
        return self.append(Draft(kind=kind, rows=content, corrects=recorded.fact, reason=given_reason(reason)))

    def _rows_of(self, value: Product | Bottle | Preparation | Tube | Pouch | PrintRun, thing: FactId) -> Rows:
        match value:
            case Product():
                return self._product_rows(value, thing)
            case Bottle():
                return self._bottle_rows(value, thing)
            case Preparation():
                return self._preparation_rows(value, thing)
            case Tube():
                return self._tube_rows(value, thing)
            case Pouch():
                return self._pouch_rows(value, thing)
            case PrintRun():
                return self._print_run_rows(value, thing)

    def _product_rows(self, value: Product, thing: FactId | None) -> Rows:
        found = self.find_product(maker=value.maker, item_number=value.item_number)
        if found is not None and found.thing != thing:
            raise taken_before(what=f"product {value.item_number} of {value.maker}", whose=f"thing {found.thing}")
        return [(product, rows.product_row(value))]

    def _bottle_rows(self, value: Bottle, thing: FactId | None) -> Rows:
        maker, number = value.product.maker, value.product.item_number
        of = known(self.find_product(maker=maker, item_number=number), what="product", name=f"{number} of {maker}")
        content = [(bottle, rows.bottle_row(value, of.thing))]
        return content + self._new_serial(bottle, value.serial, thing)

    def _preparation_rows(self, value: Preparation, thing: FactId | None) -> Rows:
        self._refuse_taken(f"preparation number {value.number}", preparation, {"number": value.number}, thing=thing)
        content: Rows = [(preparation, rows.preparation_row(value))]
        for place, part in enumerate(value.components):
            row = {"position": place, **rows.component_row(part, self._bottle_of(part))}
            content.append((component, row))
        return content

    def _bottle_of(self, part: Component) -> FactId | None:
        return self.require_bottle(part.source.serial).thing if isinstance(part.source, Bottle) else None

    def _tube_rows(self, value: Tube, thing: FactId | None) -> Rows:
        of = None if value.preparation is None else self._require_preparation(value.preparation)
        return [(tube, rows.tube_row(value, of)), *self._new_serial(tube, value.serial, thing)]

    def _pouch_rows(self, value: Pouch, thing: FactId | None) -> Rows:
        content: Rows = [(pouch, rows.pouch_row(value))]
        parts: list[NewRow] = [
            {**named("tube", self._require_tube(serial)), "instrument": None} for serial in value.tubes
        ]
        parts += [{**named("tube", None), "instrument": name} for name in value.instruments]
        content += [(pouch_content, {"position": place, **part}) for place, part in enumerate(parts)]
        return content + self._new_serial(pouch, value.serial, thing)

    def _print_run_rows(self, value: PrintRun, thing: FactId | None) -> Rows:
        self._refuse_taken(f"print run number {value.number}", print_run, {"number": value.number}, thing=thing)
        before = None if value.reprint_of is None else self._require_print_run(value.reprint_of)
        return [(print_run, rows.print_run_row(value, before))]

    def _new_serial(self, table: Table, serial: str, thing: FactId | None) -> Rows:
        """Return the row that takes a serial, unless this very thing has it already."""
        if thing is not None:
            query = select(table.c.serial).join(fact, wrote(table)).where(names("thing", fact, thing))
            if self._first(query.where(table.c.serial == serial)) is not None:
                return []
        self._refuse_taken_serials([serial])
        return [serial_row(serial)]

    def _require_preparation(self, number: str) -> FactId:
        return known(self.find_preparation(number), what="preparation", name=number).thing

    def _require_tube(self, serial: str) -> FactId:
        return known(self.find_tube(serial), what="tube", name=serial).thing

    def _require_print_run(self, number: str) -> FactId:
        return known(self.find_print_run(number), what="print run", name=number).thing


def _staff_draft(member: StaffMember) -> Draft:
    personal = sealed_json({"name": member.name, "initials": member.initials})
    return Draft(kind=FactKind.STAFF, rows=((staff, {"code": member.code}),), sealed=personal)


def _refuse_changed_events(before: Bottle, after: Bottle) -> None:
    if (before.opening, before.finished_on, before.withdrawn_on) != (
        after.opening,
        after.finished_on,
        after.withdrawn_on,
    ):
        raise LedgerError(
            given=f"a correction of bottle {before.serial} that changes when it was opened, finished or withdrawn",
            expected="the same days as recorded",
            remedy="take that fact back with a reason and record it again",
        )
