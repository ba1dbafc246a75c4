"""The demonstration's steriliser: tested, loaded, unloaded, and its loads held and released."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Final

from tracelabels.custody import (
    CycleKind,
    Decision,
    Goods,
    IndicatorPlace,
    IndicatorResult,
    Load,
    Outcome,
    PouchState,
    ProbePlace,
    ReadingsSource,
    Reason,
    SporeResult,
    Steriliser,
    SteriliserEvent,
    SteriliserEventKind,
)
from tracelabels.errors import InputError
from tracelabels.words import in_words
from tracelabels.workflows.demonstration_days import BENCH, CHARGE, at
from tracelabels.workflows.demonstration_logs import LoggedCurve, write_log
from tracelabels.workflows.demonstration_step import Step
from tracelabels.workflows.enter_steriliser import enter_steriliser, record_event
from tracelabels.workflows.practice import PRINTED, Practice
from tracelabels.workflows.read_indicators import IndicatorSeen, read_indicators
from tracelabels.workflows.record_readings import ReadingsFile, ReadingsOrder, RecordedReadings, record_readings
from tracelabels.workflows.record_spore_test import SporeOrder, read_spore_test
from tracelabels.workflows.release_load import Decided, DecisionOrder, decide_load
from tracelabels.workflows.report_load import leave_load_report
from tracelabels.workflows.run_load import LoadOrder, end_load, start_load
from tracelabels.workflows.unload import CameOut, unload

STERILISER: Final = Steriliser(
    code="S1",
    name="the steriliser beside the bench",
    serial_number="0042-7 (invented)",
    cycle_kinds=(CycleKind.AIR_REMOVAL, CycleKind.LIQUID),
    chamber_litres=Decimal(18),
    validation="folder 2, sheet 9 (invented)",
)
_LOT: Final = "BI-31"


@dataclass(frozen=True, slots=True, kw_only=True)
class Cycle:
    """What a load of the demonstration runs."""

    kind: CycleKind
    """Kind of cycle."""
    goods: Goods
    """What for."""
    programme: str
    """Name of the programme."""
    temperature_c: Decimal
    """Set temperature in degrees Celsius."""
    hold_minutes: Decimal
    """Set holding time in minutes."""
    probe: ProbePlace
    """Where it is measured."""
    lag_s: float
    """How slowly what is measured follows the chamber, in seconds."""


WRAPPED: Final = Cycle(
    kind=CycleKind.AIR_REMOVAL,
    goods=Goods.WRAPPED,
    programme="wrapped-134c-3min",
    temperature_c=Decimal(134),
    hold_minutes=Decimal("3.5"),
    probe=ProbePlace.CHAMBER,
    lag_s=4.0,
)
LIQUID: Final = Cycle(
    kind=CycleKind.LIQUID,
    goods=Goods.LIQUID,
    programme="liquid-121c-15min",
    temperature_c=Decimal(121),
    hold_minutes=Decimal(20),
    probe=ProbePlace.REFERENCE_TUBE,
    lag_s=80.0,
)


def enter(practice: Practice) -> Step:
    """Enter the steriliser, and run a test load of each of its cycle kinds with a spore test in it."""
    enter_steriliser(practice, STERILISER, by=CHARGE, installed_at=at(practice, 7))
    test_air_removal(practice)
    tests = [run(practice, cycle, (), hour=hour, is_tested=True) for cycle, hour in ((WRAPPED, 8), (LIQUID, 9))]
    return Step(
        heading="A steriliser is entered; until a spore test (biological indicator, BI) has passed it is untested",
        outcome=tuple(f"load {load.number}: a test load ({in_words(load.cycle_kind)})" for load in tests),
    )


def test_air_removal(practice: Practice) -> None:
    """Record the day's air-removal test."""
    event = SteriliserEvent(
        steriliser=STERILISER.as_name,
        event=SteriliserEventKind.AIR_REMOVAL_TEST,
        at=at(practice, 7, 20),
        passed=True,
        cycle_kind=CycleKind.AIR_REMOVAL,
    )
    record_event(practice, event, by=BENCH)


def run(practice: Practice, cycle: Cycle, pouches: Sequence[str], *, hour: int, is_tested: bool = False) -> Load:
    """Start a load, counted and scanned, and end it."""
    spores = SporeOrder(
        lot=_LOT, placement="over the drain", in_reference_tube=cycle.probe is ProbePlace.REFERENCE_TUBE
    )
    order = LoadOrder(
        steriliser=STERILISER.code,
        cycle_kind=cycle.kind,
        programme=cycle.programme,
        temperature_c=cycle.temperature_c,
        hold_minutes=cycle.hold_minutes,
        goods=cycle.goods,
        counted=len(pouches),
        pouches=tuple(pouches),
        spore_test=spores if is_tested else None,
        at=at(practice, hour),
    )
    started = start_load(practice, order, by=BENCH)
    load = _required(started.load, started.refused)
    end_load(practice, load.number, Outcome.COMPLETE, by=BENCH, at=at(practice, hour, 50))
    return load


def take_out(
    practice: Practice,
    load: Load,
    cycle: Cycle,
    *,
    hour: int,
    not_turned: Sequence[str] = (),
    held: float | None = None,
) -> RecordedReadings:
    """Unload: every label is scanned again, the logger's file is judged, indicators are read; some have not turned.

    Args:
        practice: whose.
        load: which load.
        cycle: what it ran.
        hour: of the day.
        not_turned: pouches whose indicator has not turned.
        held: for how many minutes the logger saw it held; None: as long as it was set to, and a little more.
    """
    serials = [pouch.text for pouch in load.pouches]
    came = [
        CameOut(serial=one, state=PouchState.NOT_TURNED if one in not_turned else PouchState.SOUND) for one in serials
    ]
    unload(practice, load.number, came, by=BENCH, at=at(practice, hour))
    judged = _judge(practice, load, cycle, held=float(cycle.hold_minutes) + 0.5 if held is None else held)
    seen = [
        IndicatorSeen(
            pouch=one,
            place=IndicatorPlace.INSIDE,
            result=IndicatorResult.NOT_TURNED if one in not_turned else IndicatorResult.TURNED,
            type_number=5,
        )
        for one in serials
    ]
    read_indicators(practice, load.number, seen, by=BENCH, at=at(practice, hour))
    return judged


def _judge(practice: Practice, load: Load, cycle: Cycle, *, held: float) -> RecordedReadings:
    """Let the invented logger write its file, and record what it says of the load."""
    curve = LoggedCurve(plateau_c=float(cycle.temperature_c) + 0.9, hold_minutes=held, lag_s=cycle.lag_s)
    begins = load.started_at.astimezone(practice.settings.zone)
    file = ReadingsFile(name=f"{load.number}.csv", content=write_log(curve, begins=begins))
    readings = ReadingsOrder(source=ReadingsSource.LOGGER, probe=cycle.probe)
    return record_readings(practice, load.number, readings, by=BENCH, file=file)


def leave_report(practice: Practice, load: Load) -> Path:
    """Leave the load's page in the practice's folder."""
    out = practice.folder / PRINTED / f"{load.number}.pdf"
    leave_load_report(practice, load.number, out)
    return out


def release(practice: Practice, load: Load) -> Decided:
    """Ask to release a load."""
    return decide_load(practice, load.number, DecisionOrder(decision=Decision.RELEASED), by=CHARGE)


def keep_back(practice: Practice, load: Load, reason: str) -> None:
    """Put a load in quarantine."""
    order = DecisionOrder(decision=Decision.QUARANTINE, reasons=(reason,))
    decide_load(practice, load.number, order, by=CHARGE)


def passed(practice: Practice, *numbers: str) -> None:
    """Read spore tests that did not grow."""
    for number in numbers:
        read_spore_test(practice, number, SporeResult.NO_GROWTH, by=CHARGE)


def decided_lines(load: Load, decided: Decided) -> Iterator[str]:
    """Say what was decided about a load."""
    if decided.release is None:
        yield f"load {load.number} is not released:"
        yield from (f"  - {reason.sentence}" for reason in decided.refused)
        return
    yield f"load {load.number} is {decided.release.decision.value}"
    yield from (f"  without {pouch}: {why}" for pouch, why in decided.left_out)


def _required(load: Load | None, refused: tuple[Reason, ...]) -> Load:
    if load is None:
        raise InputError(
            given=f"a load that does not start: {'; '.join(reason.sentence for reason in refused)}",
            expected="a load that may start",
            remedy="make the demonstration in a new folder",
        )
    return load
