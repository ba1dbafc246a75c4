"""The modelled steriliser against physics that holds for any."""

import numpy as np
import pytest
from steriliser_model import (
    LATENT_J_KG,
    Machine,
    Phase,
    Run,
    saturation_celsius,
    saturation_kpa,
    simulate,
)


@pytest.mark.parametrize(
    ("celsius", "kpa"),
    # IAPWS-IF97 region 4, recomputed: another formula than the model's, and than the one that is being judged.
    [(115, 169.2), (121, 205.0), (121.1, 205.7), (124, 225.2), (126, 239.5), (132, 286.8), (134, 304.2), (137, 331.9)],
)
def test_saturated_steam_is_that_of_the_published_table(celsius, kpa):
    assert float(saturation_kpa(celsius)) == pytest.approx(kpa, abs=0.06)
    assert float(saturation_celsius(kpa)) == pytest.approx(celsius, abs=0.02)


def _heated(machine: Machine, vacuum_kpa: float) -> Run:
    phases = (
        Phase(pump=1, until_kpa_below=vacuum_kpa, at_most_s=900),
        Phase(steam_c=135, until_c_above=134, at_most_s=2000),
        Phase(steam_c=135, at_most_s=600),
        Phase(at_most_s=600),
    )
    return Run(machine=machine, phases=phases, hold=2)


@pytest.fixture(scope="module")
def heated():
    """The same machine after a deep and after a shallow vacuum, held for ten minutes, then left to itself."""
    runs = [_heated(Machine(pump_floor_kpa=0.0), 1.6), _heated(Machine(), 60.0)]
    return runs, simulate(runs)


def test_steam_without_air_is_saturated(heated):
    course = heated[1][0]
    late = np.flatnonzero(course.phase == 2)[300:]
    assert np.abs(course.chamber_c - saturation_celsius(course.kpa))[late].max() < 0.25


def test_air_adds_its_pressure_and_leaves_the_chamber_colder_than_the_gauge_says(heated):
    """Dalton: what was left of the air, by the gas law, is what lies between the gauge and saturated steam."""
    runs, courses = heated
    course, machine = courses[1], runs[1].machine
    empty, late = np.flatnonzero(course.phase == 1)[0], np.flatnonzero(course.phase == 2)[-1]
    damp_kpa = 0.6 * float(saturation_kpa(machine.room_c)) * course.kpa[empty] / machine.atmosphere_kpa
    warmed = (course.chamber_c[late] + 273.15) / (course.chamber_c[empty] + 273.15)
    air_kpa = (course.kpa[empty] - damp_kpa) * warmed
    assert course.kpa[late] - float(saturation_kpa(course.chamber_c[late])) == pytest.approx(air_kpa, rel=0.02)
    assert saturation_celsius(course.kpa[late]) - course.chamber_c[late] > 4


def test_a_chamber_left_to_itself_cools_by_what_its_wall_loses(heated):
    """Heat lost equals the heat capacity times the fall, of wall, load and of the steam that condenses."""
    runs, courses = heated
    course, machine = courses[0], runs[0].machine
    alone = np.flatnonzero(course.phase == 3)[100:]
    fall = course.chamber_c[alone[0]] - course.chamber_c[alone[-1]]
    lost = machine.loss_w_k * float((course.chamber_c[alone] - machine.room_c).sum())
    steam_kg = float(np.ptp(saturation_kpa(course.chamber_c[alone[[0, -1]]]))) * machine.litres / 461.5 / 400
    stored = (machine.wall_j_k + machine.load_j_k) * fall + steam_kg * LATENT_J_KG
    assert stored == pytest.approx(lost, rel=0.04)


def test_a_tube_of_liquid_follows_with_its_time_constant():
    tube = Machine(liquid_lag_s=200)
    course = simulate(
        [
            Run(
                machine=tube,
                phases=(Phase(steam_c=121, vent=0.5, at_most_s=400), Phase(steam_c=121, at_most_s=1500)),
                hold=1,
            )
        ]
    )[0]
    steady = np.flatnonzero(np.abs(course.chamber_c - course.chamber_c[-1]) < 0.5)[200:]
    gap = (course.chamber_c - course.liquid_c)[steady]
    some = gap > 1.0
    slope = np.polyfit(course.seconds[steady][some], np.log(gap[some]), 1)[0]
    assert -1 / slope == pytest.approx(200, rel=0.05)


def test_pumping_follows_the_law_of_a_leaking_volume():
    """p(t) - p_end falls by exp(-t S/V) (vacuum technology, any textbook; from memory); the gas warms meanwhile."""
    machine = Machine(pump_floor_kpa=0.0, wall_start_c=22.0, leak_kg_s=0.0)
    course = simulate([Run(machine=machine, phases=(Phase(pump=1, at_most_s=60),), hold=0)])[0]
    assert course.kpa[59] / course.kpa[0] == pytest.approx(np.exp(-59 * machine.pump_l_s / machine.litres), rel=0.08)
