"""Where a curve was held, and what lies before and after; expected values follow from its corners."""

import numpy as np
import pytest
from cycles_curves import curve, without

from tracelabels.cycles import Band, Readings
from tracelabels.cycles.plateau import find_plateau, infer_band
from tracelabels.cycles.stretches import find_longest, minutes_at_least

BAND = Band(set_c=134.0, above_k=3.0)


def plateau(readings: Readings, band: Band = BAND, *, error_k: float = 0.5):
    return find_plateau(readings, band, error_k=error_k)


@pytest.mark.parametrize("every_s", [1, 10, 25])
def test_the_four_parts_of_a_plain_cycle(every_s):
    """1 K each 10 s up to 135, 200 s there, 1 K each 20 s down to 85."""
    found = plateau(curve((0, 35), (1000, 135), (1200, 135), (2200, 85), every_s=every_s))
    assert (found.span.start_s, found.span.end_s) == pytest.approx((990, 1220))
    assert found.hold_minutes == pytest.approx(230 / 60)
    assert (found.come_up_s, found.equilibration_s, found.cooling_s) == pytest.approx((990, 0, 980))
    assert found.minutes_above == pytest.approx(230 / 60)
    assert (found.lowest_c, found.highest_c) == pytest.approx((134.0, 135.0), abs=every_s / 10)


def test_the_interval_narrows_and_widens_the_band():
    """The EN 285 band of 134 to 137 with a probe error of 0.5 K, read as 134.5 to 136.5."""
    found = plateau(curve((0, 35), (1000, 135), (1200, 135), (2200, 85)))
    assert found.hold_interval == pytest.approx(((200 + 5 + 10) / 60, (200 + 15 + 30) / 60))
    hot = plateau(curve((0, 36.8), (1000, 136.8), (1200, 136.8), (2200, 86.8)))
    assert hot.hold_minutes == pytest.approx((200 + 28 + 56) / 60)
    assert hot.hold_interval == pytest.approx((40 / 60, (200 + 33 + 66) / 60))  # at 136.8 it is not surely in the band


def test_both_edges_belong_to_the_band():
    level = [(0, 20), (600, 134), (800, 134), (1000, 137), (1200, 137), (1300, 80)]
    assert plateau(curve(*level)).span.end_s == pytest.approx(1200 + 3 / 57 * 100)
    assert plateau(curve((0, 134), (300, 134))).hold_minutes == 5
    assert plateau(curve((0, 133.99), (300, 133.99))) is None
    assert plateau(curve((0, 137.01), (300, 137.01))) is None


def test_what_binary_loses_in_converting_does_not_count():
    celsius = float(np.nextafter(134, 0))
    assert plateau(curve((0, 30), (100, celsius), (400, celsius), (500, 30))).hold_minutes == pytest.approx(5)


def test_the_hold_begins_when_the_temperature_stays():
    wavering = curve((0, 84), (500, 135), (510, 134.5), (520, 133), (540, 133), (560, 135), (800, 135), (900, 80))
    found = plateau(wavering)
    reached, stays = 500 * 50 / 51, 550
    assert found.span.start_s == pytest.approx(stays, abs=0.05)
    assert found.equilibration_s == pytest.approx(stays - reached, abs=0.05)
    assert found.come_up_s == pytest.approx(reached, abs=0.05)
    assert found.come_up_s + found.equilibration_s + 60 * found.hold_minutes + found.cooling_s == pytest.approx(900)
    assert found.minutes_above > found.hold_minutes


def test_a_pulse_of_steam_long_before_is_no_wavering():
    band = Band(set_c=121.0, above_k=3.0)
    pulses = [(0, 20), (100, 121.5), (110, 121.5), (200, 60), (300, 121.5), (310, 121.5), (400, 60)]
    held = [(900, 122), (1900, 122), (2200, 80)]
    assert plateau(curve(*pulses, *held), band).equilibration_s == 0
    shallow = [*pulses[:4], (300, 121.5), (310, 121.5), (400, 102)]
    assert plateau(curve(*shallow, *held), band).equilibration_s > 500


def test_wavering_that_began_in_a_gap_is_counted_from_the_first_reading_behind_it():
    wavering = curve((0, 84), (500, 135), (510, 134.5), (520, 133), (540, 133), (560, 135), (800, 135), (900, 80))
    assert plateau(without(wavering, [(400, 500)])).equilibration_s == pytest.approx(50)


def test_an_overshoot_before_the_hold_is_equilibration():
    found = plateau(curve((0, 34), (500, 134), (505, 138), (515, 138), (520, 136), (800, 136), (900, 80)))
    assert found.span.start_s == pytest.approx(517.5)
    assert found.equilibration_s == pytest.approx(17.5)


def test_a_gap_ends_the_hold_and_the_long_end_of_the_interval_goes_over_it():
    read = without(curve((0, 20), (600, 135), (1000, 135), (1100, 35)), [(700, 800)])
    found = plateau(read, error_k=0.0)
    assert (found.span.start_s, found.span.end_s) == pytest.approx((800, 1001))
    assert found.hold_interval == pytest.approx((201 / 60, (1001 - 600 + 600 / 115) / 60))
    assert found.minutes_above == pytest.approx((1001 - 600 + 600 / 115 - 100) / 60)


def test_the_longest_stretch_counts_and_the_first_of_equals():
    two = curve((0, 135), (100, 135), (101, 120), (200, 120), (201, 135), (400, 135), (401, 20))
    assert find_longest(two, least_c=134).first == 201
    equal = curve((0, 135), (100, 135), (101, 120), (200, 120), (201, 135), (301, 135))
    assert find_longest(equal, least_c=134).first == 0
    assert find_longest(two, least_c=136) is None


def test_one_reading_alone_is_a_stretch_of_no_length():
    alone = Readings(seconds=np.array([0.0]), celsius=np.array([134.5]))
    assert (plateau(alone).hold_minutes, minutes_at_least(alone, 134)) == (0, 0)


@pytest.mark.parametrize(
    ("level", "minutes", "set_c"),
    [
        (115.6, 31, 115),
        (121.0, 15, 121),
        (122.9, 15, 121),
        (124.5, 15, 124),
        (126.4, 10, 126),
        (132.3, 4, 132),
        (134.0, 3, 134),
        (134.9, 3, 134),
        (135.4, 3, 135),
        (136.9, 3, 135),
    ],
)
def test_without_a_programme_the_usual_set_temperature_is_found(level, minutes, set_c):
    """A ramp that is slow enough to spend a minute in every lower band does not mislead."""
    slow = curve((0, 60), (3000, level), (3000 + 60 * minutes, level), (4000 + 60 * minutes, 80))
    assert infer_band(slow) == Band(set_c=set_c, above_k=3.0)


def test_a_plateau_that_wavers_over_the_edge_of_a_higher_band_keeps_its_own():
    times = np.arange(0, 240.0)
    level = 134.95 + 0.3 * np.sin(times / 25)  # over 135 for 70 s at a time
    read = Readings(seconds=np.append(times, 300), celsius=np.append(level, 80))
    assert infer_band(read) == Band(set_c=134.0, above_k=3.0)


def test_a_low_long_stage_is_not_the_plateau():
    staged = curve((0, 20), (300, 115.5), (1500, 115.5), (1700, 134.4), (1910, 134.4), (2200, 80))
    assert infer_band(staged).set_c == 134


def test_a_plateau_between_the_usual_ones_lies_below_its_highest_reading():
    odd = curve((0, 60), (3000, 119.5), (3900, 119.5), (4000, 80))
    assert infer_band(odd).set_c == pytest.approx(116.5)


@pytest.mark.parametrize("level", [25, 99])
def test_nothing_is_a_plateau_below_steam_or_for_less_than_a_minute(level):
    assert infer_band(curve((0, level), (3600, level))) is None
    assert infer_band(curve((0, 20), (600, 134.5), (640, 134.5), (660, 80))) is None
