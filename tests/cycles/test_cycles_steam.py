import numpy as np
import pytest

from tracelabels.cycles.steam import saturation_pressure_kpa, saturation_temperature_c

ATMOSPHERE_KPA = 101.325
KPA_IN_PSI = 6.894757  # one pound-force per square inch, from its definition


def test_the_releases_own_check_values_come_out_to_their_last_digit(rows_of):
    rows = rows_of("iapws_if97_tables_35_36.tsv")
    found = [
        f"{saturation_pressure_kpa(float(row['kelvin']) - 273.15) / 1000:.9g}"
        if row["table"] == "35"
        else f"{saturation_temperature_c(1000 * float(row['mpa'])) + 273.15:.9g}"
        for row in rows
    ]
    assert found == [row["mpa" if row["table"] == "35" else "kelvin"] for row in rows]


def test_the_table_of_saturated_steam_comes_out_to_its_last_digit(rows_of):
    rows = rows_of("saturated_steam.tsv")
    absolute = saturation_pressure_kpa([float(row["celsius"]) for row in rows])
    gauge = absolute - ATMOSPHERE_KPA
    found = [
        (f"{one:.1f}", f"{over:.1f}", f"{over / KPA_IN_PSI:.2f}") for one, over in zip(absolute, gauge, strict=True)
    ]
    assert found == [(row["kpa_absolute"], row["kpa_gauge"], row["psi_gauge"]) for row in rows]


def test_it_agrees_with_an_independent_implementation_where_sterilisers_work():
    judge = pytest.importorskip("iapws.iapws97")
    celsius = np.arange(100, 140.01, 0.25)
    kpa = np.array([1000 * judge._PSat_T(one + 273.15) for one in celsius])
    assert np.abs(saturation_temperature_c(kpa) - celsius).max() < 0.01
    assert np.abs(saturation_pressure_kpa(celsius) / kpa - 1).max() < 1e-9


def test_there_is_no_saturated_steam_below_ice_or_above_the_critical_point():
    assert np.isnan(saturation_pressure_kpa([-0.01, 374.0, np.nan])).all()
    assert np.isnan(saturation_temperature_c([-5.0, 0.0, 0.6, 22065.0, np.nan])).all()
    assert saturation_temperature_c(saturation_pressure_kpa([0.0, 20.0, 373.9])) == pytest.approx([0.0, 20.0, 373.9])
