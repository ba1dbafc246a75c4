"""Units and zero: said, found from the numbers, corrected where two witnesses agree, doubted where they do not."""

import numpy as np
import pytest

from tracelabels.cycles.log import LogOptions, read_log
from tracelabels.cycles.steam import saturation_pressure_kpa

CELSIUS = np.interp(np.arange(0, 1800, 15), [0, 500, 520, 1100, 1500], [21, 133, 134.6, 134.6, 80])
STEAM_KPA = np.where(CELSIUS > 100.2, saturation_pressure_kpa(CELSIUS), 101.3)
NOTHING = LogOptions()
AIR = "it starts or ends at the air's pressure, and the plateau is"


def read(header, celsius=CELSIUS, kpa=STEAM_KPA, options=NOTHING):
    lines = [f"{15 * at},{one:.2f},{other:.4f}" for at, (one, other) in enumerate(zip(celsius, kpa, strict=True))]
    log = read_log("\n".join([header, *lines, ""]).encode(), options, name="a.csv")
    found = {guess.what: (guess.value, guess.basis.value, guess.because) for guess in log.guesses}
    return log, [found.get(what) for what in ("temperature_unit", "pressure_unit", "pressure_reference")]


@pytest.mark.parametrize(
    ("unit", "size", "gauge"),
    [("kPa", 1, 0), ("bar", 100, 0), ("mbar", 0.1, 101.325), ("psi", 6.894757293168, 101.325), ("MPa", 1000, 101.325)],
)
def test_unit_and_zero_are_found_from_the_numbers_alone(unit, size, gauge):
    log, found = read("a,b,c", kpa=(STEAM_KPA - gauge) / size)
    assert [one[:2] for one in found] == [
        ("C", "guessed"), (unit, "guessed"), ("gauge" if gauge else "absolute", "guessed"),
    ]  # fmt: skip
    assert log.readings.kpa == pytest.approx(STEAM_KPA, abs=0.06)


def test_without_a_header_the_temperature_is_what_starts_at_room_temperature():
    # As millibar the degrees Fahrenheit happen to be the pressure of steam at as many degrees as the gauge shows.
    bar = np.where(CELSIUS > 100.2, STEAM_KPA - 101.325, 0.0) * 0.52
    lines = [
        f"{15 * at};{pressure:.1f};{one * 1.8 + 32:.0f}"
        for at, (one, pressure) in enumerate(zip(CELSIUS, bar, strict=True))
    ]
    log = read_log("\n".join([*lines, ""]).encode(), LogOptions(), name="a.csv")
    found = {guess.what: guess.value for guess in log.guesses}
    assert (found["temperature_column"], found["temperature_unit"]) == ("column 3", "F")


def test_a_header_is_corrected_where_cold_start_and_steam_agree():
    log, found = read("t [s],T [°C],P [bar abs]", celsius=CELSIUS * 1.8 + 32, kpa=(STEAM_KPA - 101.325) / 6.894757)
    assert [one[:2] for one in found] == [("F", "corrected"), ("psi", "corrected"), ("gauge", "corrected")]
    looks = "the numbers look like F: from room temperature, 21.0 degrees C, to 134.6 degrees C"
    assert found[0][2] == f"the header says C, but {looks}, and the pressure agrees"
    assert found[2][2] == f"the header says absolute, but as psi gauge {AIR} +0.0 K from saturated steam"
    assert log.readings.celsius == pytest.approx(CELSIUS, abs=0.01)


def test_air_in_the_chamber_corrects_nothing():
    with_air = STEAM_KPA + np.where(CELSIUS > 105, 40, 0)
    for header, kpa in (("t [s],T [°C],P [kPa]", with_air - 101.325), ("t [s],T [°C],P [kPa abs]", with_air)):
        log, found = read(header, kpa=kpa)
        assert (found[1][:2], found[2][0]) == (("kPa", "stated"), "absolute" if "abs" in header else "gauge")
        assert found[2][2].endswith(f"{AIR} -4.2 K from saturated steam")
        assert log.readings.kpa == pytest.approx(with_air, abs=0.01)


def test_the_cold_start_counts_before_steam_that_air_may_imitate():
    with_air = STEAM_KPA + np.where(CELSIUS > 105, 90, 0)
    _, found = read("t [s],T [°C],P [kPa]", kpa=with_air - 101.325)
    assert found[2] == ("gauge", "guessed", f"{AIR} -9.0 K from saturated steam")


def test_steam_alone_corrects_no_header():
    plateau = slice(40, 70)
    _, found = read("t [s],T [°C],P [kPa abs]", celsius=CELSIUS[plateau], kpa=STEAM_KPA[plateau] - 101.325)
    doubt = "but it neither starts nor ends at the air's pressure, and the plateau is +13.1 K from saturated steam"
    assert found[2] == ("absolute", "stated", doubt)


def test_an_option_is_kept_and_doubted():
    log, found = read("t [s],T [°C],P [kPa]", options=LogOptions(pressure_reference="gauge", temperature_unit="C"))
    assert found[0] == ("C", "given", "")
    doubt = "but it neither starts nor ends at the air's pressure, and the plateau is -10.0 K from saturated steam"
    assert found[2] == ("gauge", "given", doubt)
    assert log.readings.kpa == pytest.approx(STEAM_KPA + 101.325, abs=0.01)


def test_a_gauge_at_height_takes_the_air_that_is_given():
    at_height = np.where(CELSIUS > 100.2, STEAM_KPA, 83.0)
    log, found = read("t [s],T [°C],P [kPa gauge]", kpa=at_height - 83.0, options=LogOptions(atmosphere_kpa=83.0))
    assert found[2] == ("gauge", "stated", "")
    assert next(guess for guess in log.guesses if guess.what == "atmosphere").value == "83 kPa"
    assert log.readings.kpa == pytest.approx(at_height, abs=0.01)


def test_numbers_that_are_no_pressure_are_left_out_and_said():
    log, found = read("t [s],T [°C],Pressure", kpa=np.full(len(CELSIUS), 7.0))
    assert (log.readings.kpa, found[1][0]) == (None, "unknown")
    assert found[1][2] == (
        "the numbers fit none at cold start and plateau; the pressure is left out; name it with --pressure-unit"
    )


def test_no_pressure_is_read_where_none_is_wanted():
    log, _ = read("t [s],T [°C],P [kPa abs]", options=LogOptions(pressure_column="none"))
    assert log.readings.kpa is None


@pytest.mark.parametrize(
    ("header", "scale", "options", "value", "basis"),
    [
        ("t,T [°C]", 1, {}, "number in s", "guessed"),
        ("t,T [°C]", 60, {}, "number in min", "guessed"),
        ("t [min],T [°C]", 60, {}, "number in min", "stated"),
        ("t,T [°C]", 3600, {"time_unit": "h"}, "number in h", "given"),
        ("t,T [°C]", 1, {"time_unit": "s"}, "number in s", "given"),
    ],
)
def test_seconds_and_minutes_are_told_apart(header, scale, options, value, basis):
    lines = [f"{15 * at / scale:.5f},{one:.2f}" for at, one in enumerate(CELSIUS)]
    log = read_log("\n".join([header, *lines, ""]).encode(), LogOptions(**options), name="a.csv")
    found = next(guess for guess in log.guesses if guess.what == "time")
    assert (found.value, found.basis.value) == (value, basis)
    assert log.readings.seconds == pytest.approx(np.arange(0, 1800, 15), abs=0.04)


def test_a_wrong_time_unit_is_doubted():
    lines = [f"{15 * at},{one:.2f}" for at, one in enumerate(CELSIUS)]
    log = read_log("\n".join(["t,T [°C]", *lines, ""]).encode(), LogOptions(time_unit="min"), name="a.csv")
    found = next(guess for guess in log.guesses if guess.what == "time")
    assert (found.basis.value, found.because) == ("given", "but then the log would last 30 hours")


def test_where_both_would_do_seconds_are_taken_since_a_hold_is_then_short():
    lines = [f"{at},134.4" for at in range(200)]
    log = read_log("\n".join(["t,T [°C]", *lines, ""]).encode(), LogOptions(), name="a.csv")
    found = next(guess for guess in log.guesses if guess.what == "time")
    assert (found.value, found.because) == (
        "number in s",
        "minutes would do as well; seconds make a hold short rather than long; say which with --time-unit",
    )


def test_what_speaks_against_the_other_unit_of_time_is_said():
    lines = [f"{5 * at},{one:.2f}" for at, one in enumerate(CELSIUS)]
    log = read_log("\n".join(["t,T [°C]", *lines, ""]).encode(), LogOptions(), name="a.csv")
    found = next(guess for guess in log.guesses if guess.what == "time")
    assert (found.value, found.because) == ("number in s", "as minutes it would take 3 hours to heat by 107 K")


def test_units_behind_the_numbers_say_the_zero_too():
    plateau = slice(40, 70)
    rows = zip(CELSIUS[plateau], STEAM_KPA[plateau], strict=True)
    lines = [f"{15 * at};{one:.1f} °C;{(kpa - 101.325) / 100:.3f} bar(g)" for at, (one, kpa) in enumerate(rows)]
    log = read_log("\n".join(["t [s];Temp;Press", *lines, ""]).encode(), LogOptions(), name="a.csv")
    found = {guess.what: (guess.value, guess.basis.value) for guess in log.guesses}
    assert (found["pressure_unit"], found["pressure_reference"]) == (("bar", "stated"), ("gauge", "stated"))


def test_a_line_of_units_alone_names_the_columns():
    head = ["Report;Pressure test", "", "", "", "s;°C;kPa abs"]
    lines = [f"{15 * at};{one:.1f};{kpa:.1f}" for at, (one, kpa) in enumerate(zip(CELSIUS, STEAM_KPA, strict=True))]
    log = read_log("\n".join([*head, *lines, ""]).encode(), LogOptions(), name="a.csv")
    found = {guess.what: guess.value for guess in log.guesses}
    assert (found["header"], found["temperature_column"], found["pressure_column"]) == ("line 5", "'°C'", "'kPa abs'")


@pytest.mark.parametrize(
    ("dates", "options", "order", "because"),
    [
        (("03/04/2026", "03/04/2026"), {}, "dmy", "mdy would do as well; what is usual was taken"),
        (("03/04/2026", "04/04/2026"), {}, "dmy", "with any other order the log would last for weeks"),
        (("03/04/2026", "03/05/2026"), {}, "mdy", "with any other order the log would last for weeks"),
        (("03/04/2026", "03/04/2026"), {"date_order": "mdy"}, "mdy", ""),
        (("13/04/2026", "13/04/2026"), {"date_order": "mdy"}, "mdy", "but 1 dates are none in that order"),
        (("26-03-14", "26-03-14"), {}, "ymd", "dmy would do as well; what is usual was taken"),
        (("14-03-26", "14-03-26"), {}, "dmy", "ymd would do as well; what is usual was taken"),
    ],
)
def test_the_order_of_dates_is_found(dates, options, order, because):
    clocks = ("23:59:50", "00:00:00") if dates[0] != dates[1] else ("08:00:00", "08:00:10")
    lines = [f"{day} {clock},22.0" for day, clock in zip(dates, clocks, strict=True)]
    content = "\n".join(["Time,T [°C]", *lines, ""]).encode()
    if "none" in because:
        with pytest.raises(Exception, match="no readings are found"):
            read_log(content, LogOptions(**options), name="a.csv")
        return
    log = read_log(content, LogOptions(**options), name="a.csv")
    found = next(guess for guess in log.guesses if guess.what == "date_order")
    assert (found.value, found.because) == (order, because)
    assert log.readings.seconds.tolist() == [0.0, 10.0]


def test_of_several_temperatures_in_the_chamber_the_coldest_while_hot_is_taken():
    lines = [
        f"{15 * at},{one:.1f},{one - 1.5:.1f},{130 if at > 20 else 90},{23 + at % 7 / 10:.1f}"
        for at, one in enumerate(CELSIUS)
    ]
    header = "t [s],Chamber top °C,Chamber drain °C,Chamber wanted °C,Chamber rear °C"
    log = read_log("\n".join([header, *lines, ""]).encode(), LogOptions(), name="a.csv")
    found = next(guess for guess in log.guesses if guess.what == "temperature_column")
    assert found.value == "'Chamber drain °C'"
    assert found.because == (
        "of 'Chamber top °C', 'Chamber drain °C', 'Chamber wanted °C', 'Chamber rear °C': the coldest while they are "
        "hot, since a load is as good as its coldest place"
    )


def test_the_step_is_what_the_digits_say_or_coarser_where_many_values_show_it():
    half = np.round(CELSIUS * 2) / 2
    log, _ = read("t [s],T [°C],P [kPa abs]", celsius=half)
    assert log.readings.step_k == 0.5
    assert (
        read("t [s],T [°C],P [kPa abs]", celsius=np.round(half[::40]), kpa=STEAM_KPA[::40])[0].readings.step_k == 0.01
    )
