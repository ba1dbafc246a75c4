"""A load from its start to its release, spore tests, holds: what is recorded, and every refusal's whole sentence."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest

from tracelabels.custody import (
    CareLevel,
    Client,
    Consumable,
    ConsumableKind,
    CycleKind,
    Decision,
    Destroyed,
    Destruction,
    GaugeReading,
    Goods,
    HoldCause,
    IndicatorPlace,
    IndicatorResult,
    Kind,
    LabelKind,
    Load,
    Name,
    Outcome,
    PouchOpening,
    PouchState,
    PrintedLabel,
    PrintRun,
    ProbePlace,
    ReadingsSource,
    ReadingsVerdict,
    SporeResult,
    SporeTest,
    Steriliser,
    SteriliserEvent,
    SteriliserEventKind,
    Use,
    Variant,
    Verdict,
)
from tracelabels.errors import InputError, LedgerError
from tracelabels.records import StaffMember
from tracelabels.sterilization import EvidenceState
from tracelabels.workflows.due_list import list_due
from tracelabels.workflows.enter_consumable import enter_consumable, use_consumable, withdraw_consumable
from tracelabels.workflows.enter_steriliser import enter_steriliser, record_event, return_to_service
from tracelabels.workflows.hold_stock import lift_hold, put_hold, things_named
from tracelabels.workflows.pack_pouches import one_each, pack_pouches
from tracelabels.workflows.practice import Practice
from tracelabels.workflows.prepare_tubes import PreparationOrder, prepare_tubes
from tracelabels.workflows.processing_record import ProcessingReader
from tracelabels.workflows.read_indicators import IndicatorSeen, read_indicators
from tracelabels.workflows.record_readings import ReadingsFile, ReadingsOrder, record_readings
from tracelabels.workflows.record_spore_test import SporeOrder, SporeRead, read_spore_test, start_spore_test
from tracelabels.workflows.release_load import DecisionOrder, decide_load
from tracelabels.workflows.run_load import LoadOrder, end_load, start_load
from tracelabels.workflows.unload import CameOut, unload

LAST_DAY = date(2026, 12, 20)
BEGIN = datetime(2026, 11, 25, 6, tzinfo=UTC)
VACUUM = CycleKind.AIR_REMOVAL
S1 = Steriliser(code="S1", name="the small one", serial_number="7", cycle_kinds=(VACUUM, CycleKind.TYPE_N))
SPORES = SporeOrder(lot="BI-9", placement="over the drain", lot_expiry=date(2027, 12, 31))
MET = ReadingsOrder(
    source=ReadingsSource.GAUGE,
    probe=ProbePlace.CHAMBER,
    verdict=ReadingsVerdict.MET,
    typed=(GaugeReading(minute=Decimal(0), temperature_c=Decimal("134.2"), pressure_kpa=Decimal(306)),),
)


def at(hours: float) -> datetime:
    return BEGIN + timedelta(hours=hours)


@dataclass(frozen=True, kw_only=True)
class Bench:
    """A practice with a tested steriliser; steps happen at hours after the first morning."""

    practice: Practice

    def pouches(self, count: int) -> tuple[str, ...]:
        order = PreparationOrder(variant=Variant.EMPTY_TUBES, tubes=count, size_ml=Decimal("1.5"))
        made = prepare_tubes(self.practice, order, by="bench")
        contents = one_each([tube.serial for tube in made.tubes])
        return tuple(one.serial for one in pack_pouches(self.practice, contents, material_lot="PF-77", by="bench"))

    def air_removal(self, hours: float, *, passed: bool = True) -> None:
        event = SteriliserEvent(
            steriliser=S1.as_name, event=SteriliserEventKind.AIR_REMOVAL_TEST, at=at(hours), passed=passed
        )
        record_event(self.practice, event, by="bench")

    def order(self, hours: float, *serials: str, **changes: object) -> LoadOrder:
        usual = LoadOrder(
            steriliser="S1",
            cycle_kind=VACUUM,
            programme="wrapped 134",
            temperature_c=Decimal(134),
            hold_minutes=Decimal("3.5"),
            goods=Goods.WRAPPED,
            counted=len(serials),
            pouches=serials,
            at=at(hours),
        )
        return replace(usual, **changes)

    def start(self, hours: float, *serials: str, test: SporeOrder | None = None) -> tuple[Load, SporeTest | None]:
        done = start_load(self.practice, self.order(hours, *serials, spore_test=test), by="bench")
        assert done.refused == ()
        return done.load, done.test

    def run(self, hours: float, *serials: str, test: SporeOrder | None = None) -> tuple[Load, SporeTest | None]:
        """Start, end, unload, readings and indicators, all well."""
        load, spores = self.start(hours, *serials, test=test)
        end_load(self.practice, load.number, Outcome.COMPLETE, by="bench", at=at(hours + 0.9))
        if serials:
            unload(self.practice, load.number, [CameOut(serial=one) for one in serials], by="bench", at=at(hours + 1))
        record_readings(self.practice, load.number, MET, by="bench")
        seen = [
            IndicatorSeen(pouch=one, place=IndicatorPlace.OUTSIDE, result=IndicatorResult.TURNED) for one in serials
        ]
        whole = IndicatorSeen(pouch=None, place=IndicatorPlace.IN_LOAD, result=IndicatorResult.TURNED, type_number=5)
        read_indicators(self.practice, load.number, [*seen, whole], by="bench", at=at(hours + 1))
        return load, spores

    def test(self, hours: float, result: SporeResult | None = SporeResult.NO_GROWTH) -> SporeTest:
        """Run an empty load with a spore test, and read it a day later."""
        _, spores = self.run(hours, test=SPORES)
        if result is not None:
            read_spore_test(self.practice, spores.number, result, by="bench", at=at(hours + 24))
        return spores

    def release(self, load: Load, hours: float, **changes: object) -> list[str]:
        """Release a load, and return what speaks against it."""
        order = replace(DecisionOrder(decision=Decision.RELEASED, at=at(hours)), **changes)
        return [one.sentence for one in decide_load(self.practice, load.number, order, by="bench").refused]

    def evidence(self, serial: str) -> EvidenceState:
        with self.practice.ledger.read() as ledger:
            return ProcessingReader(ledger, self.practice.settings.spore_policy).processing_of(serial).evidence.state


@pytest.fixture
def untested(opened) -> Callable[..., Bench]:
    def call(**changes: str) -> Bench:
        practice = opened(LAST_DAY, **changes)
        enter_steriliser(practice, S1, by="bench", installed_at=at(0))
        return Bench(practice=practice)

    return call


@pytest.fixture
def bench(untested) -> Callable[..., Bench]:
    """A bench whose steriliser passed its first spore test (load L01-0001), with the second day's air-removal test."""

    def call(**changes: str) -> Bench:
        made = untested(**changes)
        made.air_removal(0.5)
        made.test(1)
        made.air_removal(24.5)
        return made

    return call


def said(reasons) -> list[str]:
    return [one.sentence for one in reasons]


def counts(practice: Practice) -> int:
    with practice.ledger.read() as ledger:
        return ledger.head(1).sequence


# -- starting ----------------------------------------------------------------------------------------------------------


def test_a_whole_load_goes_through_and_is_released(bench):
    here = bench()
    one, other = here.pouches(2)
    load, _ = here.run(26, one, other)
    assert (load.number, load.operator, load.counted) == ("L01-0002", "bench", 2)
    done = decide_load(
        here.practice, load.number, DecisionOrder(decision=Decision.RELEASED, second="lead", at=at(28)), by="bench"
    )
    assert (done.refused, done.left_out, done.release.is_early) == ((), (), False)
    with here.practice.ledger.read() as ledger:
        known = ProcessingReader(ledger, here.practice.settings.spore_policy).processing_of(one)
    assert (known.is_released, known.is_complete, known.came_out_sound, known.indicators_turned) == (True,) * 4
    assert (known.processed_on, known.release) == (date(2026, 11, 26), done.release)


def test_a_refused_start_gives_every_reason_and_writes_nothing(untested):
    here = untested()
    (one,) = here.pouches(1)
    before = counts(here.practice)
    refused = start_load(here.practice, here.order(30, one, "010000036", counted=3), by="bench")
    assert said(refused.refused) == [
        (
            "steriliser S1 was installed and no spore test of air removal cycles has passed since; "
            "until then a spore test rides along in every load"
        ),
        "3 pouches were counted and 2 scanned; count and scan again until both agree",
        "pouch 010000036 is not on record",
        "no passed air-removal test of steriliser S1 is on record for 2026-11-26",
    ]
    assert (refused.load, counts(here.practice)) == (None, before)


def test_a_serial_that_is_none_of_ours_is_wrong_input(bench):
    here = bench()
    with pytest.raises(InputError) as refused:
        start_load(here.practice, here.order(26, "010000013"), by="bench")
    assert str(refused.value) == (
        "serial '010000013'; expected nine digits whose last one is their check digit; type it again from the label"
    )


def test_an_empty_load_needs_a_spore_test(bench):
    here = bench()
    with pytest.raises(InputError) as refused:
        start_load(here.practice, here.order(26), by="bench")
    assert str(refused.value) == (
        "a load of 0 pouches; expected the number of pouches counted by hand, or a spore test in an empty load; "
        "count them, and give the number with --count"
    )


def test_a_temperature_that_is_no_steam_is_refused(bench):
    here = bench()
    order = here.order(26, temperature_c=Decimal(34), hold_minutes=Decimal(134), spore_test=SPORES)
    with pytest.raises(InputError) as refused:
        start_load(here.practice, order, by="bench")
    assert refused.value.given == "34 degrees Celsius for 134 minutes"


def test_the_same_request_starts_one_load(bench):
    here = bench()
    (one,) = here.pouches(1)
    order = here.order(26, one, spore_test=SPORES)
    first = start_load(here.practice, order, by="bench", request_key="tap-1")
    before = counts(here.practice)
    again = start_load(here.practice, order, by="bench", request_key="tap-1")
    assert (again.load, again.test, counts(here.practice)) == (first.load, first.test, before)


def test_a_key_of_one_thing_is_never_answered_for_another(bench):
    """Told that it was released, staff would take the second load for the first."""
    here = bench()
    one, other = here.pouches(2)
    (first, tested), (second, also) = here.run(26, one, test=SPORES), here.run(28, other, test=SPORES)
    quarantine = DecisionOrder(decision=Decision.QUARANTINE, reasons=("a doubt",), at=at(30))
    same = "request 'tap', under which something else was recorded"
    for step, mine, another in (
        (lambda key, load: decide_load(here.practice, load, quarantine, by="b", request_key=key), first, second),
        (lambda key, load: start_spore_test(here.practice, load, SPORES, by="b", request_key=key), first, second),
        (
            lambda key, test: read_spore_test(
                here.practice, test, SporeResult.INVALID, by="b", at=at(60), request_key=key
            ),
            tested,
            also,
        ),
        (
            lambda key, load: put_hold(
                here.practice, [Name(Kind.LOAD, load)], by="b", reason="x", at=at(61), request_key=key
            ),
            first,
            second,
        ),
    ):
        key = f"tap-{step.__code__.co_firstlineno}"
        step(key, mine.number)
        before = counts(here.practice)
        with pytest.raises(InputError, match=same.replace("tap", key)):
            step(key, another.number)
        assert counts(here.practice) == before
        step(key, mine.number)
        assert counts(here.practice) == before


def test_a_load_with_other_pouches_is_another_request(bench):
    here = bench()
    one, other = here.pouches(2)
    start_load(here.practice, here.order(26, one), by="bench", request_key="tap")
    with pytest.raises(InputError, match="request 'tap', under which something else was recorded"):
        start_load(here.practice, here.order(26, other), by="bench", request_key="tap")


def test_a_key_is_of_one_programme_one_decision_one_result(bench):
    here = bench()
    order, same = here.order(26, spore_test=SPORES), "request 'tap', under which something else was recorded"
    done = start_load(here.practice, order, by="b", request_key="tap")
    for changes in (
        {"hold_minutes": Decimal(18)},
        {"goods": Goods.UNWRAPPED, "spore_test": None},
        {"spore_test": replace(SPORES, lot="BI-8")},
    ):
        with pytest.raises(InputError, match=same):
            start_load(here.practice, replace(order, **changes), by="b", request_key="tap")
    load, test = done.load.number, done.test.number
    read_spore_test(here.practice, test, SporeResult.INVALID, by="b", at=at(60), request_key="read")
    with pytest.raises(InputError, match=same.replace("tap", "read")):
        read_spore_test(here.practice, test, SporeResult.GROWTH, by="b", at=at(60), request_key="read")
    quarantine = DecisionOrder(decision=Decision.QUARANTINE, reasons=("a doubt",), at=at(61))
    decide_load(here.practice, load, quarantine, by="b", request_key="decide")
    rejected = replace(quarantine, decision=Decision.REJECTED)
    with pytest.raises(InputError, match=same.replace("tap", "decide")):
        decide_load(here.practice, load, rejected, by="b", request_key="decide")
    items = [Name(Kind.LOAD, load), Name(Kind.STERILISER, "S1")]
    put_hold(here.practice, items, by="b", reason="x", at=at(61), request_key="hold")
    with pytest.raises(InputError, match=same.replace("tap", "hold")):
        put_hold(here.practice, items[:1], by="b", reason="x", at=at(61), request_key="hold")


def test_a_test_that_was_recorded_later_is_no_part_of_the_answer(bench):
    here = bench()
    (one,) = here.pouches(1)
    first = start_load(here.practice, here.order(26, one), by="bench", request_key="tap")
    start_spore_test(here.practice, first.load.number, SPORES, by="bench")
    again = start_load(here.practice, here.order(26, one), by="bench", request_key="tap")
    assert (again.load, again.test) == (first.load, None)


def test_nothing_happens_before_what_it_follows_on(bench):
    """Entered late with a wrong hour, an unloading before the start would leave the pouch in its load for good."""
    here = bench()
    (one,) = here.pouches(1)
    load, spores = here.start(26, one, test=SPORES)
    end_load(here.practice, load.number, Outcome.COMPLETE, by="bench", at=at(27))
    turned = IndicatorSeen(pouch=one, place=IndicatorPlace.OUTSIDE, result=IndicatorResult.TURNED)
    number, quarantine = load.number, DecisionOrder(decision=Decision.QUARANTINE, reasons=("a doubt",))
    released = DecisionOrder(decision=Decision.RELEASED)
    for early, step in (
        (26.9, lambda when: unload(here.practice, number, [CameOut(serial=one)], by="b", at=when)),
        (26.9, lambda when: read_indicators(here.practice, number, [turned], by="b", at=when)),
        (26.9, lambda when: decide_load(here.practice, number, replace(released, at=when), by="b")),
        (25.9, lambda when: decide_load(here.practice, number, replace(quarantine, at=when), by="b")),
        (25.9, lambda when: read_spore_test(here.practice, spores.number, SporeResult.GROWTH, by="b", at=when)),
    ):
        before = counts(here.practice)
        with pytest.raises(InputError, match="expected a time after"):
            step(at(early))
        assert counts(here.practice) == before
    with pytest.raises(InputError) as refused:
        unload(here.practice, number, [CameOut(serial=one)], by="b", at=at(26.9))
    assert str(refused.value) == (
        "unloading of load L01-0002 at 2026-11-26 08:54; expected a time after the load's end (2026-11-26 09:00); "
        "correct the time"
    )


def test_a_pouch_goes_once_unless_its_load_was_aborted(bench):
    here = bench()
    (one,) = here.pouches(1)
    load, _ = here.start(26, one)
    assert said(start_load(here.practice, here.order(27, one), by="bench").refused) == [
        f"pouch {one} is in load {load.number}, whose end nobody entered"
    ]
    end_load(here.practice, load.number, Outcome.ABORTED, by="bench", at=at(26.5), note="display: fault 3")
    second, _ = here.run(27, one)
    assert said(start_load(here.practice, here.order(29, one), by="bench").refused) == [
        f"pouch {one} was processed in load {second.number}; a processed pouch is never run again"
    ]


def test_a_held_pouch_does_not_start_until_the_hold_is_lifted(bench):
    here = bench()
    (one,) = here.pouches(1)
    enter_consumable(here.practice, Consumable(kind=ConsumableKind.POUCH_MATERIAL, lot="PF-77"), by="bench")
    material = Name(Kind.CONSUMABLE, "pouch_material/PF-77")
    hold = withdraw_consumable(here.practice, material, by="bench", reason="seals open", at=at(25))
    assert said(start_load(here.practice, here.order(26, one), by="bench").refused) == [
        f"pouch {one} is kept back by hold H01-0001 (withdrawn: seals open)"
    ]
    lift_hold(here.practice, hold.number, by="bench", reason="tested, sound", at=at(26))
    here.start(27, one)


@pytest.mark.parametrize(
    ("what", "sentence"),
    [
        ("opened", "pouch {} was opened or used"),
        ("used", "pouch {} was opened or used"),
        ("destroyed", "pouch {} was destroyed, or what is in it was"),
        ("printed", "pouch {} bears a label of print run R01-0001, whose stock does not withstand steam"),
    ],
)
def test_a_pouch_that_is_spent_or_bears_a_label_not_for_steam_does_not_start(bench, what, sentence):
    here = bench()
    (one,) = here.pouches(1)
    name, client = Name(Kind.POUCH, one), Client(code="C-0007", care_level=CareLevel.ROUTINE)
    with here.practice.ledger.read() as ledger:
        tube = Name(Kind.TUBE, ledger.find_pouch(one).value.tubes[0])
    facts = {
        "opened": PouchOpening(
            pouch=name, client=None, indicator=True, dry=True, whole=True, verdict=Verdict.STOP, at=at(25)
        ),
        "used": Use(
            number="U01-000001", client=client.as_name, practitioner="bench", at=at(25), items=(tube,), verdict=None
        ),
        "destroyed": Destruction(item=tube, what=Destroyed.WHOLE, at=at(25), how="crushed"),
    }
    run = PrintRun(
        number="R01-0001",
        printed_on=LAST_DAY,
        layout="pouch-90",
        sheet="roll-70x16",
        dpi=300,
        stock_withstands_steam=False,
    )
    with here.practice.write(by="bench") as ledger:
        ledger.record(client)
        if what == "printed":
            ledger.add_print_run(run, [PrintedLabel(serial=one, kind=LabelKind.POUCH)])
        else:
            ledger.record(facts[what])
    assert said(start_load(here.practice, here.order(26, one), by="bench").refused) == [sentence.format(one)]


def test_of_many_loads_that_want_one_pouch_at_once_one_starts(bench):
    here = bench()
    (one,) = here.pouches(1)
    order = here.order(26, one)
    with ThreadPoolExecutor(6) as pool:
        done = list(pool.map(lambda _: start_load(here.practice, order, by="bench"), range(6)))
    started = [each.load.number for each in done if each.load is not None]
    assert started == ["L01-0002"]
    refused = {sentence for each in done for sentence in said(each.refused)}
    assert refused == {f"pouch {one} is in load L01-0002, whose end nobody entered"}


@pytest.mark.parametrize(
    ("rule", "passed", "refused", "warned"),
    [
        ("refuse", None, ["no passed air-removal test of steriliser S1 is on record for 2026-11-27"], []),
        ("warn", None, [], ["no passed air-removal test of steriliser S1 is on record for 2026-11-27"]),
        ("refuse", True, [], []),
        ("refuse", False, ["the last air-removal test of steriliser S1 failed (2026-11-27)"], []),
        ("warn", False, ["the last air-removal test of steriliser S1 failed (2026-11-27)"], []),
    ],
)
def test_the_air_removal_test_of_the_day(bench, rule, passed, refused, warned):
    here = bench(air_removal_test=f'"{rule}"')
    (one,) = here.pouches(1)
    if passed is not None:
        here.air_removal(49, passed=passed)
    done = start_load(here.practice, here.order(50, one), by="bench")
    assert (said(done.refused), said(done.warnings)) == (refused, warned)


def test_a_repaired_steriliser_runs_only_loads_with_a_spore_test_until_one_passed(bench):
    here = bench()
    one, other = here.pouches(2)
    repaired = SteriliserEvent(steriliser=S1.as_name, event=SteriliserEventKind.REPAIRED, at=at(25), note="new seal")
    record_event(here.practice, repaired, by="bench")
    assert said(start_load(here.practice, here.order(26, one), by="bench").refused) == [
        (
            "steriliser S1 was repaired and no spore test of air removal cycles has passed since; "
            "until then a spore test rides along in every load"
        )
    ]
    load, spores = here.run(26, one, test=SPORES)
    assert here.release(load, 28) == [
        "spore test B01-0002, which rode along, is still incubating; keep the load in quarantine until it is read"
    ]
    read_spore_test(here.practice, spores.number, SporeResult.NO_GROWTH, by="bench", at=at(50))
    assert here.release(load, 51) == []
    here.air_removal(51)
    here.start(52, other)


def test_an_expired_lot_of_spore_tests_does_not_start(bench):
    here = bench()
    (one,) = here.pouches(1)
    old = replace(SPORES, lot_expiry=date(2026, 11, 25))
    refused = start_load(here.practice, here.order(26, one, spore_test=old), by="bench")
    assert said(refused.refused) == ["spore tests of lot BI-9 expired on 2026-11-25"]
    lot = Consumable(kind=ConsumableKind.SPORE_TESTS, lot="BI-9", expiry=date(2026, 11, 25))
    with here.practice.write(by="bench") as ledger:
        ledger.record(lot)
    refused = start_spore_test(here.practice, "L01-0001", replace(SPORES, lot_expiry=None), by="bench")
    assert (said(refused.refused), refused.test) == ([], refused.test)
    load, _ = here.start(26, one)
    refused = start_spore_test(here.practice, load.number, replace(SPORES, lot_expiry=None), by="bench")
    assert said(refused.refused) == ["spore tests of lot BI-9 expired on 2026-11-25"]


# -- ending, unloading, reading ----------------------------------------------------------------------------------------


def test_a_load_ends_once_and_not_before_it_started(bench):
    here = bench()
    load, _ = here.start(26, *here.pouches(1))
    with pytest.raises(InputError) as early:
        end_load(here.practice, load.number, Outcome.COMPLETE, by="bench", at=at(25))
    assert str(early.value) == (
        "the end of load L01-0002 before its start (2026-11-26 08:00); expected an end after the start; "
        "correct the time"
    )
    end_load(here.practice, load.number, Outcome.COMPLETE, by="bench", at=at(27))
    with pytest.raises(LedgerError) as twice:
        end_load(here.practice, load.number, Outcome.ABORTED, by="bench", at=at(27))
    assert str(twice.value) == (
        "load L01-0002, which ended (complete) before; expected a load whose end nobody entered; "
        "correct that end, with the reason, if it was wrong"
    )


def test_unloading_names_what_is_missing_what_is_extra_and_what_is_rejected(bench):
    here = bench()
    one, other, third, stranger = here.pouches(4)
    load, _ = here.start(26, one, other, third)
    early = unload(here.practice, load.number, [CameOut(serial=one)], by="bench", at=at(27))
    assert (said(early.refused), early.recorded) == (["nobody entered how load L01-0002 ended"], ())
    end_load(here.practice, load.number, Outcome.COMPLETE, by="bench", at=at(27))
    out = [CameOut(serial=one), CameOut(serial=other, state=PouchState.WET), CameOut(serial=stranger)]
    done = unload(here.practice, load.number, out, by="bench", at=at(27.1))
    names = [Name(Kind.POUCH, serial) for serial in (one, other, third)]
    assert ([value.pouch for value in done.recorded], done.rejected) == (names[:2], (names[1],))
    assert (done.missing, done.extra) == ((names[2],), (stranger,))
    before = counts(here.practice)
    again = unload(here.practice, load.number, out[:2], by="bench", at=at(27.2))
    assert (again.recorded, again.missing, counts(here.practice)) == ((), (names[2],), before)
    with pytest.raises(LedgerError) as changed:
        unload(here.practice, load.number, [CameOut(serial=other)], by="bench", at=at(27.3))
    assert str(changed.value) == (
        f"pouch {other} sound, scanned out as wet before; expected one state for each pouch; "
        "correct what was recorded, with the reason, if it was wrong"
    )


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        (
            {"source": ReadingsSource.LOGGER},
            ("readings of a logger without its file; expected the file that the logger wrote; "
            "add it with --file, or enter what the gauge showed"),
        ),
        (
            {"typed": ()},
            ("readings that meet the programme, and none of them; expected a file, or what was read at least once; "
            "add --file, or --reading MINUTE=DEGREES, with the pressure after an @ if it was read"),
        ),
        (
            {"verdict": ReadingsVerdict.NOT_MET},
            "readings judged as not met without a reason; expected the reason in words; add --reason",
        ),
    ],
)  # fmt: skip
def test_readings_that_say_nothing_are_refused(bench, changes, sentence):
    here = bench()
    with pytest.raises(InputError) as refused:
        record_readings(here.practice, "L01-0001", replace(MET, **changes), by="bench")
    assert str(refused.value) == sentence


def test_a_loggers_file_is_kept_and_its_judge_is_named(bench):
    here = bench()
    file = ReadingsFile(name="L01-0001.csv", content=b"minute,C\n0,20\n9,134.2\n14,134.2\n15,90\n")
    order = replace(MET, source=ReadingsSource.LOGGER, typed=(), reasons=("the printout agrees",))
    done = record_readings(here.practice, "L01-0001", order, by="bench", file=file).readings
    assert (done.reasons[0], done.reasons[-1]) == ("the printout agrees", "judged by bench")
    (kept,) = (here.practice.folder / "evidence").rglob("*.csv")
    assert kept.read_bytes() == file.content
    assert done.evidence is not None


@pytest.mark.parametrize(
    ("seen", "sentence"),
    [
        ([], "no indicator; expected at least one; name pouches, or the load's own"),
        (
            [IndicatorSeen(pouch=None, place=IndicatorPlace.IN_LOAD, result=IndicatorResult.TURNED, type_number=7)],
            "an indicator of type 7; expected a type from 1 to 6 (ISO 11140-1); read it from the indicator's box",
        ),
        (
            [IndicatorSeen(pouch=None, place=IndicatorPlace.INSIDE, result=IndicatorResult.TURNED)],
            ("an indicator of no pouch; expected outside or inside for a pouch's, in_load for one that stands for the "
            "whole load; correct the place, or name the pouch"),
        ),
    ],
)  # fmt: skip
def test_indicators_that_cannot_be_are_refused(bench, seen, sentence):
    here = bench()
    with pytest.raises(InputError) as refused:
        read_indicators(here.practice, "L01-0001", seen, by="bench")
    assert str(refused.value) == sentence


def test_one_pouch_is_never_read_two_ways_so_that_the_worse_one_is_lost(bench):
    here = bench()
    (one,) = here.pouches(1)
    load, _ = here.start(26, one)
    end_load(here.practice, load.number, Outcome.COMPLETE, by="bench", at=at(27))
    seen = [
        IndicatorSeen(pouch=one, place=IndicatorPlace.OUTSIDE, result=result)
        for result in (IndicatorResult.NOT_TURNED, IndicatorResult.TURNED)
    ]
    with pytest.raises(InputError) as refused:
        read_indicators(here.practice, load.number, seen, by="bench", at=at(28))
    assert refused.value.given == f"the indicator of {one} as not turned and as turned"
    out = [CameOut(serial=one, state=PouchState.WET), CameOut(serial=one)]
    with pytest.raises(InputError) as refused:
        unload(here.practice, load.number, out, by="bench", at=at(28))
    assert refused.value.given == f"pouch {one} as wet and as sound"


def test_indicators_of_a_pouch_that_is_not_in_the_load_are_a_finding(bench):
    here = bench()
    one, stranger = here.pouches(2)
    load, _ = here.start(26, one)
    seen = [IndicatorSeen(pouch=stranger, place=IndicatorPlace.OUTSIDE, result=IndicatorResult.TURNED)]
    before = counts(here.practice)
    assert said(read_indicators(here.practice, load.number, seen, by="bench", at=at(27)).refused) == [
        "nobody entered how load L01-0002 ended",
        f"pouch {stranger} is not in load L01-0002",
    ]
    assert counts(here.practice) == before


# -- deciding ----------------------------------------------------------------------------------------------------------


def test_a_release_gives_every_reason_and_writes_nothing(bench):
    here = bench(who_may_release='["lead"]', second_person_for_release="true")
    one, other = here.pouches(2)
    load, _ = here.start(26, one, other)
    before = counts(here.practice)
    assert here.release(load, 27) == [
        "bench may not release loads; these may: lead",
        "the practice asks for a second person at every release",
        "nobody entered how load L01-0002 ended",
        f"not scanned out of load L01-0002: pouches {one}, {other}",
        "no readings of load L01-0002 are on record",
        f"no indicator was read of pouches {one}, {other}",
    ]
    assert counts(here.practice) == before


def test_the_second_person_is_not_the_first(bench):
    here = bench(second_person_for_release="true")
    load, _ = here.run(26, *here.pouches(1))
    assert here.release(load, 28, second="bench") == ["the second person is the first one, bench"]
    assert here.release(load, 28, second="lead") == []


def test_an_early_release_is_marked(bench):
    here = bench(early_release="true")
    load, _ = here.run(26, *here.pouches(1), test=SPORES)
    order = DecisionOrder(decision=Decision.RELEASED, at=at(28))
    assert decide_load(here.practice, load.number, order, by="bench").release.is_early


def test_single_pouches_are_left_out_each_with_its_reason(bench):
    here = bench()
    one, wet, pale, held, chosen = here.pouches(5)
    load, _ = here.start(26, one, wet, pale, held, chosen)
    end_load(here.practice, load.number, Outcome.COMPLETE, by="bench", at=at(27))
    out = [CameOut(serial=wet, state=PouchState.WET), *(CameOut(serial=serial) for serial in (one, pale, held, chosen))]
    unload(here.practice, load.number, out, by="bench", at=at(27))
    record_readings(here.practice, load.number, MET, by="bench")
    seen = [
        IndicatorSeen(
            pouch=serial,
            place=IndicatorPlace.OUTSIDE,
            result=IndicatorResult.UNCLEAR if serial == pale else IndicatorResult.TURNED,
        )
        for serial in (one, pale, held, chosen)
    ]
    read_indicators(here.practice, load.number, seen, by="bench", at=at(27))
    put_hold(here.practice, [Name(Kind.POUCH, held)], by="bench", reason="dropped", at=at(27))
    order = DecisionOrder(decision=Decision.RELEASED, excepted=(chosen,), at=at(28))
    done = decide_load(here.practice, load.number, order, by="bench")
    assert done.refused == ()
    assert [(pouch.text, why) for pouch, why in done.left_out] == [
        (wet, "came out wet"),
        (pale, "its indicator is unclear"),
        (held, "kept back by a hold"),
        (chosen, "left out by name"),
    ]
    assert done.release.excepted == tuple(Name(Kind.POUCH, serial) for serial in (wet, pale, held, chosen))


def test_rejected_stays_rejected_and_quarantine_can_be_released(bench):
    here = bench()
    load, _ = here.run(26, *here.pouches(1))
    with pytest.raises(InputError) as unsaid:
        decide_load(here.practice, load.number, DecisionOrder(decision=Decision.QUARANTINE, at=at(28)), by="bench")
    assert str(unsaid.value) == "quarantine without a reason; expected the reason in words; add --reason"
    waiting = DecisionOrder(decision=Decision.QUARANTINE, reasons=("a doubt",), at=at(28))
    assert decide_load(here.practice, load.number, waiting, by="bench").refused == ()
    words = "load L01-0002: in quarantine: release or reject it once it can be told"
    assert words in [one.sentence for one in list_due(here.practice)]
    assert here.release(load, 29) == []
    assert words not in [one.sentence for one in list_due(here.practice)]
    rejected = DecisionOrder(decision=Decision.REJECTED, reasons=("door was open",), at=at(30))
    assert decide_load(here.practice, load.number, rejected, by="bench").refused == ()
    assert here.release(load, 31) == ["load L01-0002 was rejected; correct that decision first, if it was wrong"]


@pytest.mark.parametrize(
    ("inside", "probe", "refused"),
    [
        (False, ProbePlace.CHAMBER, True),
        (False, ProbePlace.REFERENCE_TUBE, False),
        (True, ProbePlace.CHAMBER, False),
    ],
)
def test_a_liquid_is_released_only_on_what_was_measured_inside_a_tube(untested, bottle, tubes, inside, probe, refused):
    here = untested()
    liquid = replace(S1, code="S2", cycle_kinds=(CycleKind.LIQUID,))
    enter_steriliser(here.practice, liquid, by="bench", installed_at=at(0))
    filled = tubes(here.practice, bottle(here.practice), count=1)
    (pouch,) = pack_pouches(here.practice, one_each(filled), material_lot="PF-77", by="bench")
    order = here.order(
        2,
        pouch.serial,
        steriliser="S2",
        cycle_kind=CycleKind.LIQUID,
        goods=Goods.LIQUID,
        spore_test=replace(SPORES, in_reference_tube=inside),
    )
    started = start_load(here.practice, order, by="bench")
    assert started.refused == ()
    number = started.load.number
    end_load(here.practice, number, Outcome.COMPLETE, by="bench", at=at(3))
    unload(here.practice, number, [CameOut(serial=pouch.serial)], by="bench", at=at(4))
    record_readings(here.practice, number, replace(MET, probe=probe), by="bench")
    seen = IndicatorSeen(pouch=pouch.serial, place=IndicatorPlace.OUTSIDE, result=IndicatorResult.TURNED)
    read_indicators(here.practice, number, [seen], by="bench", at=at(4))
    read_spore_test(here.practice, started.test.number, SporeResult.NO_GROWTH, by="bench", at=at(27))
    sentence = (
        "cannot tell: readings of the chamber say nothing of the inside of a closed tube; a probe or a spore test "
        "in a reference tube of the same fill is needed"
    )
    assert here.release(started.load, 28) == ([sentence] if refused else [])


# -- spore tests -------------------------------------------------------------------------------------------------------


def test_no_growth_counts_only_once_the_incubation_is_over(bench):
    here = bench()
    _, spores = here.start(26, test=SPORES)
    with pytest.raises(InputError) as early:
        read_spore_test(here.practice, spores.number, SporeResult.NO_GROWTH, by="bench", at=at(49))
    assert str(early.value) == (
        "no growth of spore test B01-0002 before its incubation ends; expected a reading at 2026-11-27 08:00 or later; "
        "read it again then; only a growth may be entered earlier"
    )
    read_spore_test(here.practice, spores.number, SporeResult.NO_GROWTH, by="bench", at=at(50))
    with pytest.raises(LedgerError) as twice:
        read_spore_test(here.practice, spores.number, SporeResult.INVALID, by="bench", at=at(50))
    assert str(twice.value) == (
        "spore test B01-0002, which was read as no growth before; expected a test that still incubates, or a growth "
        "seen later; correct that reading, with the reason, if it was wrong"
    )


@pytest.mark.parametrize(
    ("result", "grew", "is_refused"),
    [
        (SporeResult.NO_GROWTH, False, True),
        (SporeResult.INVALID, True, True),
        (SporeResult.GROWTH, True, False),
        (SporeResult.GROWTH, False, False),  # whatever the control did: perhaps they were exchanged
    ],
)
def test_a_growth_counts_whatever_its_control_did(bench, result, grew, is_refused):
    here = bench()
    _, spores = here.start(26, test=SPORES)

    def read() -> SporeRead:
        return read_spore_test(here.practice, spores.number, result, by="bench", at=at(50), control_grew=grew)

    if not is_refused:
        assert read().hold is not None
        return
    with pytest.raises(InputError) as refused:
        read()
    assert refused.value.expected == "no growth only if the control grew, invalid only if it did not"


@pytest.mark.parametrize(
    ("changes", "given"),
    [
        ({"event": SteriliserEventKind.CALIBRATED, "error_k": Decimal(300)}, "calibrated with an error of 300 K"),
        ({"event": SteriliserEventKind.CLEANED, "error_k": Decimal("0.3")}, "cleaned with an error of 0.3 K"),
        ({"event": SteriliserEventKind.CLEANED, "offset_s": Decimal(3)}, "cleaned with an offset of 3 s"),
        ({"event": SteriliserEventKind.CLOCK_COMPARED}, "clock compared with no offset"),
        (
            {"event": SteriliserEventKind.CLOCK_COMPARED, "offset_s": Decimal(10**12)},
            "clock compared with an offset of 1000000000000 s",
        ),
    ],
)
def test_a_number_that_no_later_reading_would_find_is_refused(bench, changes, given):
    here = bench()
    with pytest.raises(InputError) as refused:
        record_event(here.practice, SteriliserEvent(steriliser=S1.as_name, at=at(26), **changes), by="bench")
    assert refused.value.given == given


def test_growth_holds_all_that_it_reaches_takes_the_steriliser_out_and_three_passes_bring_it_back(bench):
    here = bench()
    one, other, third = here.pouches(3)
    first, _ = here.run(26, one)
    assert here.release(first, 28) == []
    second, spores = here.run(28, other, test=SPORES)
    before = counts(here.practice)
    done = read_spore_test(here.practice, spores.number, SporeResult.GROWTH, by="bench", at=at(40), request_key="tap")
    assert (done.hold.cause, done.hold.items) == (HoldCause.SPORE_GROWTH, (first.as_name, second.as_name))
    assert done.hold.reason == (
        "spore test B01-0002 in load L01-0003 grew: after load L01-0001, whose spore test B01-0001 passed (itself not "
        "affected)"
    )
    assert done.interval.is_open
    assert [here.evidence(serial) for serial in (one, other)] == [EvidenceState.FAILED] * 2
    written = counts(here.practice)
    assert written > before
    read_spore_test(here.practice, spores.number, SporeResult.GROWTH, by="bench", at=at(40), request_key="tap")
    assert counts(here.practice) == written
    here.air_removal(48)
    out = (
        "steriliser S1 is out of service (spore test B01-0002 grew); until it is returned it runs only test loads: "
        "with a spore test, and without pouches"
    )
    assert said(start_load(here.practice, here.order(49, third), by="bench").refused) == [out]
    assert said(start_load(here.practice, here.order(49, third, spore_test=SPORES), by="bench").refused) == [out]
    here.test(50)
    here.test(52)
    assert said(return_to_service(here.practice, "S1", by="bench", at=at(77)).refused) == [
        "3 consecutive passed spore tests of air removal cycles are needed since it was taken out; on record: 2 passed"
    ]
    here.test(54)
    returned = return_to_service(here.practice, "S1", by="bench", at=at(79))
    assert (returned.refused, returned.event.note) == ((), None)
    here.air_removal(80)
    fourth, _ = here.run(81, third)
    assert (here.evidence(third), here.evidence(one)) == (EvidenceState.PASSED, EvidenceState.FAILED)
    assert here.release(fourth, 83) == []


def test_a_return_may_be_overridden_by_name_but_growth_goes_on_reaching(bench):
    here = bench()
    (one,) = here.pouches(1)
    _, spores = here.run(26, test=SPORES)
    read_spore_test(here.practice, spores.number, SporeResult.GROWTH, by="bench", at=at(40))
    done = return_to_service(here.practice, "S1", by="lead", override="tested at the maker's", at=at(41))
    assert done.event.note == (
        "overridden by lead: tested at the maker's (3 consecutive passed spore tests of air removal cycles are needed "
        "since it was taken out; on record: 0 passed)"
    )
    here.air_removal(42)
    here.run(43, one)
    assert here.evidence(one) is EvidenceState.FAILED
    assert said(return_to_service(here.practice, "S1", by="bench", at=at(44)).refused) == [
        "steriliser S1 is not out of service"
    ]


def test_a_growth_that_is_entered_after_a_return_takes_the_steriliser_out_from_then_on(bench):
    """Nobody who returned it knew of that growth."""
    here = bench()
    (one,) = here.pouches(1)
    _, grown = here.run(26, test=SPORES)
    read_spore_test(here.practice, grown.number, SporeResult.GROWTH, by="bench", at=at(40))
    _, late = here.run(41, test=SPORES)
    return_to_service(here.practice, "S1", by="lead", override="tested at the maker's", at=at(60))
    read_spore_test(here.practice, late.number, SporeResult.GROWTH, by="bench", at=at(50))
    now = here.practice.now()
    assert said(start_load(here.practice, replace(here.order(26, one), at=now), by="bench").refused)[0].startswith(
        "steriliser S1 is out of service (spore test B01-0003 grew)"
    )


def test_a_return_counts_only_what_had_run_and_was_read_by_then(bench):
    here = bench()
    _, grown = here.run(26, test=SPORES)
    read_spore_test(here.practice, grown.number, SporeResult.GROWTH, by="bench", at=at(40))
    here.air_removal(49)
    for hours in (50, 52, 54):
        here.test(hours)
    for early in (45, 53, 77):
        assert said(return_to_service(here.practice, "S1", by="bench", at=at(early)).refused) != []
    assert return_to_service(here.practice, "S1", by="bench", at=at(78)).refused == ()


def test_under_confirm_first_stock_is_suspect_until_three_repeat_cycles_passed(bench):
    here = bench(spore_growth_policy='"confirm_first"')
    (one,) = here.pouches(1)
    here.run(26, one)
    _, spores = here.run(28, test=SPORES)
    done = read_spore_test(here.practice, spores.number, SporeResult.GROWTH, by="bench", at=at(40))
    assert here.evidence(one) is EvidenceState.SUSPECT
    here.air_removal(48)
    for hours in (50, 52, 54):
        here.test(hours)
    assert here.evidence(one) is EvidenceState.PASSED
    with here.practice.ledger.read() as ledger:
        known = ProcessingReader(ledger, here.practice.settings.spore_policy).processing_of(one)
    assert known.protected_evidence.state is EvidenceState.FAILED
    assert known.holds == (done.hold,)  # a person lifts it


# -- the rest ----------------------------------------------------------------------------------------------------------


def test_things_are_named_by_kind_or_by_a_bare_number(bench, bottle):
    here = bench()
    serial = bottle(here.practice)
    with here.practice.ledger.read() as ledger:
        assert things_named(ledger, "lot:Saltmarsh Colour/5501") == (Name(Kind.BOTTLE, serial),)
        assert things_named(ledger, "load:L01-0001") == things_named(ledger, "L01-0001")
        assert things_named(ledger, serial) == (Name(Kind.BOTTLE, serial),)
        with pytest.raises(InputError) as unknown:
            things_named(ledger, "load:L01-0099")
    assert str(unknown.value) == (
        "'load:L01-0099' (nothing on record); expected one thing on record, such as load:L01-0001, pouch:SERIAL, "
        "lot:MAKER/BATCH, consumable:KIND/LOT; write its kind before it, with a colon"
    )


def test_a_hold_is_lifted_once(bench):
    here = bench()
    hold = put_hold(here.practice, [Name(Kind.LOAD, "L01-0001")], by="bench", reason="a doubt", at=at(30))
    lift_hold(here.practice, hold.number, by="bench", reason="no cause found", at=at(31))
    with pytest.raises(LedgerError) as twice:
        lift_hold(here.practice, hold.number, by="bench", reason="again", at=at(32))
    assert str(twice.value) == (
        "hold H01-0001, which was lifted before; expected a hold that still stands; "
        "put another hold on, if the things shall be kept back again"
    )


def test_a_lot_that_is_past_its_expiry_is_not_taken_into_use(bench):
    here = bench()
    old = Consumable(kind=ConsumableKind.INDICATORS, lot="CI-3", expiry=date(2026, 11, 30))
    with pytest.raises(InputError) as refused:
        enter_consumable(here.practice, old, by="bench")
    assert str(refused.value) == (
        "consumable indicators/CI-3, which expired on 2026-11-30; expected a lot that is good on 2026-12-20; "
        "put it away, or correct its date"
    )
    with pytest.raises(InputError) as backwards:
        use_consumable(here.practice, old.name, by="bench", from_day=date(2026, 11, 30), to_day=date(2026, 11, 29))
    assert str(backwards.value) == (
        "in use from 2026-11-30 to 2026-11-29; expected a last day on or after the first; correct the dates"
    )


def test_what_is_still_to_come_cannot_have_happened(bench):
    here = bench()
    with pytest.raises(InputError) as refused:
        end_load(here.practice, "L01-0001", Outcome.COMPLETE, by="bench", at=datetime(2026, 12, 21, 3, tzinfo=UTC))
    assert str(refused.value) == (
        "2026-12-21 03:00, which is still to come; expected today (2026-12-20) or a day before; correct the time"
    )


def test_the_second_label_of_a_processed_pouch_says_load_day_operator_and_the_packs_shelf_life(bench):
    from tracelabels.workflows.label_contents import ContentWriter

    here = bench(pouch_shelf_life='"30 days"')
    one, other = here.pouches(2)
    with here.practice.write(by="lead") as ledger:
        ledger.add_staff(StaffMember(code="bench", name=None, initials="BB"))
    load, _ = here.run(26, one)
    with here.practice.ledger.read() as ledger:
        writer = ContentWriter(here.practice, ledger)
        done, waiting = writer.content_of(one), writer.content_of(other)
    assert (done.steriliser, done.load_number, done.operator) == ("S1", load.number, "BB")
    assert (done.processed_on, done.identity.use_by) == (date(2026, 11, 26), date(2026, 12, 26))
    # Unprocessed: the practice's limit after preparation alone (2026-12-20 and 180 days).
    assert (waiting.load_number, waiting.processed_on, waiting.identity.use_by) == (None, None, date(2027, 6, 18))


def test_a_pouch_past_its_packs_shelf_life_gets_no_label(bench):
    from tracelabels.workflows.label_contents import ContentWriter

    here = bench(pouch_shelf_life='"20 days"')
    (one,) = here.pouches(1)
    here.run(26, one)
    with here.practice.ledger.read() as ledger, pytest.raises(InputError) as refused:
        ContentWriter(here.practice, ledger).content_of(one)
    assert str(refused.value) == (
        f"pouch {one}: pouch {one} was good until 2026-12-16; expected tubes that may still be used; "
        "destroy them, or correct the record or the policy if it is wrong; no label was printed"
    )
