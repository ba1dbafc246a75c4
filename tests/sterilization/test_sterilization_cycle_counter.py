"""Cycles that a steriliser counted and nobody recorded."""

from datetime import UTC, datetime, timedelta

from tracelabels.sterilization import CountedCycle, CounterFault, counter_gaps

BEGIN = datetime(2027, 3, 1, 8, tzinfo=UTC)


def told(*counters: int) -> list[tuple[CounterFault, int, str]]:
    cycles = [
        CountedCycle(load=f"L{place}", started_at=BEGIN + timedelta(hours=place), counter=counter)
        for place, counter in enumerate(counters)
    ]
    return [(one.fault, one.missing, one.sentence) for one in counter_gaps(reversed(cycles))]


def test_a_counter_without_gaps_says_nothing():
    assert told(811, 812, 813) == told(811) == told() == []


def test_what_is_missing_double_or_back_is_named():
    assert told(811, 813, 817, 817, 3) == [
        (CounterFault.MISSING, 1, "cycle 812, between loads L0 and L1, is not on record"),
        (CounterFault.MISSING, 3, "cycles 814 to 816, between loads L1 and L2, are not on record"),
        (CounterFault.DOUBLE, 0, "loads L2 and L3 both have cycle number 817"),
        (
            CounterFault.BACK,
            0,
            "the counter ran back from 817 (load L3) to 3 (load L4): it was reset, or misread",
        ),
    ]
