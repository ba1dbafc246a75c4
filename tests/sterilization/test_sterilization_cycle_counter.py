"""Cycles that a steriliser counted and nobody recorded."""

from datetime import UTC, datetime, timedelta

from tracelabels.sterilization import CountedCycle, MaybeCycle, counter_gaps

BEGIN = datetime(2027, 3, 1, 8, tzinfo=UTC)


def at(place: int) -> datetime:
    return BEGIN + timedelta(hours=place)


def told(
    *counters: int | None, tests: tuple[float, ...] = (), before: int | None = None
) -> list[tuple[str, str, bool]]:
    cycles = [CountedCycle(load=f"L{place}", at=at(place), counter=one) for place, one in enumerate(counters)]
    maybe = [MaybeCycle(what="leak test", at=BEGIN + timedelta(hours=place)) for place in tests]
    found = counter_gaps(reversed(cycles), maybe, counter_before=before)
    return [(one.before, one.sentence, one.may_be_tests) for one in found]


def test_a_counter_without_gaps_says_nothing():
    assert told(811, 812, 813) == told(811) == told() == told(811, None, 813) == told(5, before=4) == []


def test_what_is_missing_double_or_back_is_named():
    assert told(811, 813, 817, 817, 3, None, None, 5) == [
        ("L1", "cycle counter 811, then 813: 1 cycle without a load on record", False),
        ("L2", "cycle counter 813, then 817: 3 cycles without a load on record", False),
        ("L3", "cycle counter 817, then 817: it was set back, or a number is wrong", False),
        ("L4", "cycle counter 817, then 3: it was set back, or a number is wrong", False),
        ("L7", "cycle counter 3, then 5: 2 loads between them, more than it counted", False),
    ]
    assert told(7, before=5) == [("L0", "cycle counter 5, then 7: 1 cycle without a load on record", False)]


def test_tests_of_the_day_may_be_what_is_missing():
    sentence = (
        "cycle counter 811, then 813: 1 cycle without a load on record; on record between them: leak test, which "
    )
    assert told(811, 813, tests=(0.5,)) == [("L1", f"{sentence}may be cycles too", True)]
    assert told(811, 812, tests=(0.5,)) == []
    assert told(811, 814, tests=(0.5,))[0][2] is False
