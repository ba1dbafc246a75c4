"""Readings of a load against its programme: what is recorded, what is refused, whose log it is, what its page says."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest

from tracelabels.custody import (
    Consumable,
    ConsumableKind,
    CycleKind,
    GaugeReading,
    Goods,
    Load,
    LoadReadings,
    Outcome,
    ProbePlace,
    ReadingsSource,
    ReadingsVerdict,
    Steriliser,
    SteriliserEvent,
    SteriliserEventKind,
)
from tracelabels.cycles.log import LogOptions
from tracelabels.errors import InputError, LogError
from tracelabels.workflows.correct_record import correct_record, take_back
from tracelabels.workflows.demonstration_logs import LoggedCurve, write_log
from tracelabels.workflows.enter_consumable import enter_consumable
from tracelabels.workflows.enter_steriliser import enter_steriliser, record_event
from tracelabels.workflows.hold_stock import put_hold
from tracelabels.workflows.new_practice import make_practice
from tracelabels.workflows.practice import open_practice
from tracelabels.workflows.record_readings import ReadingsFile, ReadingsOrder, record_readings
from tracelabels.workflows.record_spore_test import SporeOrder
from tracelabels.workflows.report_load import collect_load_report
from tracelabels.workflows.run_load import LoadOrder, end_load, start_load

DAY = datetime(2026, 11, 25, tzinfo=UTC)
BEGIN = DAY + timedelta(hours=8)
LOGGER = ReadingsOrder(source=ReadingsSource.LOGGER, probe=ProbePlace.CHAMBER)
GOOD = LoggedCurve(plateau_c=134.9, hold_minutes=4.0, lag_s=4.0)
SHORT = replace(GOOD, hold_minutes=1.0)
S1 = Steriliser(
    code="S1", name="the small one", serial_number="7", cycle_kinds=(CycleKind.AIR_REMOVAL, CycleKind.LIQUID)
)


@pytest.fixture
def practice(tmp_path):
    settings = make_practice(tmp_path / "p", name="A practice", site=1, today=DAY.date())
    text = settings.read_text(encoding="utf-8")
    settings.write_text(text.replace('liquid_cycle = ""', 'liquid_cycle = "folder 2, sheet 4"'), encoding="utf-8")
    with open_practice(tmp_path / "p", today=DAY.date()) as here:
        enter_steriliser(here, S1, by="bench", installed_at=DAY)
        passed = SteriliserEvent(
            steriliser=S1.as_name,
            event=SteriliserEventKind.AIR_REMOVAL_TEST,
            at=DAY + timedelta(hours=1),
            passed=True,
            cycle_kind=CycleKind.AIR_REMOVAL,
        )
        record_event(here, passed, by="bench")
        yield here


def load(
    practice, *, begins=BEGIN, programme="wrapped-134c-3min", kind=CycleKind.AIR_REMOVAL, **changes: object
) -> Load:
    order = LoadOrder(
        steriliser="S1",
        cycle_kind=kind,
        programme=programme,
        counted=0,
        pouches=(),
        spore_test=SporeOrder(lot="BI-9", placement="over the drain"),
        at=begins,
    )
    done = start_load(practice, replace(order, **changes), by="bench")
    assert done.refused == ()
    end_load(practice, done.load.number, Outcome.COMPLETE, by="bench", at=begins + timedelta(minutes=40))
    return done.load


def file(curve=GOOD, *, begins=BEGIN) -> ReadingsFile:
    return ReadingsFile(name="log.csv", content=write_log(curve, begins=begins))


def test_a_loggers_file_is_judged_by_the_programme_on_file_and_both_are_kept(practice):
    one = load(practice)
    assert (one.temperature_c, one.hold_minutes, one.goods) == (Decimal(134), Decimal(3), Goods.WRAPPED)
    done = record_readings(practice, one.number, LOGGER, by="bench", file=file())
    assert done.readings.verdict is done.readings.computed is ReadingsVerdict.MET
    assert done.readings.reasons == done.findings.reasons != ()
    kept = {path.suffix for path in (practice.folder / "evidence").rglob("*") if path.is_file()}
    assert kept == {".csv", ".txt"}
    (practice.folder / "templates" / "programmes").mkdir(parents=True, exist_ok=True)
    own = practice.folder / "templates" / "programmes" / "wrapped-134c-3min.toml"
    shipped = next((practice.folder / "evidence").rglob("*.txt")).read_text(encoding="utf-8")
    own.write_text(shipped.replace("minutes = 3", "minutes = 30"), encoding="utf-8")
    shown = collect_load_report(practice, one.number).readings[0]
    assert shown.chart.findings.verdict is ReadingsVerdict.MET  # by the programme as it was when the load started


def test_a_hold_shorter_than_what_was_set_is_not_met_although_the_programme_asks_for_less(practice):
    one = load(practice, hold_minutes=Decimal(5), temperature_c=Decimal(134))
    done = record_readings(practice, one.number, LOGGER, by="bench", file=file(replace(GOOD, hold_minutes=3.0)))
    assert done.readings.verdict is ReadingsVerdict.NOT_MET


@pytest.mark.parametrize(
    ("changes", "sentences"),
    [
        (
            {"goods": Goods.UNWRAPPED},
            ["programme wrapped-134c-3min is for wrapped goods, not for unwrapped"],
        ),
        (
            {"temperature_c": Decimal(121), "hold_minutes": Decimal(1)},
            [
                "programme wrapped-134c-3min asks for 134 C; 121 C are set",
                "programme wrapped-134c-3min asks for 3 min; 1 min are set",
            ],
        ),
        (
            {"cycle_kind": CycleKind.LIQUID, "goods": Goods.LIQUID},
            [
                "programme wrapped-134c-3min is for wrapped goods, not for liquid",
                "programme wrapped-134c-3min is for air removal cycles, not for liquid",
            ],
        ),
    ],
)
def test_a_programme_is_not_run_for_other_goods_cycles_or_less_than_it_asks(practice, changes, sentences):
    order = LoadOrder(
        steriliser="S1",
        cycle_kind=CycleKind.AIR_REMOVAL,
        programme="wrapped-134c-3min",
        counted=0,
        pouches=(),
        spore_test=SporeOrder(lot="BI-9", placement="over the drain"),
        at=BEGIN,
    )
    refused = start_load(practice, replace(order, **changes), by="bench").refused
    assert [one.sentence for one in refused if "programme" in one.sentence] == sentences


def test_typed_numbers_below_every_programme_on_file_are_told(practice):
    order = LoadOrder(
        steriliser="S1",
        cycle_kind=CycleKind.AIR_REMOVAL,
        programme="quick",
        temperature_c=Decimal(121),
        hold_minutes=Decimal(3),
        counted=0,
        pouches=(),
        spore_test=SporeOrder(lot="BI-9", placement="over the drain"),
        at=BEGIN,
    )
    (warning,) = start_load(practice, order, by="bench").warnings
    assert warning.sentence == (
        "121 C for 3 min reach none of the shipped programmes for wrapped goods and air removal cycles; "
        "follow the maker's manual"
    )
    own = practice.folder / "templates" / "programmes" / "quick.toml"
    own.parent.mkdir(parents=True, exist_ok=True)
    own.write_text(
        'title = "Quick"\ngoods = "wrapped"\ncycle_kinds = ["air_removal"]\nsource = "a slip"\n'
        "[band]\nset_c = 121\n[hold]\nminutes = 3\n",
        encoding="utf-8",
    )
    later = replace(order, temperature_c=None, hold_minutes=None, at=BEGIN + timedelta(hours=1))
    assert start_load(practice, later, by="bench").warnings == (warning,)  # on file, and no better for it
    own.unlink()
    with pytest.raises(InputError) as refused:
        start_load(practice, replace(order, temperature_c=None), by="bench")
    assert str(refused.value).startswith("programme 'quick' without a set temperature and holding time; expected one")


def test_a_person_may_be_stricter_but_never_milder_than_the_readings(practice):
    one = load(practice)
    stricter = replace(LOGGER, verdict=ReadingsVerdict.NOT_MET, reasons=("the printout shows a fault",))
    done = record_readings(practice, one.number, stricter, by="bench", file=file())
    assert (done.readings.verdict, done.readings.computed) == (ReadingsVerdict.NOT_MET, ReadingsVerdict.MET)
    milder = replace(LOGGER, verdict=ReadingsVerdict.MET, reasons=("it looked fine",))
    with pytest.raises(InputError) as refused:
        record_readings(practice, one.number, milder, by="bench", file=file(SHORT))
    assert str(refused.value).startswith("readings judged as met which by computing are not met: ")
    assert len(on_record(practice, one)) == 1


def test_what_cannot_be_told_is_settled_by_a_person_with_the_reason(practice):
    one = load(practice)
    far = file(begins=BEGIN + timedelta(days=2))
    undecided = record_readings(practice, one.number, LOGGER, by="bench", file=far)
    assert undecided.readings.verdict is ReadingsVerdict.CANNOT_TELL
    assert undecided.readings.reasons[0] == (
        "by its clock the log begins 2026-11-27 08:00, and load L01-0001 2026-11-25 08:00: it is not this load's, or "
        "the logger's clock is wrong (compare them, and enter clock_compared with --at before the load)"
    )
    bare = replace(LOGGER, verdict=ReadingsVerdict.MET)
    with pytest.raises(InputError) as refused:
        record_readings(practice, one.number, bare, by="bench", file=far)
    assert str(refused.value) == ("readings judged as met without a reason; expected the reason in words; add --reason")
    settled = replace(bare, reasons=("the logger's clock was never set",))
    assert record_readings(practice, one.number, settled, by="bench", file=far).readings.verdict is ReadingsVerdict.MET


def test_a_clock_that_was_compared_is_put_right_and_foreign_readings_are_left_away(practice):
    compared = SteriliserEvent(
        steriliser=S1.as_name,
        event=SteriliserEventKind.CLOCK_COMPARED,
        at=DAY + timedelta(hours=2),
        offset_s=Decimal(7200),
    )
    record_event(practice, compared, by="bench")
    one = load(practice)
    ahead = BEGIN + timedelta(hours=2)
    before = write_log(GOOD, begins=ahead - timedelta(hours=3))
    rows = write_log(SHORT, begins=ahead).split(b"\r\n", 1)[1]
    both = ReadingsFile(name="day.csv", content=before + rows)
    done = record_readings(practice, one.number, LOGGER, by="bench", file=both)
    assert done.readings.verdict is ReadingsVerdict.NOT_MET  # not by the good cycle three hours earlier
    assert any("lie outside of this load's time and were left away" in note for note in done.findings.notes)


def test_one_file_is_never_the_readings_of_two_loads(practice):
    one, other = load(practice), load(practice, begins=BEGIN + timedelta(minutes=45))
    record_readings(practice, one.number, LOGGER, by="bench", file=file())
    with pytest.raises(InputError) as refused:
        record_readings(practice, other.number, LOGGER, by="bench", file=file())
    assert str(refused.value) == (
        "log.csv, which is on record as the readings of load L01-0001; expected the file of load L01-0002; "
        "look for the right file; one file is never the readings of two loads"
    )


def test_a_log_that_cannot_be_read_is_refused_unless_a_person_judges_it(practice):
    one = load(practice)
    odd = ReadingsFile(name="odd.csv", content=b"nothing that is a number\n")
    with pytest.raises(LogError):
        record_readings(practice, one.number, LOGGER, by="bench", file=odd)
    said = replace(LOGGER, verdict=ReadingsVerdict.CANNOT_TELL, reasons=("the export failed",))
    done = record_readings(practice, one.number, said, by="bench", file=odd)
    assert (done.readings.computed, done.readings.reasons) == (None, ("the export failed", "judged by bench"))


def test_what_was_said_about_a_file_is_recorded_and_it_is_read_again_that_way(practice):
    one = load(practice)
    content = file().content.replace(b"probe C", b"probe").replace(b"chamber kPa abs", b"chamber")
    order = replace(LOGGER, options=LogOptions(temperature_unit="C", pressure_unit="kPa"))
    record_readings(practice, one.number, order, by="bench", file=ReadingsFile(name="log.csv", content=content))
    (recorded,) = on_record(practice, one)
    assert {(said.option, said.value) for said in recorded.read_as} == {
        ("temperature_unit", "C"),
        ("pressure_unit", "kPa"),
    }
    shown = collect_load_report(practice, one.number).readings[0]
    assert {guess.what: guess.basis.value for guess in shown.guesses}["temperature_unit"] == "given"


def test_readings_typed_every_minute_are_judged_too(practice):
    one = load(practice)
    minutes = [20, 60, 100, 134.4, 134.6, 134.5, 134.6, 134.4, 110, 90]
    typed = tuple(
        GaugeReading(minute=Decimal(minute), temperature_c=Decimal(str(celsius)))
        for minute, celsius in enumerate(minutes)
    )
    order = ReadingsOrder(source=ReadingsSource.GAUGE, probe=ProbePlace.CHAMBER, typed=typed)
    assert record_readings(practice, one.number, order, by="bench").readings.computed is ReadingsVerdict.MET
    short = replace(order, typed=(*typed[:5], *typed[8:]))
    assert record_readings(practice, one.number, short, by="bench").readings.computed is ReadingsVerdict.NOT_MET


def test_the_error_of_the_last_calibration_decides(practice):
    found = SteriliserEvent(
        steriliser=S1.as_name,
        event=SteriliserEventKind.CALIBRATED,
        at=DAY + timedelta(hours=2),
        error_k=Decimal("1.5"),
    )
    record_event(practice, found, by="bench")
    done = record_readings(practice, load(practice).number, LOGGER, by="bench", file=file())
    assert (done.readings.verdict, done.readings.probe_error_k) == (ReadingsVerdict.CANNOT_TELL, Decimal("1.5"))


def test_a_liquid_is_judged_where_it_is(practice):
    wet = LoggedCurve(plateau_c=121.9, hold_minutes=16.0, lag_s=80.0)
    one = load(practice, programme="liquid-121c-15min", kind=CycleKind.LIQUID)
    chamber = record_readings(practice, one.number, LOGGER, by="bench", file=file(wet)).readings
    assert chamber.verdict is ReadingsVerdict.CANNOT_TELL
    inside = replace(LOGGER, probe=ProbePlace.REFERENCE_TUBE)
    assert record_readings(practice, one.number, inside, by="bench", file=file(wet)).readings.verdict is (
        ReadingsVerdict.MET
    )


def test_what_was_computed_is_never_corrected_by_hand(practice):
    one = load(practice)
    record_readings(practice, one.number, LOGGER, by="bench", file=file(SHORT))
    with practice.ledger.read() as ledger:
        (fact,) = (str(found.fact) for found in ledger.about(LoadReadings, "load", one.as_name))
    for changes in ({"verdict": "met"}, {"verdict": "met", "computed": "met"}, {"probe": "unknown"}):
        with pytest.raises(InputError) as refused:
            correct_record(practice, "fact", fact, changes, by="bench", reason="it looked fine")
        assert refused.value.given == f"a correction of computed readings ({', '.join(sorted(changes))})"
    correct_record(practice, "fact", fact, {"reasons": "the hold was short"}, by="bench", reason="plainer")
    take_back(practice, "fact", fact, by="bench", reason="the wrong file")
    assert record_readings(practice, one.number, LOGGER, by="bench", file=file()).readings.verdict is (
        ReadingsVerdict.MET
    )


def on_record(practice, one: Load) -> list[LoadReadings]:
    with practice.ledger.read() as ledger:
        return [found.value for found in ledger.about(LoadReadings, "load", one.as_name)]


def test_the_good_cycle_of_the_next_load_never_speaks_for_a_bad_one(practice):
    one, following = load(practice), load(practice, begins=BEGIN + timedelta(minutes=45))
    rows = file(begins=following.started_at).content.split(b"\r\n", 1)[1]
    day = ReadingsFile(name="day.csv", content=file(SHORT).content + rows)
    done = record_readings(practice, one.number, LOGGER, by="bench", file=day)
    assert done.readings.computed is ReadingsVerdict.NOT_MET
    assert float(done.logged.readings.seconds[-1]) == 45 * 60


def test_of_several_cycles_in_a_loads_time_nobody_can_tell_unless_all_say_the_same(practice):
    one = load(practice)  # the second cycle is on record nowhere: a test of the day, or a load that nobody entered
    again = BEGIN + timedelta(minutes=45)
    for first, second, verdict in (
        (SHORT, GOOD, ReadingsVerdict.CANNOT_TELL),
        (GOOD, replace(SHORT, plateau_c=131.0), ReadingsVerdict.CANNOT_TELL),
        (GOOD, GOOD, ReadingsVerdict.MET),
        (SHORT, SHORT, ReadingsVerdict.NOT_MET),
    ):
        rows = file(second, begins=again).content.split(b"\r\n", 1)[1]
        day = ReadingsFile(name="day.csv", content=file(first).content + rows)
        done = record_readings(practice, one.number, LOGGER, by="bench", file=day).readings
        assert done.verdict is verdict, (first, second)
    said = "2 cycles lie within this load's time ("
    assert [on.reasons[0].startswith(said) for on in on_record(practice, one)] == [True, True, False, False]


@pytest.mark.parametrize(
    ("changes", "with_file", "given"),
    [
        ({"source": ReadingsSource.PRINTOUT}, True, "log.csv as readings of a printout"),
        ({"source": ReadingsSource.GAUGE}, True, "log.csv as readings of a gauge"),
        ({"typed": (110,)}, True, "a logger's file and typed readings beside it"),
        (
            {"source": ReadingsSource.GAUGE, "typed": (110,)},
            False,
            "readings judged as met, none of which reaches 134 C",
        ),
    ],
)
def test_what_was_read_is_never_put_aside_so_that_a_person_can_say_met(practice, changes, with_file, given):
    one = load(practice)
    order = replace(LOGGER, verdict=ReadingsVerdict.MET, **changes)
    typed = tuple(GaugeReading(minute=Decimal(0), temperature_c=Decimal(celsius)) for celsius in order.typed)
    with pytest.raises(InputError) as refused:
        record_readings(
            practice, one.number, replace(order, typed=typed), by="bench", file=file(SHORT) if with_file else None
        )
    assert refused.value.given == given
    assert on_record(practice, one) == []


def test_a_hold_on_a_lot_that_went_with_the_load_stands_on_its_page(practice):
    lot = Consumable(kind=ConsumableKind.SPORE_TESTS, lot="BI-9")
    enter_consumable(practice, lot, by="bench")
    one = load(practice)
    held = put_hold(practice, (lot.name,), by="bench", reason="a doubt")
    assert collect_load_report(practice, one.number).holds == (held,)
