"""Everything known about a pouch's processing, collected from the ledger as one value."""

from collections.abc import Iterator
from datetime import date
from typing import TypeVar

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
    ProcessingRecord,
    Release,
    Unloaded,
)
from tracelabels.records import Reading
from tracelabels.records.refusals import known
from tracelabels.sterilization import Evidence, History, SporePolicy, evidence_at
from tracelabels.workflows.spore_record import spore_history

F = TypeVar("F")


class ProcessingReader:
    """Collects processing records in one state of the ledger; what many pouches share is looked up once."""

    def __init__(self, ledger: Reading, policy: SporePolicy) -> None:
        """Read from a unit of reading or writing, under a practice's policy (``settings.spore_policy``)."""
        self._ledger = ledger
        self._policy = policy
        self._histories: dict[tuple[Name, str], History] = {}

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
        indicators = self._about(IndicatorReading, "load", load)
        own = tuple(one for one in indicators if one.pouch is None or one.pouch == name)
        unloaded = [one for one in self._about(Unloaded, "load", load) if one.pouch == name]
        lots = {one.lot for one in own if one.lot is not None}
        indicator_lots = [Name(Kind.CONSUMABLE, f"{ConsumableKind.INDICATORS.value}/{lot}") for lot in sorted(lots)]
        went_with = (load.as_name, load.steriliser, *indicator_lots)
        return ProcessingRecord(
            pouch=name,
            load=load,
            earlier_loads=loads[:-1],
            end=self.end_of(load),
            readings=self._about(LoadReadings, "load", load),
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
        ends = self._about(LoadEnd, "load", load)
        return ends[-1] if ends else None

    def day_of(self, load: Load) -> date | None:
        """Return the practice's day on which a load started; None unless it is complete."""
        end = self.end_of(load)
        if end is None or end.outcome is not Outcome.COMPLETE:
            return None
        return load.started_at.astimezone(self._policy.zone).date()

    def release_of(self, load: Load) -> Release | None:
        """Return the last decision about a load."""
        decisions = sorted(self._about(Release, "load", load), key=lambda one: one.at)
        return decisions[-1] if decisions else None

    def evidence_of(self, load: Load, *, is_protected: bool = False) -> Evidence:
        """Return what spore tests say about a load."""
        history = self.history_of(load)
        return evidence_at(load.number, load.started_at, history, self._policy, is_protected=is_protected)

    def history_of(self, load: Load) -> History:
        """Return the spore tests of a load's steriliser and cycle kind."""
        key = (load.steriliser, load.cycle_kind.value)
        if key not in self._histories:
            self._histories[key] = spore_history(self._ledger, load.steriliser, load.cycle_kind)
        return self._histories[key]

    def holds_on(self, *names: Name) -> tuple[Hold, ...]:
        """Return the holds that are not lifted on any of these things; what is not on record cannot be held."""
        found: dict[str, Hold] = {}
        for name in dict.fromkeys(names):
            if self._ledger.find_thing(name) is None:
                continue
            for one in self._ledger.about(Hold, "items", name):
                found[one.value.number] = one.value
        return tuple(
            hold for _, hold in sorted(found.items()) if not self._ledger.about(HoldLifted, "hold", hold.as_name)
        )

    def origins_of(self, pouch: Pouch) -> Iterator[Name]:
        """Give everything that a pouch comes from: its tubes, their bottles, its material, its labels' runs."""
        yield Name(Kind.POUCH, pouch.serial)
        yield Name(Kind.CONSUMABLE, f"{ConsumableKind.POUCH_MATERIAL.value}/{pouch.material_lot}")
        yield from self._runs_of(pouch.serial)
        for serial in pouch.tubes:
            yield Name(Kind.TUBE, serial)
            yield from self._runs_of(serial)
            yield from self._origins_of_tube(serial)

    def origins_of_serial(self, serial: str) -> tuple[Name, ...]:
        """Return everything that a pouch comes from, by its serial."""
        return tuple(self.origins_of(known(self._ledger.find_pouch(serial), what="pouch", name=serial).value))

    # -- inner workings ---------------------------------------------------------------------------------------------

    def _about(self, kind: type[F], field: str, load: Load) -> tuple[F, ...]:
        return tuple(one.value for one in self._ledger.about(kind, field, load.as_name))

    def _origins_of_tube(self, serial: str) -> Iterator[Name]:
        tube = self._ledger.find_tube(serial)
        if tube is None:
            return
        if tube.value.lot is not None:
            yield Name(Kind.CONSUMABLE, f"{ConsumableKind.TUBES.value}/{tube.value.lot}")
        number = tube.value.preparation
        preparation = None if number is None else self._ledger.find_preparation(number)
        if preparation is None:
            return
        yield Name(Kind.PREPARATION, preparation.value.number)
        for bottle in preparation.value.bottles:
            yield Name(Kind.BOTTLE, bottle.serial)
            yield Name(Kind.PRODUCT, f"{bottle.product.maker}/{bottle.product.item_number}")

    def _runs_of(self, serial: str) -> Iterator[Name]:
        for label in self._ledger.labels_with_serial(serial):
            run = None if label.value.run is None else self._ledger.find_print_run(label.value.run)
            if run is None or label.value.voided_by is not None:
                continue
            yield Name(Kind.PRINT_RUN, run.value.number)
            if run.value.stock_lot is not None:
                yield Name(Kind.CONSUMABLE, f"{ConsumableKind.LABEL_STOCK.value}/{run.value.stock_lot}")
