"""Axes have round values, enough of them, and reach as far as the curve."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracelabels.reports.ticks import ticks_around, time_ticks

ROUND = (1.0, 2.0, 2.5, 5.0, 10.0)


@given(st.floats(-500.0, 500.0), st.one_of(st.just(0.0), st.floats(1e-3, 1e6)), st.integers(3, 20))
def test_marks_are_round_reach_beyond_both_ends_and_are_neither_many_nor_few(least, reach, most):
    ticks = ticks_around(least, least + reach, most=most)
    mantissa = ticks.step / 10 ** math.floor(math.log10(ticks.step) + 1e-9)
    assert any(math.isclose(mantissa, one) for one in ROUND)
    unseen = 1e-6 * max(1.0, ticks.step)
    assert ticks.values[0] <= least + unseen
    assert ticks.values[-1] >= least + reach - unseen
    assert 2 <= len(ticks.values) <= most
    # The next finer step, at least half as wide, would have been too many.
    assert 2 * len(ticks.values) + 1 >= most / 2.5


@given(st.floats(-500.0, 500.0), st.floats(1e-3, 1e6))
def test_a_mark_is_written_as_what_it_is(least, reach):
    ticks = ticks_around(least, least + reach, most=8)
    for value in ticks.values:
        assert math.isclose(float(ticks.written(value).replace("−", "-")), value, abs_tol=1e-9)  # noqa: RUF001


def test_a_mark_has_no_more_decimals_than_its_step():
    ticks = ticks_around(-0.3, 0.6, most=5)
    assert [ticks.written(one) for one in ticks.values] == ["−0.5", "0.0", "0.5", "1.0"]  # noqa: RUF001  a true minus sign


@given(st.floats(0.01, 1e8), st.integers(3, 30))
def test_times_start_at_zero_stay_within_the_cycle_and_are_whole_steps(reach, most):
    ticks = time_ticks(reach, most=most)
    assert ticks.seconds[0] == 0
    assert 1 <= len(ticks.seconds) <= most
    assert ticks.seconds[-1] <= reach
    assert [float(ticks.written(one)) * ticks.unit for one in ticks.seconds] == pytest.approx(ticks.seconds, abs=1e-9)


def test_the_unit_of_time_fits_the_cycle():
    named = [time_ticks(reach, most=10).unit_name for reach in (90.0, 2700.0, 40_000.0, 1e6)]
    assert named == ["seconds", "minutes", "hours", "days"]
