"""Evidence, intervals and due days on a small time line, written as a text, one mark a day.

Sources: CDC, Guideline for Disinfection and Sterilization in Healthcare Facilities (2008), Table 12 and the weekly
interval; Toronto Public Health (nothing after the last pass; three consecutive passes; new tests after repair or move);
California HSC 119315 (after installation and major repair).
"""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from tracelabels.sterilization import (
    Change,
    ChangeKind,
    EvidenceState,
    GrowthOutcome,
    GrowthPolicy,
    History,
    Process,
    RodeAlong,
    SporePolicy,
    SporeResult,
    affected_interval,
    confirm_first,
    evidence_at,
    next_due,
    three_passes,
)

BEGIN = datetime(2026, 11, 1, 9, tzinfo=UTC)
S1 = Process(steriliser="S1", cycle_kind="air_removal")
RESULTS = {
    "P": SporeResult.NO_GROWTH,
    "G": SporeResult.GROWTH,
    "I": SporeResult.INVALID,
    "?": None,
}
CHANGES = {
    "i": ChangeKind.INSTALLED,
    "r": ChangeKind.REPAIRED,
    "m": ChangeKind.MOVED,
    "d": ChangeKind.FOUND_DEFECTIVE,
    "R": ChangeKind.RETURNED,
}
STRICT = SporePolicy()
CONFIRM = SporePolicy(growth=GrowthPolicy.CONFIRM_FIRST)
BEFORE = "spore test B0 in load L0 passed before"
GAP = f"{BEFORE}, 8 days earlier; the policy allows 7"
NONE = "no spore test of this steriliser and cycle kind had passed before"
SINCE = ", and no spore test had passed since"
REACHED = (
    "spore test B2 in load L2 grew; affected: after load L0, whose spore test B0 passed (itself not affected), "
    "until now (not returned to service)"
)


def day(number: int) -> datetime:
    return BEGIN + timedelta(days=number)


def line(marks: str, *, process: Process = S1) -> History:
    """Read marks: P pass, G growth, I invalid, ? incubating; i r m d R changes; L a plain load; . nothing."""
    tests = [
        RodeAlong(
            test=f"B{at}",
            process=process,
            load=f"L{at}",
            load_at=day(at),
            result=RESULTS[mark],
            read_at=None if mark == "?" else day(at) + timedelta(hours=12),
        )
        for at, mark in enumerate(marks)
        if mark in RESULTS
    ]
    changes = [Change(steriliser="S1", kind=CHANGES[m], at=day(at)) for at, m in enumerate(marks) if m in CHANGES]
    return History.of(S1, tests, changes)


def reached(marks: str) -> str:
    """Mark with x each day whose load the first growth reaches."""
    history = line(marks)
    interval = affected_interval(history.with_result(SporeResult.GROWTH)[0], history)
    return "".join("x" if interval.holds(f"L{at}", day(at)) else "." for at in range(len(marks)))


@pytest.mark.parametrize(
    ("marks", "affected", "why"),
    [
        ("PLLGLLPPPRLL", "." + "x" * 8 + "...", "after the last pass, it itself not, until the return"),
        ("LLGLPPPRL", "xxxxxxx..", "never a pass: from the beginning"),
        ("PLGLLLL", ".xxxxxx", "never returned: open"),
        ("PLGLPPPLL", ".xxxxxxxx", "three passes, but nobody returned it: open"),
        ("PLGLPPRL", ".xxxxxxx", "returned after two passes only: open"),
        (
            "PLGPPRLPLL",
            ".xxxxxx...",
            "returned after two; the third pass comes later, ends it, and is not reached itself",
        ),
        ("PLGPIPPRLL", ".xxxxxxxxx", "an invalid test breaks the row"),
        ("PLGP?PPRLL", ".xxxxxxxxx", "an incubating test breaks the row"),
        ("PLGPPGPPPRL", ".xxxxxxxx..", "a second growth starts the row again"),
        ("PLILGPPPRL", ".xxxxxxx..", "an invalid test brackets nothing on the left"),
        ("PL?LGPPPRL", ".xxxxxxx..", "nor does one still incubating"),
        ("PLPLGPPPRL", "...xxxxx..", "the last pass counts, not the first"),
        ("PRLGPPPRL", ".xxxxxx..", "a return before the growth ends nothing"),
    ],
)
def test_a_growth_reaches_from_the_last_pass_to_the_return_to_service(marks, affected, why):
    assert reached(marks) == affected, why


def test_both_ends_are_named_and_say_that_they_are_open():
    closed = line("PLGPPPRL")
    interval = affected_interval(closed.with_result(SporeResult.GROWTH)[0], closed)
    assert (interval.after.at, interval.after.name, interval.before.at, interval.before.name, interval.is_open) == (
        day(0),
        "load L0, whose spore test B0 passed (itself not affected)",
        day(6),
        "return to service after three consecutive passes",
        False,
    )
    opened = line("LGPPR")
    interval = affected_interval(opened.with_result(SporeResult.GROWTH)[0], opened)
    assert (interval.after.at, interval.after.name, interval.before.at, interval.before.name, interval.is_open) == (
        None,
        "the beginning: no spore test had passed before",
        None,
        "now (returned to service without three consecutive passes)",
        True,
    )
    late = line("PGPPRP")
    interval = affected_interval(late.with_result(SporeResult.GROWTH)[0], late)
    assert (interval.before.at, interval.before.name) == (
        day(5),
        "load L5, the third consecutive pass after a return to service without them",
    )


def test_two_tests_in_one_load_of_which_one_grew_vouch_for_nothing():
    base = line("P.G")
    twin = RodeAlong(test="B2b", process=S1, load="L2", load_at=day(2), result=SporeResult.NO_GROWTH)
    later = RodeAlong(test="B4", process=S1, load="L4", load_at=day(4), result=SporeResult.GROWTH)
    history = History.of(S1, (*base.tests, twin, later), ())
    assert affected_interval(later, history).after.at == day(0)
    assert evidence_at("L2", day(2), history, STRICT).state is EvidenceState.FAILED


def test_tests_of_another_steriliser_or_cycle_kind_do_not_count():
    other_kind = Process(steriliser="S1", cycle_kind="gravity")
    other = Process(steriliser="S2", cycle_kind="air_removal")
    mixed = [
        *line("P..G").tests,
        RodeAlong(test="X1", process=other_kind, load="Y1", load_at=day(2), result=SporeResult.NO_GROWTH),
        RodeAlong(test="X2", process=other, load="Y2", load_at=day(2), result=SporeResult.NO_GROWTH),
        *(
            RodeAlong(test=f"X{n}", process=other, load=f"Y{n}", load_at=day(n), result=SporeResult.NO_GROWTH)
            for n in (4, 5, 6)
        ),
    ]
    changes = [
        Change(steriliser="S2", kind=ChangeKind.RETURNED, at=day(7)),
        Change(steriliser="S1", cycle_kind="gravity", kind=ChangeKind.RETURNED, at=day(7)),
    ]
    history = History.of(S1, mixed, changes)
    interval = affected_interval(history.with_result(SporeResult.GROWTH)[0], history)
    assert (interval.after.at, interval.is_open) == (day(0), True)
    gravity = History.of(other_kind, mixed, changes)
    assert evidence_at("L9", day(9), gravity, STRICT).state is EvidenceState.PASSED


def test_a_load_in_which_another_test_grew_brackets_nothing_on_either_side():
    passed = RodeAlong(test="X", process=S1, load="L4", load_at=day(4), result=SporeResult.NO_GROWTH)
    history = History.of(S1, [*line("P...G").tests, passed], [])
    assert history.first_pass_after(day(2)) is None
    assert history.last_pass_before(day(6)).test == "B0"


# Under the strict policy: the load on each day, and what the spore tests say of it.
@pytest.mark.parametrize(
    ("marks", "load", "state", "sentence"),
    [
        ("P..L", 3, EvidenceState.PASSED, BEFORE),
        ("P......L", 7, EvidenceState.PASSED, BEFORE),
        ("P.......L", 8, EvidenceState.MISSING, GAP),
        ("P.......L.P", 8, EvidenceState.PASSED, f"{BEFORE} and spore test B10 in load L10 after"),
        ("P.......L.?", 8, EvidenceState.INCUBATING, f"{BEFORE}; spore test B10 is still incubating"),
        ("P.......L.I", 8, EvidenceState.MISSING, GAP),
        ("P.L................................", 2, EvidenceState.PASSED, BEFORE),
        ("..L", 2, EvidenceState.MISSING, NONE),
        ("..LP", 2, EvidenceState.MISSING, NONE),
        ("?.L", 2, EvidenceState.INCUBATING, "the first spore test before this load is still incubating"),
        ("P", 0, EvidenceState.PASSED, "spore test B0, which rode along, passed"),
        ("?", 0, EvidenceState.INCUBATING, "spore test B0, which rode along, is still incubating"),
        ("P..?", 3, EvidenceState.INCUBATING, "spore test B3, which rode along, is still incubating"),
        ("P..I", 3, EvidenceState.PASSED, BEFORE),
        ("I", 0, EvidenceState.MISSING, NONE),
        ("i..L", 3, EvidenceState.UNTESTED, f"the steriliser was installed on 2026-11-01{SINCE}"),
        ("i..P", 3, EvidenceState.PASSED, "spore test B3, which rode along, passed"),
        ("P.rL", 3, EvidenceState.UNTESTED, f"the steriliser was repaired on 2026-11-03{SINCE}"),
        ("P.mLP", 3, EvidenceState.UNTESTED, f"the steriliser was moved on 2026-11-03{SINCE}"),
        ("P.rPL", 4, EvidenceState.PASSED, "spore test B3 in load L3 passed before"),
        ("PLr.P", 1, EvidenceState.PASSED, BEFORE),
        ("G", 0, EvidenceState.FAILED, "spore test B0 in load L0 grew: this very load"),
        (
            "PLG",
            1,
            EvidenceState.FAILED,
            REACHED,
        ),
        ("P.G", 0, EvidenceState.PASSED, "spore test B0, which rode along, passed"),
        ("PGPPPRL", 6, EvidenceState.PASSED, "spore test B4 in load L4 passed before"),
    ],
)  # fmt: skip
def test_a_load_is_judged_by_the_tests_around_its_own_time(marks, load, state, sentence):
    said = evidence_at(f"L{load}", day(load), line(marks), STRICT)
    assert (said.state, said.sentence) == (state, sentence)
    assert said.rode_along == ("rode along" in sentence)


def test_a_repair_between_two_passes_hides_the_time_before_it_from_the_later_one():
    # Eight days after the last pass, then a repair, then a pass: the pass says nothing of the time before the repair.
    said = evidence_at("L8", day(8), line("P.......LrP"), STRICT)
    assert said.state is EvidenceState.MISSING


def test_the_day_of_the_practice_decides_whether_a_test_was_in_time():
    history = History.of(
        S1, [RodeAlong(test="B", process=S1, load="L", load_at=BEGIN, result=SporeResult.NO_GROWTH)], ()
    )
    late = datetime(2026, 11, 8, 23, 30, tzinfo=UTC)
    assert evidence_at("X", late, history, STRICT).state is EvidenceState.PASSED
    east = SporePolicy(zone=ZoneInfo("Europe/Vienna"))  # there it is the ninth already
    assert evidence_at("X", late, history, east).state is EvidenceState.MISSING


@pytest.mark.parametrize(
    ("marks", "outcome", "sentence"),
    [
        ("PLG", GrowthOutcome.QUARANTINE, "spore test B2 grew in load L2; three repeat cycles are not read yet"),
        ("PLGPP", GrowthOutcome.QUARANTINE, "spore test B2 grew in load L2; three repeat cycles are not read yet"),
        ("PLGP?P", GrowthOutcome.QUARANTINE, "spore test B2 grew in load L2; three repeat cycles are not read yet"),
        ("PLGPIPP", GrowthOutcome.QUARANTINE, "spore test B2 grew in load L2; three repeat cycles are not read yet"),
        ("PLGPPP", GrowthOutcome.CLEARED, "three repeat cycles in a row passed: B3, B4, B5"),
        ("PLGPIPPP", GrowthOutcome.CLEARED, "three repeat cycles in a row passed: B5, B6, B7"),
        ("PLGPG", GrowthOutcome.RECALL, "spore test B4 in load L4 grew too"),
        ("PLGPGPPP", GrowthOutcome.RECALL, "spore test B4 in load L4 grew too"),
        ("PLGPPPG", GrowthOutcome.CLEARED, "three repeat cycles in a row passed: B3, B4, B5"),
        ("PLGd", GrowthOutcome.RECALL, "the steriliser or the procedure was found defective (found defective)"),
        ("PLGrPPP", GrowthOutcome.RECALL, "the steriliser or the procedure was found defective (repaired)"),
        ("PLGPPPr", GrowthOutcome.CLEARED, "three repeat cycles in a row passed: B3, B4, B5"),
        ("PrPGPPP", GrowthOutcome.CLEARED, "three repeat cycles in a row passed: B4, B5, B6"),
    ],
)  # fmt: skip
def test_confirm_first_waits_for_three_repeat_cycles(marks, outcome, sentence):
    history = line(marks)
    said = confirm_first(history.with_result(SporeResult.GROWTH)[0], history)
    assert (said.outcome, said.sentence) == (outcome, sentence)


def test_protected_care_waits_for_nothing():
    history = line("PLGPPP")
    said = confirm_first(history.with_result(SporeResult.GROWTH)[0], history, is_protected=True)
    assert (said.outcome, said.sentence) == (GrowthOutcome.RECALL, "protected care does not wait for repeat cycles")


@pytest.mark.parametrize(
    ("marks", "load", "strict", "confirm", "protected"),
    [
        ("PLG", 1, EvidenceState.FAILED, EvidenceState.SUSPECT, EvidenceState.FAILED),
        ("PLGPPP", 1, EvidenceState.FAILED, EvidenceState.PASSED, EvidenceState.FAILED),
        ("PLGPG", 1, EvidenceState.FAILED, EvidenceState.FAILED, EvidenceState.FAILED),
        ("PLGPG", 3, EvidenceState.FAILED, EvidenceState.FAILED, EvidenceState.FAILED),
        ("PLGPPP", 2, EvidenceState.FAILED, EvidenceState.FAILED, EvidenceState.FAILED),
        ("PLGPPP", 0, EvidenceState.PASSED, EvidenceState.PASSED, EvidenceState.PASSED),
        ("PLGPPPRL", 7, EvidenceState.PASSED, EvidenceState.PASSED, EvidenceState.PASSED),
    ],
)
def test_the_policies_differ_only_in_what_a_single_growth_reaches(marks, load, strict, confirm, protected):
    history = line(marks)
    assert evidence_at(f"L{load}", day(load), history, STRICT).state is strict
    assert evidence_at(f"L{load}", day(load), history, CONFIRM).state is confirm
    assert evidence_at(f"L{load}", day(load), history, CONFIRM, is_protected=True).state is protected


def test_a_test_in_a_reference_tube_is_told_apart():
    passed = line("P").tests[0]
    history = History.of(S1, [replace(passed, load="L", in_reference_tube=True)], ())
    assert evidence_at("L", BEGIN, history, STRICT).in_reference_tube
    assert not evidence_at("M", day(1), history, STRICT).in_reference_tube


@pytest.mark.parametrize(
    ("marks", "interval", "on", "sentence"),
    [
        ("P", 7, "2026-11-08", "7 days after spore test B0"),
        ("P", 92, "2027-02-01", "92 days after spore test B0"),
        ("P..?", 7, "2026-11-11", "7 days after spore test B3"),
        ("P..I", 7, "2026-11-08", "7 days after spore test B0"),
        ("", 7, None, "no spore test of this steriliser and cycle kind was ever taken"),
        ("i", 7, None, "no spore test of this steriliser and cycle kind was ever taken"),
        ("Pr", 7, None, "repaired on 2026-11-02: untested since"),
        ("PrP", 7, "2026-11-10", "7 days after spore test B2"),
        ("PGPP", 7, None, "spore test B1 grew: three consecutive passes are needed"),
        ("PGPPP", 7, "2026-11-12", "7 days after spore test B4"),
    ],
)
def test_the_next_test_is_due(marks, interval, on, sentence):
    due = next_due(line(marks), SporePolicy(interval_days=interval))
    assert (due.on.isoformat() if due.on else None, due.sentence) == (on, sentence)


def test_three_tests_in_one_load_are_one_cycle():
    thrice = [
        RodeAlong(test=f"B{n}", process=S1, load="L1", load_at=day(1), result=SporeResult.NO_GROWTH) for n in range(3)
    ]
    assert three_passes(History.of(S1, thrice, ()), after=day(0)) is None


def test_a_load_said_to_have_started_with_the_last_passed_one_is_reached():
    history = line("P.G")
    interval = affected_interval(history.with_result(SporeResult.GROWTH)[0], history)
    assert (interval.holds("L0", day(0)), interval.holds("another", day(0))) == (False, True)
