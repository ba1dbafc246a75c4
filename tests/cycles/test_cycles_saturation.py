import numpy as np
import pytest
from cycles_curves import cycle, in_steam

from tracelabels.cycles import Readings, Suspicion
from tracelabels.cycles.saturation import find_saturation
from tracelabels.cycles.stretches import find_longest


def saturation(readings: Readings, *, tolerance_k: float = 2.0):
    return find_saturation(readings, find_longest(readings, least_c=134.0), tolerance_k=tolerance_k)


def shifted(readings: Readings, from_s: float, to_s: float, by_k: float) -> Readings:
    """Change the temperature for some seconds, not the pressure."""
    moved = np.where((readings.seconds >= from_s) & (readings.seconds < to_s), by_k, 0)
    return Readings(seconds=readings.seconds, celsius=readings.celsius + moved, kpa=readings.kpa)


@pytest.mark.parametrize(
    ("colder", "suspicion"),
    [
        (0.0, Suspicion.NONE),
        (1.99, Suspicion.NONE),
        (2.01, Suspicion.AIR),
        (-1.99, Suspicion.NONE),
        (-2.01, Suspicion.SUPERHEAT),
    ],
)
def test_a_difference_of_the_whole_plateau(colder, suspicion):
    found = saturation(in_steam(cycle(300), colder_by_k=colder))
    assert found.worst_difference_k == pytest.approx(-colder, abs=1e-6)
    assert found.suspicion is suspicion


@pytest.mark.parametrize("by_k", [2.4, -0.4])
@pytest.mark.parametrize(("lasting_s", "worst"), [(20, False), (29, False), (31, True), (120, True)])
def test_a_difference_counts_if_it_lasts_half_a_minute(by_k, lasting_s, worst):
    found = saturation(shifted(in_steam(cycle(300)), 700, 700 + lasting_s, by_k))
    assert found.worst_difference_k == pytest.approx(by_k if worst else 0.0, abs=1e-6)


def test_slow_readings_need_two_of_them():
    once = shifted(in_steam(cycle(300, every_s=60)), 700, 730, 2.4)
    assert saturation(once).worst_difference_k == pytest.approx(0.0, abs=1e-6)
    twice = shifted(in_steam(cycle(300, every_s=60)), 700, 800, 2.4)
    assert saturation(twice).worst_difference_k == pytest.approx(2.4, abs=1e-6)


def test_the_ramps_do_not_count():
    read = in_steam(cycle(300))
    assert saturation(shifted(read, 400, 500, 9.0)).suspicion is Suspicion.NONE


def test_differences_are_given_where_there_may_be_steam():
    read = in_steam(cycle(300), colder_by_k=0.5)
    found = saturation(read)
    assert found.differences_k.shape == read.celsius.shape
    assert (np.isnan(found.differences_k) == (read.celsius < 100)).all()
    assert found.differences_k[650] == pytest.approx(-0.5)


def test_rows_without_a_pressure_are_passed_over():
    read = in_steam(cycle(300), colder_by_k=3.0)
    read.kpa[::3] = np.nan
    assert saturation(read).worst_difference_k == pytest.approx(-3.0)
    read.kpa[590:] = np.nan
    assert saturation(read) is None
    assert saturation(cycle(300)) is None
