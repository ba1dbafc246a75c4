"""In service, tested, and the test of the day: a steriliser's events as a table.

CDC Guideline 2008, Table 12 and Toronto Public Health (out of service after growth, three consecutive passes before
return); California HSC 119315 (tests after installation and repair). The daily air-removal test: common practice.
"""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from tracelabels.custody import (
    CycleKind,
    ServiceRecord,
    Steriliser,
    SteriliserEvent,
    SteriliserEventKind,
    daily_test_failed,
    daily_test_reasons,
    return_reasons,
    service_reasons,
    taken_out,
)
from tracelabels.sterilization import History, Process, RodeAlong, SporeResult

BEGIN = datetime(2026, 11, 1, 9, tzinfo=UTC)
VACUUM = CycleKind.AIR_REMOVAL
S1 = Steriliser(code="S1", name="small", serial_number="7", cycle_kinds=(VACUUM, CycleKind.GRAVITY))
TESTED = SteriliserEventKind.AIR_REMOVAL_TEST
OUT = (
    "steriliser S1 is out of service; until it is returned it runs only test loads: with a spore test, and without "
    "pouches"
)
UNTESTED = (
    "steriliser S1 was {} and no spore test of air removal cycles has passed since; "
    "until then a spore test rides along in every load"
)
NEEDED = (
    "3 consecutive passed spore tests of air removal cycles are needed since it was taken out; on record: {} passed"
)


def day(number: float) -> datetime:
    return BEGIN + timedelta(days=number)


def event(kind: SteriliserEventKind, number: float, **more: object) -> SteriliserEvent:
    return SteriliserEvent(steriliser=S1.as_name, event=kind, at=day(number), **more)


def record(marks: str, *events: SteriliserEvent, kind: CycleKind = VACUUM) -> ServiceRecord:
    """P and G are passed and grown spore tests, i r m o R events, one mark a day."""
    kinds = {
        "i": SteriliserEventKind.INSTALLED,
        "r": SteriliserEventKind.REPAIRED,
        "m": SteriliserEventKind.MOVED,
        "o": SteriliserEventKind.TAKEN_OUT,
        "R": SteriliserEventKind.RETURNED,
    }
    results = {"P": SporeResult.NO_GROWTH, "G": SporeResult.GROWTH}
    process = Process(steriliser="S1", cycle_kind=kind.value)
    tests = [
        RodeAlong(test=f"B{n}", process=process, load=f"L{n}", load_at=day(n), result=results[mark])
        for n, mark in enumerate(marks)
        if mark in results
    ]
    found = [event(kinds[mark], n) for n, mark in enumerate(marks) if mark in kinds]
    return ServiceRecord(
        steriliser=S1, cycle_kind=kind, events=(*found, *events), history=History.of(process, tests, ())
    )


@pytest.mark.parametrize(
    ("marks", "is_test", "has_pouches", "expected"),
    [
        ("iP.", False, True, []),
        ("i..", False, True, [UNTESTED.format("installed")]),
        ("i..", True, True, []),
        ("iPr", False, True, [UNTESTED.format("repaired")]),
        ("iPmP", False, True, []),
        ("iPo", False, True, [OUT]),
        ("iPo", True, True, [OUT]),
        ("iPo", False, False, [OUT]),
        ("iPo", True, False, []),
        ("iPoR", False, True, []),
        ("iPor", False, True, [OUT, UNTESTED.format("repaired")]),
    ],
)
def test_what_a_steriliser_may_run(marks, is_test, has_pouches, expected):
    found = service_reasons(record(marks), day(9), is_test=is_test, has_pouches=has_pouches)
    assert [one.sentence for one in found] == expected


def test_what_happens_later_does_not_count_and_a_cycle_that_it_does_not_run_is_refused():
    later = record("iP..o")
    assert service_reasons(later, day(3), is_test=False, has_pouches=True) == ()
    liquid = record("", kind=CycleKind.LIQUID)
    (reason,) = service_reasons(liquid, day(3), is_test=False, has_pouches=True)
    assert reason.sentence == "steriliser S1 runs air removal, gravity, not liquid"


def test_one_kind_of_cycle_is_out_of_service_by_itself():
    out = event(SteriliserEventKind.TAKEN_OUT, 1, cycle_kind=VACUUM, note="spore test B1 grew")
    assert taken_out(record("", out), day(2)) == out
    assert taken_out(record("", out, kind=CycleKind.GRAVITY), day(2)) is None
    whole = event(SteriliserEventKind.TAKEN_OUT, 1)
    assert taken_out(record("", whole, kind=CycleKind.GRAVITY), day(2)) == whole


@pytest.mark.parametrize(
    ("tests", "expected", "failed"),
    [
        ((), ["no passed air-removal test of steriliser S1 is on record for 2026-11-03"], False),
        (((1, True),), ["no passed air-removal test of steriliser S1 is on record for 2026-11-03"], False),
        (((2, True),), [], False),
        (((2, False),), ["the last air-removal test of steriliser S1 failed (2026-11-03)"], True),
        (((1, False),), ["the last air-removal test of steriliser S1 failed (2026-11-02)"], True),
        (((1, False), (2, True)), [], False),
        (((2.2, True),), ["no passed air-removal test of steriliser S1 is on record for 2026-11-03"], False),
    ],
)
def test_the_air_removal_test_of_the_day(tests, expected, failed):
    known = record("", *(event(TESTED, number, passed=passed) for number, passed in tests))
    found = daily_test_reasons(known, day(2.1), ZoneInfo("UTC"))
    assert ([one.sentence for one in found], daily_test_failed(known, day(2.1))) == (expected, failed)


def test_only_cycles_with_air_removal_need_it_and_the_practices_day_counts():
    assert daily_test_reasons(record("", kind=CycleKind.GRAVITY), day(2), ZoneInfo("UTC")) == ()
    known = record("", event(TESTED, 2, passed=True))  # at 23:30 UTC it is the next day in Vienna
    assert daily_test_reasons(known, day(2) + timedelta(hours=14.5), ZoneInfo("UTC")) == ()
    assert len(daily_test_reasons(known, day(2) + timedelta(hours=14.5), ZoneInfo("Europe/Vienna"))) == 1


@pytest.mark.parametrize(
    ("marks", "expected"),
    [
        ("iP", ["steriliser S1 is not out of service"]),
        ("iPo", [NEEDED.format(0)]),
        ("PPPo", [NEEDED.format(0)]),
        ("oPP", [NEEDED.format(2)]),
        ("oPPP", []),
        ("oPPGP", [NEEDED.format(1)]),
        ("oPPGPPP", []),
        ("oPPPR", ["steriliser S1 is not out of service"]),
        ("oPPPRo", [NEEDED.format(0)]),
    ],
)
def test_a_return_to_service_takes_three_consecutive_passes(marks, expected):
    assert [one.sentence for one in return_reasons(record(marks), day(20))] == expected
