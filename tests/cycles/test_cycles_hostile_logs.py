"""One good cycle of the modelled steriliser in nasty but legal files: each must be read as the plain file is.

Nobody's format is copied: what is gathered here is common practice of spreadsheets and loggers, no source.
"""

from collections.abc import Callable
from datetime import datetime, timedelta

import numpy as np
import pytest
from steriliser_model import Machine, simulate
from steriliser_scenarios import V134, Plan, run_of

from tracelabels.cycles.log import LogOptions, read_log

EVENING = datetime(2026, 7, 3, 23, 41, 30)  # noqa: DTZ001  # a logger's clock has no zone
Rows = list[tuple[float, float, float]]


@pytest.fixture(scope="module")
def rows() -> Rows:
    """Seconds, degrees Celsius and kPa absolute, every five seconds."""
    plan = Plan(machine=Machine(wall_start_c=24.0, steam_lag_s=3.0), target_above_k=1.4, hold_s=230)
    course = simulate([run_of(plan, V134)])[0]
    return [(float(s), float(course.chamber_c[s]), float(course.kpa[s])) for s in range(0, len(course.seconds), 5)]


def _comma(value: float, places: int = 1) -> str:
    return f"{value:.{places}f}".replace(".", ",")


def _hms(seconds: float) -> str:
    return f"{int(seconds) // 3600:02d}:{int(seconds) % 3600 // 60:02d}:{int(seconds) % 60:02d}"


def _at(seconds: float) -> datetime:
    return EVENING + timedelta(seconds=seconds)


def plain(rows: Rows) -> str:
    return "\n".join(
        ["Time [s],Temperature [°C],Pressure [kPa abs]", *(f"{s:.0f},{c:.2f},{p:.1f}" for s, c, p in rows)]
    )


def millibar(rows: Rows) -> str:
    lines = [f"{_hms(s)};{_comma(c)};{p * 10:.0f}" for s, c, p in rows]
    return "\n".join(["Zeit;Temperatur (°C);Absolutdruck (mbar)", *lines])


def millibar_with_thousands(rows: Rows) -> str:
    lines = [
        f"{_hms(s)};{_comma(c)};{f'{p * 10:,.1f}'.replace(',', '_').replace('.', ',').replace('_', '.')}"
        for s, c, p in rows
    ]
    return "\n".join(["Zeit;Temperatur (°C);Absolutdruck (mbar)", *lines])


def pascal(rows: Rows) -> str:
    return "\n".join(["t (s)\tT (°C)\tp abs (Pa)", *(f"{s:.0f}\t{c:.1f}\t{p * 1000:.0f}" for s, c, p in rows)])


def megapascal_gauge(rows: Rows) -> str:
    return "\n".join(
        [
            "Time,Temp(℃),Pressure(MPa gauge)",
            *(f"{_hms(s)},{c:.1f},{(p - 101.3) / 1000:.3f}" for s, c, p in rows),
        ]
    )


def minutes_with_decimals(rows: Rows) -> str:
    return "\n".join(["Minutes,Temp C,kPa (absolute)", *(f"{s / 60:.4f},{c:.2f},{p:.1f}" for s, c, p in rows)])


def minutes_with_decimal_comma(rows: Rows) -> str:
    return "\n".join(
        ["Minuten;Temp. °C;kPa absolut", *(f"{_comma(s / 60, 4)};{_comma(c)};{_comma(p)}" for s, c, p in rows)]
    )


def header_with_commas(rows: Rows) -> str:
    lines = [f"{_at(s):%Y-%m-%d %H:%M:%S},{c:.1f},{p:.1f}" for s, c, p in rows]
    return "\n".join(['"Time, local","Temperature, chamber (°C)","Pressure, absolute (kPa)"', *lines])


def all_quoted(rows: Rows) -> str:
    lines = [f'"{_at(s):%d/%m/%Y %H:%M:%S}";"{_comma(c)}";"{_comma(p)}"' for s, c, p in rows]
    return "\r\n".join(['"Heure";"Température (°C)";"Pression (kPa abs)"', *lines])


def comma_separated_and_decimal_comma_in_quotes(rows: Rows) -> str:
    lines = [f'{s:.0f},"{_comma(c)}","{_comma(p)}"' for s, c, p in rows]
    return "\r\n".join(["Zeit [s],Temperatur [°C],Druck [kPa abs]", *lines])


def empty_columns(rows: Rows) -> str:
    lines = [f"{_at(s):%d.%m.%Y %H:%M:%S};;{_comma(c)};;{_comma(p)};;" for s, c, p in rows]
    return "\r\n".join(
        ["sep=;", "Protokoll;;;;;;", ";;;;;;", "Zeit;;Temperatur °C;;Druck kPa abs;;", *lines, ";;;;;;", ""]
    )


def over_midnight(rows: Rows) -> str:
    return "\n".join(
        ["Time,Temperature (°C),Pressure (kPa abs)", *(f"{_at(s):%H:%M:%S},{c:.1f},{p:.1f}" for s, c, p in rows)]
    )


def twelve_hours(rows: Rows) -> str:
    lines = [f"{_at(s):%m/%d/%Y %I:%M:%S %p},{c * 1.8 + 32:.1f},{p / 6.894757 - 14.7:.2f}" for s, c, p in rows]
    return "\n".join(["Date and time,Temperature °F,Pressure psig", *lines])


def twelve_hours_without_date(rows: Rows) -> str:
    return "\n".join(
        ["Time,Temp (F),PSIA", *(f"{_at(s):%I:%M:%S %p},{c * 1.8 + 32:.1f},{p / 6.894757:.2f}" for s, c, p in rows)]
    )


def iso_with_zone(rows: Rows) -> str:
    lines = [f"{_at(s):%Y-%m-%dT%H:%M:%S.000Z},{c:.3f},{p / 100:.4f}" for s, c, p in rows]
    return "\n".join(["timestamp,temperature_c,pressure_bar_abs", *lines])


def unix_time(rows: Rows) -> str:
    return "\n".join(
        ["epoch_s,temp_degC,press_kPa_abs", *(f"{1_783_100_000 + s:.0f},{c:.2f},{p:.2f}" for s, c, p in rows)]
    )


def footer(rows: Rows) -> str:
    tail = [
        "",
        "Minimum;20.1;12.3",
        "Maximum;135.6;316.0",
        "Cycle complete;;",
        "Signature: ____________",
        "*** END ***",
    ]
    return "\n".join(
        ["Time;Temperature [C];Pressure [kPa abs]", *(f"{_hms(s)};{c:.1f};{p:.1f}" for s, c, p in rows), *tail]
    )


def summary_before(rows: Rows) -> str:
    head = [
        "Cycle no.,118",
        "Set temperature,134.0",
        "Hold,00:03:30",
        "Max. temperature,135.6",
        "Start,2026-07-03 23:41:30",
        "",
    ]
    return "\n".join(
        [*head, "Time,Temperature [C],Pressure [kPa abs]", *(f"{_hms(s)},{c:.1f},{p:.1f}" for s, c, p in rows)]
    )


def header_again(rows: Rows) -> str:
    lines = [f"{_hms(s)},{c:.1f},{p:.1f}" for s, c, p in rows]
    head = "Time,Temperature [C],Pressure [kPa abs]"
    return "\n".join(line for start in range(0, len(lines), 60) for line in ["", head, *lines[start : start + 60]])


def newest_first(rows: Rows) -> str:
    lines = [f"{_at(s):%Y-%m-%d %H:%M:%S},{c:.1f},{p:.1f}" for s, c, p in reversed(rows)]
    return "\n".join(["Time,Temperature [C],Pressure [kPa abs]", *lines])


def pressure_first(rows: Rows) -> str:
    return "\n".join(
        ["n,P [kPa abs],T [°C],t [s]", *(f"{n + 1},{p:.1f},{c:.1f},{s:.0f}" for n, (s, c, p) in enumerate(rows))]
    )


def kelvin(rows: Rows) -> str:
    return "\n".join(["t/s,T/K,p/kPa (abs)", *(f"{s:.0f},{c + 273.15:.2f},{p:.1f}" for s, c, p in rows)])


def comment_marks(rows: Rows) -> str:
    return "\n".join(
        [
            "# logger 7, chamber probe",
            "# columns: time [s]; temperature [C]; pressure [kPa abs]",
            "time [s];temperature [C];pressure [kPa abs]",
            *(f"{s:.0f};{c:.2f};{p:.1f}" for s, c, p in rows),
            "# end",
        ]
    )


def spaces_in_columns(rows: Rows) -> str:
    return "\n".join(["time_s   temp_C   p_kPa_abs", *(f"{s:8.0f} {c:8.2f} {p:8.1f}" for s, c, p in rows)])


def now_and_then_empty(rows: Rows) -> str:
    """Pressure every other row, a few words between."""
    lines = [f"{_hms(s)};{c:.1f};{f'{p:.1f}' if n % 2 else ''}" for n, (s, c, p) in enumerate(rows)]
    lines.insert(len(lines) // 3, f"{_hms(rows[len(lines) // 3][0])};door locked;")
    return "\n".join(["Time;Temperature [C];Pressure [kPa abs]", *lines])


def old_line_ends(rows: Rows) -> str:
    return plain(rows).replace("\n", "\r")


def set_temperature_beside(rows: Rows) -> str:
    lines = [f"{_hms(s)},134.0,{c:.1f},{p:.1f}" for s, c, p in rows]
    return "\n".join(["Time,Set temperature [°C],Temperature [°C],Pressure [kPa abs]", *lines])


def minutes_with_decimal_comma_beside_whole_numbers(rows: Rows) -> str:
    """0,500 is half a minute; with the point as decimal mark 1,500 would be a thousand and a half."""
    lines = [f"{_comma(s / 60, 3)};{c * 1.8 + 32:.0f};{p:.0f}" for s, c, p in rows]
    return "\n".join(["Laufzeit [min];Temperatur [°F];Druck [kPa absolut]", *lines])


def whole_numbers_of_one_width(rows: Rows) -> str:
    """Comma-separated, from the first hot reading on: 234,154 is no decimal number where each field has a name."""
    hot = [(s, c, p) for s, c, p in rows if c > 110 and p > 150]
    lines = [f"{s - hot[0][0]:.0f},{c * 1.8 + 32:.0f},{p:.0f}" for s, c, p in hot]
    return "\n".join(["Elapsed [s],Temperature [°F],Pressure [kPa abs]", *lines])


def vacuum_as_negative_gauge(rows: Rows) -> str:
    return "\n".join(["Time,Temp °C,Pressure bar", *(f"{_hms(s)},{c:.1f},{(p - 101.3) / 100:.2f}" for s, c, p in rows)])


def whole_degrees(rows: Rows) -> str:
    return "\n".join(
        ["Time [s],Temperature [°C],Pressure [kPa abs]", *(f"{s:.0f},{c:.0f},{p:.0f}" for s, c, p in rows)]
    )


def time_with_milliseconds(rows: Rows) -> str:
    return "\n".join(
        [
            "Zeit;Temp [°C];Druck [kPa abs]",
            *(f"{_at(s):%d.%m.%y %H:%M:%S},{n % 10:03d};{_comma(c)};{_comma(p)}" for n, (s, c, p) in enumerate(rows)),
        ]
    )


def minutes_and_seconds(rows: Rows) -> str:
    return "\n".join(
        [
            "mm:ss,Temp [°C],Pressure [kPa abs]",
            *(f"{int(s) // 60:02d}:{int(s) % 60:02d},{c:.1f},{p:.1f}" for s, c, p in rows),
        ]
    )


def two_probes(rows: Rows) -> str:
    lines = [f"{_hms(s)};{_comma(c - 6)};{_comma(c)};{_comma(p)}" for s, c, p in rows]
    return "\n".join(["Zeit;Ablauf °C;Kammer °C;Druck kPa abs", *lines])


def units_in_cells(rows: Rows) -> str:
    return "\n".join(["Time;Temperature;Pressure", *(f"{_hms(s)};{c:.1f} °C;{p / 100:.3f} bar(a)" for s, c, p in rows)])


def space_for_thousands_of_seconds(rows: Rows) -> str:
    nothing = "\u202f"
    return "\n".join(
        [
            "Temps (s);Température (°C);Pression absolue (kPa)",
            *(f"{f'{s:,.0f}'.replace(',', nothing)};{_comma(c)};{_comma(p)}" for s, c, p in rows),
        ]
    )


def days_of_a_spreadsheet(rows: Rows) -> str:
    """Dates that were exported as the numbers they are kept as: days, and parts of them."""
    lines = [f"{_comma(46206.9 + s / 86400, 8)};{_comma(c)};{_comma(p)}" for s, c, p in rows]
    return "\n".join(["Datum;Temperatur [°C];Druck [kPa abs]", *lines])


def jacket_before_chamber(rows: Rows) -> str:
    """A jacket is always hot and under pressure, a room never."""
    lines = [f"{_hms(s)},22.4,{c:.1f},2.30,{p / 100 - 1.013:.3f}" for s, c, p in rows]
    return "\n".join(["Time,Ambient [C],Chamber [C],Jacket (bar),Chamber (bar)", *lines])


def both_units(rows: Rows) -> str:
    lines = [f"{_hms(s)},{c * 1.8 + 32:.1f},{c:.1f},{p / 6.894757:.2f},{p:.1f}" for s, c, p in rows]
    return "\n".join(["Time,Temp °F,Temp °C,Pressure psia,Pressure kPa abs", *lines])


FILES: tuple[tuple[Callable[[Rows], str], str, LogOptions], ...] = (
    (millibar, "utf-8", LogOptions()),
    (millibar_with_thousands, "cp1252", LogOptions()),
    (pascal, "utf-8", LogOptions()),
    (megapascal_gauge, "utf-8", LogOptions()),
    (minutes_with_decimals, "utf-8", LogOptions()),
    (minutes_with_decimal_comma, "utf-8", LogOptions()),
    (header_with_commas, "utf-8", LogOptions()),
    (all_quoted, "cp1252", LogOptions()),
    (comma_separated_and_decimal_comma_in_quotes, "utf-8-sig", LogOptions()),
    (empty_columns, "cp1252", LogOptions()),
    (over_midnight, "utf-8", LogOptions()),
    (twelve_hours, "utf-8", LogOptions()),
    (twelve_hours_without_date, "utf-8", LogOptions()),
    (iso_with_zone, "utf-8", LogOptions()),
    (unix_time, "utf-8", LogOptions()),
    (units_in_cells, "utf-8", LogOptions()),
    (space_for_thousands_of_seconds, "utf-8", LogOptions()),
    (footer, "utf-8", LogOptions()),
    (summary_before, "utf-8", LogOptions()),
    (header_again, "utf-8", LogOptions()),
    (newest_first, "utf-8", LogOptions()),
    (pressure_first, "utf-8", LogOptions()),
    (kelvin, "utf-8", LogOptions()),
    (comment_marks, "utf-8", LogOptions()),
    (spaces_in_columns, "utf-8", LogOptions()),
    (now_and_then_empty, "utf-8", LogOptions()),
    (old_line_ends, "utf-8", LogOptions()),
    (set_temperature_beside, "utf-8", LogOptions(temperature_column="3")),
    (minutes_with_decimal_comma_beside_whole_numbers, "utf-8", LogOptions()),
    (vacuum_as_negative_gauge, "utf-8", LogOptions()),
    (whole_degrees, "utf-16", LogOptions()),
    (time_with_milliseconds, "utf-8", LogOptions()),
    (minutes_and_seconds, "utf-8", LogOptions()),
    (days_of_a_spreadsheet, "utf-8", LogOptions()),
    (jacket_before_chamber, "utf-8", LogOptions()),
    (both_units, "utf-8", LogOptions()),
    (two_probes, "utf-8", LogOptions(temperature_column="Kammer °C")),
)


@pytest.mark.parametrize(("write", "encoding", "options"), FILES, ids=[write.__name__ for write, _, _ in FILES])
def test_each_file_is_read_as_the_plain_one(rows, write, encoding, options):
    cycle = read_log(write(rows).encode(encoding), options, name="cycle.csv")
    truth = np.array(rows).T
    readings = cycle.readings
    assert readings.seconds == pytest.approx(truth[0], abs=1.0)
    assert readings.celsius == pytest.approx(truth[1], abs=0.51)
    assert readings.kpa is not None
    known = np.isfinite(readings.kpa)
    assert known.mean() >= 0.45
    assert readings.kpa[known] == pytest.approx(truth[2][known], abs=1.1)


def test_whole_numbers_with_a_name_for_each_field_are_no_decimals(rows):
    hot = [row for row in rows if row[1] > 110 and row[2] > 150]
    readings = read_log(whole_numbers_of_one_width(rows).encode(), LogOptions(), name="cycle.csv").readings
    assert readings.kpa is not None
    assert readings.celsius == pytest.approx([row[1] for row in hot], abs=0.3)
    assert readings.kpa == pytest.approx([row[2] for row in hot], abs=0.6)
