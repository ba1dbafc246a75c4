"""A day at the chair: a tested steriliser, released pouches with printed labels, clients; shared by several tests."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from decimal import Decimal

from tracelabels.custody import (
    CareLevel,
    CycleKind,
    Decision,
    GaugeReading,
    Goods,
    IndicatorPlace,
    IndicatorResult,
    LabelKind,
    Load,
    OpeningCheck,
    Outcome,
    PrintedLabel,
    PrintRun,
    ProbePlace,
    ReadingsSource,
    ReadingsVerdict,
    SeenLabel,
    SporeResult,
    Steriliser,
    SteriliserEvent,
    SteriliserEventKind,
    Variant,
)
from tracelabels.workflows.enter_steriliser import enter_steriliser, record_event
from tracelabels.workflows.label_contents import ContentWriter
from tracelabels.workflows.pack_pouches import Pouching, one_each, pack_pouches
from tracelabels.workflows.practice import Practice
from tracelabels.workflows.prepare_tubes import PreparationOrder, prepare_tubes
from tracelabels.workflows.read_indicators import IndicatorSeen, read_indicators
from tracelabels.workflows.record_readings import ReadingsOrder, record_readings
from tracelabels.workflows.record_spore_test import SporeOrder, read_spore_test
from tracelabels.workflows.register_client import register_client
from tracelabels.workflows.release_load import DecisionOrder, decide_load
from tracelabels.workflows.run_load import LoadOrder, end_load, start_load
from tracelabels.workflows.unload import CameOut, unload

BEGIN = datetime(2026, 11, 25, 6, tzinfo=UTC)
FINE = OpeningCheck(indicator=True, dry=True, whole=True)
S1 = Steriliser(code="S1", name="the small one", serial_number="7", cycle_kinds=(CycleKind.AIR_REMOVAL,))
MET = ReadingsOrder(
    source=ReadingsSource.GAUGE,
    probe=ProbePlace.CHAMBER,
    verdict=ReadingsVerdict.MET,
    typed=(GaugeReading(minute=Decimal(0), temperature_c=Decimal("134.2"), pressure_kpa=Decimal(306)),),
)


def at(hours: float) -> datetime:
    return BEGIN + timedelta(hours=hours)


@dataclass(frozen=True, kw_only=True)
class ChairDay:
    """A practice some days after its first load; nothing but the chair is left to do."""

    practice: Practice

    @classmethod
    def begin(cls, practice: Practice) -> "ChairDay":
        enter_steriliser(practice, S1, by="bench", installed_at=BEGIN)
        register_client(practice, code="C-14", care_level=CareLevel.ROUTINE, by="lead")
        register_client(practice, code="C-15", care_level=CareLevel.PROTECTED, by="lead")
        return cls(practice=practice)

    def empty_tubes(self, count: int, *, in_one: int = 1) -> tuple[str, ...]:
        order = PreparationOrder(variant=Variant.EMPTY_TUBES, tubes=count, size_ml=Decimal("1.5"))
        made = prepare_tubes(self.practice, order, by="bench")
        contents = one_each([tube.serial for tube in made.tubes], in_one=in_one)
        return tuple(one.serial for one in pack_pouches(self.practice, contents, material_lot="PF-77", by="bench"))

    def instruments(self, count: int) -> tuple[str, ...]:
        contents = [Pouching(instruments=("forceps",))] * count
        return tuple(one.serial for one in pack_pouches(self.practice, contents, material_lot="PF-77", by="bench"))

    def labelled(self, *serials: str) -> None:
        """Record labels for pouches and the tubes in them, as a print run would."""
        practice = self.practice
        with practice.write(by="bench") as ledger:
            kinds = dict.fromkeys(serials, LabelKind.POUCH)
            for serial in serials:
                kinds |= dict.fromkeys(ledger.find_pouch(serial).value.tubes, LabelKind.TUBE)
            number = f"R01-{len(tuple(ledger.print_runs())) + 1:04d}"
            run = PrintRun(number=number, printed_on=practice.today, layout="x", sheet="y", dpi=300)
            writer = ContentWriter(practice, ledger)
            ledger.add_print_run(run, [_printed(writer, serial, kind) for serial, kind in kinds.items()])

    def label_of(self, serial: str) -> SeenLabel:
        with self.practice.ledger.read() as ledger:
            label = ledger.labels_with_serial(serial)[-1].value
        return SeenLabel(serial=serial, lot=label.lot, use_by=label.use_by, prepared=label.prepared)

    def load(self, *serials: str, hours: float = 1, with_test: bool = True, release: bool = True) -> Load:
        practice, test = self.practice, SporeOrder(lot="BI-9", placement="over the drain")
        daily = SteriliserEvent(
            steriliser=S1.as_name, event=SteriliserEventKind.AIR_REMOVAL_TEST, at=at(hours - 0.5), passed=True
        )
        record_event(practice, daily, by="bench")
        order = LoadOrder(
            steriliser="S1",
            cycle_kind=CycleKind.AIR_REMOVAL,
            programme="wrapped 134",
            temperature_c=Decimal(134),
            hold_minutes=Decimal("3.5"),
            goods=Goods.WRAPPED,
            counted=len(serials),
            pouches=serials,
            at=at(hours),
            spore_test=test if with_test else None,
        )
        done = start_load(practice, order, by="bench")
        assert done.refused == ()
        number = done.load.number
        end_load(practice, number, Outcome.COMPLETE, by="bench", at=at(hours + 0.9))
        unload(practice, number, [CameOut(serial=one) for one in serials], by="bench", at=at(hours + 1))
        record_readings(practice, number, MET, by="bench")
        seen = [
            IndicatorSeen(pouch=one, place=IndicatorPlace.OUTSIDE, result=IndicatorResult.TURNED) for one in serials
        ]
        read_indicators(practice, number, seen, by="bench", at=at(hours + 1))
        if with_test:
            read_spore_test(practice, done.test.number, SporeResult.NO_GROWTH, by="bench", at=at(hours + 24))
        if release:
            decided = decide_load(
                practice, number, DecisionOrder(decision=Decision.RELEASED, at=at(hours + 25)), by="lead"
            )
            assert decided.refused == ()
        return done.load

    def ready(self, count: int = 1, *, tubes_in_one: int = 1) -> tuple[str, ...]:
        """Return pouches with empty tubes, labelled, processed and released."""
        pouches = self.empty_tubes(count * tubes_in_one, in_one=tubes_in_one)
        self.labelled(*pouches)
        self.load(*pouches)
        return pouches

    def tubes_in(self, pouch: str) -> tuple[str, ...]:
        with self.practice.ledger.read() as ledger:
            return ledger.find_pouch(pouch).value.tubes


def _printed(writer: ContentWriter, serial: str, kind: LabelKind) -> PrintedLabel:
    identity = writer.content_of(serial).identity
    return PrintedLabel(serial=serial, kind=kind, lot=identity.lot, use_by=identity.use_by, prepared=identity.prepared)
