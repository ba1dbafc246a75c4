import math

import numpy as np
import pytest
from cycles_curves import curve, cycle, without
from hypothesis import given, settings
from hypothesis import strategies as st

from tracelabels.cycles import Readings
from tracelabels.cycles.lethality import compute_lethality


def f0(readings: Readings, reference_c: float = 121.1, z_k: float = 10.0) -> float:
    return compute_lethality(readings, error_k=0.5, reference_c=reference_c, z_k=z_k).f0


def test_levels_held_give_the_published_and_the_computed_values(rows_of):
    rows = rows_of("f0_published_and_computed.tsv")
    found = []
    for row in rows:
        held = curve((0, float(row["celsius"])), (60 * float(row["minutes"]), float(row["celsius"])), every_s=7)
        digits = len(row["f0"].partition(".")[2])
        found.append(f"{f0(held, float(row['reference_c'])):.{digits}f}")
    assert found == [row["f0"] for row in rows]


@pytest.mark.parametrize("every_s", [1, 2, 5, 10, 30, 60])
@pytest.mark.parametrize("k_min", [-8.0, -2.0, 1.0, 4.0, 8.0])
def test_a_straight_ramp_is_the_closed_integral_times_the_stated_factor(every_s, k_min):
    """A straight ramp of slope s has the integral (rate at its end - rate at its start) * z / (ln 10 * s)."""
    minutes = 12
    ramp = curve((0, 125 - 6 * k_min), (60 * minutes, 125 + 6 * k_min), every_s=every_s)
    rates = [10 ** ((t - 121.1) / 10) for t in (125 - 6 * k_min, 125 + 6 * k_min)]
    exact = (rates[1] - rates[0]) * 10 / (math.log(10) * k_min)
    half = math.log(10) / 10 * abs(k_min) * every_s / 60 / 2
    assert f0(ramp) == pytest.approx(exact * half / math.tanh(half), rel=1e-9)


def test_a_whole_cycle_read_slowly_is_off_by_the_stated_part_of_its_ramps():
    """4 K/min up and down around 15 minutes at 122: an eighth of F0 comes from the ramps."""
    corners = ((0, 60), (930, 122), (1830, 122), (2760, 60))
    best = f0(curve(*corners, every_s=0.1))
    ramps = 1 - 15 * 10**0.09 / best
    stated = {1: 0.00002, 5: 0.0005, 10: 0.002, 30: 0.018}
    errors = {every_s: (f0(curve(*corners, every_s=every_s)) / best - 1) / ramps for every_s in stated}
    assert all(0 < errors[every_s] <= most for every_s, most in stated.items()), errors
    assert abs(f0(curve(*corners, every_s=60)) / best - 1) < 0.07 * ramps  # readings miss the corners


def test_readings_may_come_at_any_time():
    even = cycle(240)
    picked = np.flatnonzero((even.seconds % 7 == 0) | (even.seconds > 590) & (even.seconds < 850))
    uneven = Readings(seconds=even.seconds[picked], celsius=even.celsius[picked])
    assert f0(uneven) == pytest.approx(f0(even), rel=1e-3)


def test_the_interval_is_that_of_every_reading_wrong_by_the_error():
    read = cycle(200)
    found = compute_lethality(read, error_k=0.5)
    ends = tuple(f0(Readings(seconds=read.seconds, celsius=read.celsius + by)) for by in (-0.5, 0.5))
    assert found.interval == pytest.approx(ends, rel=1e-9)


def test_another_z_counts_as_its_formula_says():
    assert f0(curve((0, 131.1), (600, 131.1)), z_k=5.0) == pytest.approx(1000.0)
    assert f0(curve((0, 131.1), (600, 131.1)), z_k=20.0) == pytest.approx(10 * 10**0.5)


def test_what_was_not_seen_counts_in_the_upper_end_alone():
    whole = compute_lethality(cycle(300), error_k=0.0)
    found = compute_lethality(without(cycle(300), [(700, 760)]), error_k=0.0)
    minute = 10 ** ((134.5 - 121.1) / 10)
    assert found.interval == pytest.approx((whole.f0 - minute, whole.f0), rel=1e-9)
    assert found.f0 == found.interval[0]


def test_it_grows_up_to_each_reading():
    read = cycle(200)
    found = compute_lethality(read, error_k=0.5)
    assert found.grown.shape == read.celsius.shape
    assert (found.grown[0], found.grown[-1]) == (0.0, found.f0)
    half = Readings(seconds=read.seconds[:701], celsius=read.celsius[:701])
    assert found.grown[700] == pytest.approx(f0(half), rel=1e-12)


@given(
    steps=st.lists(st.tuples(st.floats(0.1, 90), st.floats(-20, 150)), min_size=1, max_size=40),
    rise=st.floats(0, 20),
    error=st.floats(0, 5),
)
@settings(deadline=None)
def test_heat_never_takes_away(steps, rise, error):
    seconds = np.cumsum([by for by, _ in steps])
    celsius = np.array([at for _, at in steps])
    found = compute_lethality(Readings(seconds=seconds, celsius=celsius), error_k=error)
    hotter = compute_lethality(Readings(seconds=seconds, celsius=celsius + rise), error_k=error)
    assert found.interval[0] <= found.f0 <= found.interval[1]
    assert found.f0 <= hotter.f0
    assert (np.diff(found.grown) >= 0).all()
