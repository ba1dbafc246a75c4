"""Survival and kill times of biological indicators against the table of their standard."""

from pathlib import Path

import pytest

from tracelabels.errors import InputError
from tracelabels.sterilization import INTEGRATING_LEAST_AT_121, doubts_of_lot, spore_times

TABLE = Path(__file__).parents[1] / "vectors" / "usp_35_spore_times.tsv"
ROWS = [tuple(map(float, line.split("\t"))) for line in TABLE.read_text().splitlines()[2:]]


@pytest.mark.parametrize(("population", "d", "survival", "kill", "assured"), ROWS)
def test_times_are_those_of_the_table(population, d, survival, kill, assured):
    times = spore_times(population=population, d_minutes=d)
    assert (round(times.survival_minutes, 2), round(times.kill_minutes, 2)) == (survival, kill)
    assert round(times.assured_minutes, 1) == assured


def test_the_least_stated_value_of_an_integrating_indicator_is_that_of_the_weakest_lot_allowed():
    """ISO 11140-1:2014: 16.5 minutes at 121 degrees; ISO 11138-3: 1e5 spores of D 1.5 minutes."""
    assert spore_times(population=1e5, d_minutes=1.5).assured_minutes == INTEGRATING_LEAST_AT_121


@pytest.mark.parametrize(
    ("population", "d", "sentence"),
    [
        (
            100,
            1.5,
            (
                "a biological indicator with 100 spores; expected more than 100, as on its certificate (1.0e5 or more "
                "for moist heat); copy the population from the certificate, such as 2.3e6"
            ),
        ),
        (
            1e6,
            0,
            (
                "a D value of 0 minutes; expected minutes at 121 degrees Celsius, as on its certificate (1.5 or more); "
                "copy the D value from the certificate"
            ),
        ),
    ],
)
def test_numbers_that_no_indicator_has_are_refused(population, d, sentence):
    with pytest.raises(InputError) as refused:
        spore_times(population=population, d_minutes=d)
    assert str(refused.value) == sentence


def test_a_weak_lot_is_doubted():
    assert list(doubts_of_lot(population=9e4, d_minutes=1.2)) == [
        "its 90000 spores are fewer than 100000 (ISO 11138-3)",
        "its D value of 1.2 minutes is below 1.5 (ISO 11138-3)",
    ]
    assert list(doubts_of_lot(population=1e5, d_minutes=1.5)) == []
    assert list(doubts_of_lot(population=None, d_minutes=None)) == []
