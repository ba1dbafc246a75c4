"""Everything known about a pouch's processing, collected from the ledger as one value."""

from collections.abc import Iterable, Iterator
from datetime import date, datetime
from typing import Any, Final, TypeVar

from tracelabels.custody import (
    ConsumableKind,
    Hold,
    HoldLifted,
    IndicatorReading,
    Kind,
    Load,
    LoadEnd,
    LoadReadings,
    Name,
    Outcome,
    Pouch,
    Preparation,
    PrintRun,
    ProcessingRecord,
    Release,
    SporeTest,
    Unloaded,
    lot_name,
)
from tracelabels.records import Reading, Recorded
from tracelabels.records.refusals import known
from tracelabels.sterilization import Evidence, History, SporePolicy, evidence_at
from tracelabels.workflows.spore_record import SporeFacts, spore_facts

F = TypeVar("F")

_OF_LOADS: Final[tuple[type[Any], ...]] = (LoadEnd, LoadReadings, Unloaded, IndicatorReading, Release)
"""Facts that name one load each."""


class ProcessingReader:
    """Collects processing records in one state of the ledger; what many pouches share is looked up once."""

    def __init__(self, ledger: Reading, policy: SporePolicy) -> None:
        """Read from a unit of reading or writing, under a practice's policy (``settings.spore_policy``)."""
        self._ledger = ledger
        self._policy = policy
        self._spores: dict[tuple[Name, str], SporeFacts] = {}
        self._histories: dict[tuple[Name, str], History] = {}
        self._of_loads: dict[tuple[type, str], tuple[Recorded[Any], ...]] = {}
        self._holds: dict[Name, tuple[Hold, ...]] = {}
        self._preparations: dict[str, Preparation | None] = {}
        self._runs: dict[str, PrintRun | None] = {}

    def processing_of(self, serial: str) -> ProcessingRecord:
        """Return what is known about the processing of a pouch.

        Raises:
            LedgerError: no pouch with this serial is on record.
        """
        pouch = known(self._ledger.find_pouch(serial), what="pouch", name=serial).value
        name = Name(Kind.POUCH, serial)
        loads = self.loads_of(name)
        if not loads:
            return ProcessingRecord(pouch=name, holds=self.holds_on(*self.origins_of(pouch)))
        load = loads[-1]
        own = tuple(one for one in self.of_load(IndicatorReading, load) if one.pouch is None or one.pouch == name)
        unloaded = [one for one in self.of_load(Unloaded, load) if one.pouch == name]
        went_with = [name for one in loads for name in self.went_with(one)]
        return ProcessingRecord(
            pouch=name,
            load=load,
            earlier_loads=loads[:-1],
            end=self.end_of(load),
            readings=self.of_load(LoadReadings, load),
            unloaded=unloaded[-1] if unloaded else None,
            indicators=own,
            evidence=self.evidence_of(load),
            protected_evidence=self.evidence_of(load, is_protected=True),
            release=self.release_of(load),
            holds=self.holds_on(*self.origins_of(pouch), *went_with),
            processed_on=self.day_of(load),
        )

    def processed_on(self, serial: str) -> date | None:
        """Return the practice's day on which a pouch was processed: its load's start, once that load is complete."""
        loads = self.loads_of(Name(Kind.POUCH, serial))
        return self.day_of(loads[-1]) if loads else None

    def loads_of(self, pouch: Name) -> tuple[Load, ...]:
        """Return the loads that a pouch went into, oldest first."""
        found = [one.value for one in self._ledger.about(Load, "pouches", pouch)]
        return tuple(sorted(found, key=lambda load: (load.started_at, load.number)))

    def end_of(self, load: Load) -> LoadEnd | None:
        """Return how a load ended; None if nobody entered it."""
        ends = self.of_load(LoadEnd, load)
        return ends[-1] if ends else None

    def day_of(self, load: Load) -> date | None:
        """Return the practice's day on which a load started; None unless it is complete."""
        end = self.end_of(load)
        if end is None or end.outcome is not Outcome.COMPLETE:
            return None
        return load.started_at.astimezone(self._policy.zone).date()

    def release_of(self, load: Load) -> Release | None:
        """Return the last decision about a load."""
        decisions = self.decisions_of(load)
        return decisions[-1].value if decisions else None

    def decisions_of(self, load: Load) -> tuple[Recorded[Release], ...]:
        """Return the decisions about a load in the order of time, with the facts that say so; the last one counts."""
        return tuple(sorted(self.recorded_of_load(Release, load), key=lambda one: one.value.at))

    def evidence_of(self, load: Load, *, is_protected: bool = False) -> Evidence:
        """Return what spore tests say about a load."""
        history = self.history_of(load)
        return evidence_at(load.number, load.started_at, history, self._policy, is_protected=is_protected)

    def evidence_known_at(self, load: Load, moment: datetime) -> Evidence:
        """Return what spore tests said about a load at a moment: tests of loads started before, as read by then."""
        history = self._spores_of(load).history_known_at(moment)
        return evidence_at(load.number, load.started_at, history, self._policy)

    def history_of(self, load: Load) -> History:
        """Return the spore tests of a load's steriliser and cycle kind."""
        key = (load.steriliser, load.cycle_kind.value)
        if key not in self._histories:
            self._histories[key] = self._spores_of(load).history()
        return self._histories[key]

    def holds_on(self, *names: Name) -> tuple[Hold, ...]:
        """Return the holds that are not lifted on any of these things; what is not on record cannot be held."""
        found = {hold.number: hold for name in names for hold in self._holds_of(name)}
        return tuple(hold for _, hold in sorted(found.items()))

    def origins_of(self, pouch: Pouch) -> Iterator[Name]:
        """Give everything that a pouch comes from: its tubes, their bottles, its material, its labels' runs."""
        yield Name(Kind.POUCH, pouch.serial)
        yield lot_name(ConsumableKind.POUCH_MATERIAL, pouch.material_lot)
        yield from self._runs_of(pouch.serial)
        for serial in pouch.tubes:
            yield Name(Kind.TUBE, serial)
            yield from self._runs_of(serial)
            yield from self._origins_of_tube(serial)

    def origins_of_serial(self, serial: str) -> tuple[Name, ...]:
        """Return everything that a pouch comes from, by its serial."""
        return tuple(self.origins_of(known(self._ledger.find_pouch(serial), what="pouch", name=serial).value))

    def origins_of_preparation(self, preparation: Preparation) -> Iterator[Name]:
        """Give a preparation, and the bottles and products that it comes from."""
        yield Name(Kind.PREPARATION, preparation.number)
        for bottle in preparation.bottles:
            yield Name(Kind.BOTTLE, bottle.serial)
            yield bottle.product.as_name

    def went_with(self, load: Load) -> Iterator[Name]:
        """Give a load and what reaches the whole of it: its steriliser, the lots of its indicators and spore tests.

        An indicator that lay in one pouch says something of the load, too (see ``custody.closure``).
        """
        yield load.as_name
        yield load.steriliser
        for lot in sorted({one.lot for one in self.of_load(IndicatorReading, load) if one.lot is not None}):
            yield lot_name(ConsumableKind.INDICATORS, lot)
        for lot in sorted({one.lot for one in self.of_load(SporeTest, load)}):
            yield lot_name(ConsumableKind.SPORE_TESTS, lot)

    def find_preparation(self, number: str) -> Preparation | None:
        """Return a preparation; None if there is none with this number."""
        if number not in self._preparations:
            found = self._ledger.find_preparation(number)
            self._preparations[number] = None if found is None else found.value
        return self._preparations[number]

    def find_print_run(self, number: str) -> PrintRun | None:
        """Return a print run; None if there is none with this number."""
        if number not in self._runs:
            found = self._ledger.find_print_run(number)
            self._runs[number] = None if found is None else found.value
        return self._runs[number]

    def of_load(self, kind: type[F], load: Load) -> tuple[F, ...]:
        """Return what is on record of one kind about a load, in the order recorded."""
        return tuple(one.value for one in self.recorded_of_load(kind, load))

    def recorded_of_load(self, kind: type[F], load: Load) -> tuple[Recorded[F], ...]:
        """Return the same with the facts that say so."""
        key = (kind, load.number)
        if key not in self._of_loads:
            self._of_loads[key] = self._ledger.about(kind, "load", load.as_name)
        return self._of_loads[key]

    def look_ahead(self, loads: Iterable[Recorded[Load]]) -> None:
        """Fetch what is on record about many loads with one question for each kind of fact, not for each load."""
        numbers = {one.thing: one.value.number for one in loads}
        for kind in _OF_LOADS:
            found: dict[str, list[Recorded[Any]]] = {number: [] for number in numbers.values()}
            for one in self._ledger.about_each(kind, "load", numbers):
                found[one.value.load.text].append(one)
            self._of_loads |= {(kind, number): tuple(several) for number, several in found.items()}

    # -- inner workings ---------------------------------------------------------------------------------------------

    def _spores_of(self, load: Load) -> SporeFacts:
        key = (load.steriliser, load.cycle_kind.value)
        if key not in self._spores:
            self._spores[key] = spore_facts(self._ledger, load.steriliser, load.cycle_kind)
        return self._spores[key]

    def _holds_of(self, name: Name) -> tuple[Hold, ...]:
        if name not in self._holds:
            is_known = self._ledger.find_thing(name) is not None
            holds = [one.value for one in self._ledger.about(Hold, "items", name)] if is_known else []
            standing = (one for one in holds if not self._ledger.about(HoldLifted, "hold", one.as_name))
            self._holds[name] = tuple(standing)
        return self._holds[name]

    def _origins_of_tube(self, serial: str) -> Iterator[Name]:
        tube = self._ledger.find_tube(serial)
        if tube is None:
            return
        if tube.value.lot is not None:
            yield lot_name(ConsumableKind.TUBES, tube.value.lot)
        preparation = None if tube.value.preparation is None else self.find_preparation(tube.value.preparation)
        if preparation is not None:
            yield from self.origins_of_preparation(preparation)

    def _runs_of(self, serial: str) -> Iterator[Name]:
        for label in self._ledger.labels_with_serial(serial):
            run = None if label.value.run is None else self.find_print_run(label.value.run)
            if run is None or label.value.voided_by is not None:
                continue
            yield Name(Kind.PRINT_RUN, run.number)
            if run.stock_lot is not None:
                yield lot_name(ConsumableKind.LABEL_STOCK, run.stock_lot)
