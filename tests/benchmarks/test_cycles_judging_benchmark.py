"""A million readings judged, beside the bare formulas over the same arrays: F0, steam, readings in the band."""

import numpy as np

from tracelabels.custody import ProbePlace
from tracelabels.cycles import Readings, judge, require_programme
from tracelabels.cycles.steam import saturation_pressure_kpa, saturation_temperature_c

READINGS = 1_000_000
MOST = 4.0


def test_a_million_readings_cost_a_few_times_the_bare_formulas(best_of):
    seconds = np.arange(READINGS) * 0.01
    level = np.interp(seconds, [0, 3000, 7000, 10_000], [20, 134.6, 134.6, 60])
    celsius = level + np.random.default_rng(6).normal(0, 0.1, READINGS)
    readings = Readings(seconds=seconds, celsius=celsius, kpa=saturation_pressure_kpa(celsius))
    programme = require_programme("wrapped-134c-3min")

    def bare() -> None:
        rate = 10 ** ((celsius - 121.1) / 10)
        assert ((rate[1:] + rate[:-1]) * np.diff(seconds)).sum() > 0
        assert np.nanmax(celsius - saturation_temperature_c(readings.kpa)) < 1
        assert ((celsius >= 134) & (celsius <= 137)).any()

    whole, formulas = best_of(lambda: judge(readings, programme=programme, probe=ProbePlace.CHAMBER), bare)
    print(f"\n{READINGS:,} readings judged in {whole:.2f} s, {whole / formulas:.1f} times the bare formulas ({MOST:g})")
    assert whole / formulas < MOST
