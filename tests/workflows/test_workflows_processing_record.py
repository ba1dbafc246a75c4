"""What is known about a pouch's processing, at each step of its way through a load."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest

from tracelabels.custody import (
    Consumable,
    ConsumableKind,
    CycleKind,
    Decision,
    Goods,
    Hold,
    HoldCause,
    HoldLifted,
    IndicatorPlace,
    IndicatorReading,
    IndicatorResult,
    Kind,
    Load,
    LoadEnd,
    LoadReadings,
    Name,
    Outcome,
    PouchState,
    ProbePlace,
    ProcessingRecord,
    ReadingsSource,
    ReadingsVerdict,
    Release,
    SporeReading,
    SporeResult,
    SporeTest,
    Stage,
    Steriliser,
    Unloaded,
)
from tracelabels.errors import LedgerError
from tracelabels.sterilization import EvidenceState, GrowthPolicy, SporePolicy
from tracelabels.workflows.pack_pouches import one_each, pack_pouches
from tracelabels.workflows.processing_record import ProcessingReader

BEGIN = datetime(2026, 11, 25, 9, tzinfo=UTC)
S1 = Steriliser(code="S1", name="the small one", serial_number="7", cycle_kinds=(CycleKind.AIR_REMOVAL,))


def at(minutes: int) -> datetime:
    return BEGIN + timedelta(minutes=minutes)


def load(number: str, minutes: int, *pouches: str) -> Load:
    return Load(
        number=number,
        steriliser=S1.as_name,
        cycle_kind=CycleKind.AIR_REMOVAL,
        programme="wrapped 134",
        temperature_c=Decimal(134),
        hold_minutes=Decimal("3.5"),
        goods=Goods.WRAPPED,
        operator="bench",
        started_at=at(minutes),
        counted=len(pouches),
        pouches=tuple(Name(Kind.POUCH, serial) for serial in pouches),
    )


def spore_test(number: str, of: Load) -> SporeTest:
    return SporeTest(
        number=number,
        steriliser=S1.as_name,
        cycle_kind=CycleKind.AIR_REMOVAL,
        load=of.as_name,
        lot="BI-9",
        placement="over the drain",
        at=of.started_at,
        due_at=of.started_at + timedelta(hours=24),
    )


@pytest.fixture
def here(opened, bottle, tubes):
    """A practice, and two packed pouches with one tube each."""
    practice = opened()
    serials = tubes(practice, bottle(practice), count=2)
    pouches = pack_pouches(practice, one_each(serials), material_lot="PF-77", by="bench")
    return practice, pouches[0], pouches[1]


def record(practice, *values: object) -> None:
    with practice.write(by="bench") as ledger:
        for value in values:
            ledger.record(value)


def known(practice, serial: str, policy: SporePolicy | None = None) -> ProcessingRecord:
    with practice.ledger.read() as ledger:
        return ProcessingReader(ledger, policy or practice.settings.spore_policy).processing_of(serial)


def test_nothing_is_known_before_a_load(here):
    practice, one, _ = here
    assert known(practice, one.serial) == ProcessingRecord(pouch=Name(Kind.POUCH, one.serial))


def test_a_pouch_that_is_not_on_record_is_refused(here):
    practice, *_ = here
    with pytest.raises(LedgerError) as refused:
        known(practice, "010000999")
    assert str(refused.value) == (
        "pouch 010000999; expected a pouch that is recorded in this ledger; check the number, or record it first"
    )


def test_everything_about_its_load_is_collected(here):
    practice, one, other = here
    first = load("L01-0001", 0, one.serial, other.serial)
    pouch = Name(Kind.POUCH, one.serial)
    end = LoadEnd(load=first.as_name, outcome=Outcome.COMPLETE, at=at(50))
    readings = LoadReadings(
        load=first.as_name, source=ReadingsSource.GAUGE, probe=ProbePlace.CHAMBER, verdict=ReadingsVerdict.MET
    )
    unloaded = Unloaded(load=first.as_name, pouch=pouch, state=PouchState.SOUND, at=at(60))
    wet = Unloaded(load=first.as_name, pouch=Name(Kind.POUCH, other.serial), state=PouchState.WET, at=at(60))

    def turned(of: Name | None, place: IndicatorPlace) -> IndicatorReading:
        return IndicatorReading(
            load=first.as_name,
            pouch=of,
            place=place,
            result=IndicatorResult.TURNED,
            stage=Stage.UNLOADING,
            at=at(61),
            lot="CI-3",
        )

    own, theirs = turned(pouch, IndicatorPlace.OUTSIDE), turned(wet.pouch, IndicatorPlace.OUTSIDE)
    whole = turned(None, IndicatorPlace.IN_LOAD)
    release = Release(load=first.as_name, decision=Decision.RELEASED, at=at(70), excepted=(wet.pouch,))
    record(practice, S1, first, end, readings, unloaded, wet, own, theirs, whole, release)
    said = known(practice, one.serial)
    assert (said.load, said.end, said.readings, said.unloaded, said.indicators, said.release, said.processed_on) == (
        first,
        end,
        (readings,),
        unloaded,
        (own, whole),
        release,
        date(2026, 11, 25),
    )
    assert (said.is_released, said.is_complete, said.came_out_sound, said.indicators_turned) == (True,) * 4
    assert said.readings_verdict is ReadingsVerdict.MET
    assert said.evidence.state is EvidenceState.MISSING
    excepted = known(practice, other.serial)
    assert (excepted.is_released, excepted.came_out_sound) == (False, False)


def test_what_two_pouches_share_is_looked_up_once(here, monkeypatch):
    practice, one, other = here
    first = load("L01-0001", 0, one.serial, other.serial)
    record(practice, S1, first, LoadEnd(load=first.as_name, outcome=Outcome.COMPLETE, at=at(50)))
    with practice.ledger.read() as ledger:
        look_up, asked = ledger.about, []

        def about(kind, field, name):
            asked.append((kind, field, name))
            return look_up(kind, field, name)

        monkeypatch.setattr(ledger, "about", about)
        reader = ProcessingReader(ledger, practice.settings.spore_policy)
        assert [reader.processing_of(each.serial).load for each in (one, other)] == [first, first]
    assert (LoadEnd, "load", first.as_name) in asked
    assert len(asked) == len(set(asked))


def test_a_pouch_of_an_aborted_load_is_not_processed_and_its_next_load_counts(here):
    practice, one, _ = here
    first, second = load("L01-0001", 0, one.serial), load("L01-0002", 90, one.serial)
    record(practice, S1, first, LoadEnd(load=first.as_name, outcome=Outcome.ABORTED, at=at(20)))
    said = known(practice, one.serial)
    assert (said.load, said.processed_on, said.is_complete) == (first, None, False)
    record(practice, second, LoadEnd(load=second.as_name, outcome=Outcome.COMPLETE, at=at(140)))
    said = known(practice, one.serial)
    assert (said.load, said.earlier_loads, said.processed_on) == (second, (first,), date(2026, 11, 25))
    with practice.ledger.read() as ledger:
        assert ProcessingReader(ledger, SporePolicy()).processed_on(one.serial) == date(2026, 11, 25)


def test_spore_tests_speak_under_the_policy_and_at_once_for_protected_care(here):
    practice, one, _ = here
    first, second = load("L01-0001", 0, one.serial), load("L01-0002", 90)
    test = spore_test("B01-0001", second)
    before = load("L01-0000", -90)
    passed = spore_test("B01-0000", before)
    record(practice, S1, before, first, second, passed, test)
    record(practice, SporeReading(test=passed.as_name, result=SporeResult.NO_GROWTH, at=at(2000)))
    assert known(practice, one.serial).evidence.state is EvidenceState.PASSED
    record(practice, SporeReading(test=test.as_name, result=SporeResult.NO_GROWTH, at=at(2000)))
    record(practice, SporeReading(test=test.as_name, result=SporeResult.GROWTH, at=at(1999)))
    strict = known(practice, one.serial)
    assert strict.evidence.state is EvidenceState.FAILED
    confirm = known(practice, one.serial, SporePolicy(growth=GrowthPolicy.CONFIRM_FIRST))
    assert (confirm.evidence.state, confirm.protected_evidence.state) == (EvidenceState.SUSPECT, EvidenceState.FAILED)


@pytest.mark.parametrize(
    "what", ["pouch", "tube", "preparation", "bottle", "product", "material", "load", "steriliser"]
)
def test_a_hold_on_whatever_a_pouch_comes_from_is_found_until_it_is_lifted(here, what):
    practice, one, _ = here
    material = Consumable(kind=ConsumableKind.POUCH_MATERIAL, lot="PF-77")
    first = load("L01-0001", 0, one.serial)
    names = {
        "pouch": Name(Kind.POUCH, one.serial),
        "tube": Name(Kind.TUBE, one.tubes[0]),
        "preparation": Name(Kind.PREPARATION, "P01-0001"),
        "bottle": Name(Kind.BOTTLE, "010000012"),
        "product": Name(Kind.PRODUCT, "Saltmarsh Colour/R-12"),
        "material": material.name,
        "load": first.as_name,
        "steriliser": S1.as_name,
    }
    hold = Hold(number="H01-0001", cause=HoldCause.QUARANTINE, at=at(0), items=(names[what],), reason="a doubt")
    record(practice, S1, material, first, hold)
    assert known(practice, one.serial).holds == (hold,)
    record(practice, HoldLifted(hold=hold.as_name, at=at(1), reason="no cause found"))
    assert known(practice, one.serial).holds == ()


def test_a_long_history_of_spore_tests_is_not_asked_for_one_by_one(here, monkeypatch):
    from sqlalchemy import Connection

    practice, one, _ = here
    first = load("L01-0001", 0, one.serial)
    record(practice, S1, first)
    asked = []
    execute = Connection.execute

    def counted(*arguments: object, **options: object) -> object:
        asked.append(1)
        return execute(*arguments, **options)

    def statements() -> int:
        asked.clear()
        assert known(practice, one.serial).evidence.state is EvidenceState.PASSED
        return len(asked)

    def week(number: int) -> None:
        weekly = load(f"L02-{number:04d}", -60 * 24 * 7 * number)
        test = spore_test(f"B02-{number:04d}", weekly)
        passed = SporeReading(test=test.as_name, result=SporeResult.NO_GROWTH, at=weekly.started_at)
        record(practice, weekly, test, passed)

    monkeypatch.setattr(Connection, "execute", counted)
    for number in range(1, 4):
        week(number)
    few = statements()
    for number in range(4, 40):
        week(number)
    assert statements() == few
