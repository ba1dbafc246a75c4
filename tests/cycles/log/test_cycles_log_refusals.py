"""What cannot be read is refused in a sentence that names what was found and which option helps."""

import pytest

from tracelabels.cycles.log import LogOptions, decoding, read_log, table
from tracelabels.errors import LogError

CELSIUS = (21.4, 48.9, 79.6, 99.8, 121.2, 134.3, 134.6, 134.5, 134.4, 118.7, 92.3, 61.0)
ROWS = "".join(f"{60 * place},{one}\n" for place, one in enumerate(CELSIUS))
FAHRENHEIT = "".join(f"{60 * place},{one * 1.8 + 32:.1f}\n" for place, one in enumerate(CELSIUS))
GOOD = f"Time (s),Temp (°C)\n{ROWS}"

# name: content, options; what was given, what was expected, what helps.
REFUSED = {
    "empty": (
        "",
        {},
        "a.csv, which is empty",
        "rows with a time and a temperature",
        "export the cycle from the logger again",
    ),
    "a workbook": (
        "PK\x03\x04 and so on",
        {},
        "a.csv, which is a spreadsheet workbook or an archive",
        "a text file with rows of readings",
        "export or save it as text (CSV)",
    ),
    "a letter": (
        "Dear colleague,\nall is well\n",
        {},
        "a.csv, in which no rows of readings are found with any usual separator; its first line is 'Dear colleague,'",
        "rows with a time and a temperature, the same number of columns in each",
        "export the readings as a table, or say how it is written with --separator and --decimal-mark",
    ),
    "another separator": (
        GOOD,
        {"separator": ";"},
        (
            "a.csv, in which no rows of readings are found separated by semicolon; its first line is "
            "'Time (s),Temp (°C)'"
        ),
        "rows with a time and a temperature, the same number of columns in each",
        "export the readings as a table, or say how it is written with --separator and --decimal-mark",
    ),
    "no separator": (
        GOOD,
        {"separator": "x"},
        "the separator 'x'",
        "a comma, a semicolon, |, tab or space",
        "give it with --separator, or leave it out to have it found",
    ),
    "no decimal mark": (
        GOOD,
        {"decimal_mark": ":"},
        "the decimal mark ':'",
        "a point or a comma",
        "give it with --decimal-mark, or leave it out to have it found",
    ),
    "no time unit": (
        GOOD,
        {"time_unit": "weeks"},
        "the time unit 'weeks'",
        "one of s, min, h, ms, d",
        "give it with --time-unit, or leave it out to have it found",
    ),
    "no pressure unit": (
        GOOD,
        {"pressure_unit": "inch"},
        "the pressure unit 'inch'",
        "one of kPa, bar, mbar, psi, MPa, kgf/cm2, atm, mmHg, Pa",
        "give it with --pressure-unit, or leave it out to have it found",
    ),
    "no air": (
        GOOD,
        {"atmosphere_kpa": 1013.0},
        "an air pressure of 1013 kPa",
        "one from 50 to 110 kPa",
        "give the pressure of the air at the steriliser's place, not that reduced to sea level",
    ),
    "no such column": (
        GOOD,
        {"time_column": "Clock"},
        "--time-column 'Clock' for a.csv, in which no columns are called so",
        "one of its columns, by name or by number from 1 to 2: Time (s), Temp (°C)",
        "write the name as it stands over the column, or give its number",
    ),
    "no such number": (
        GOOD,
        {"temperature_column": "9"},
        "--temperature-column '9' for a.csv, in which no columns are called so",
        "one of its columns, by name or by number from 1 to 2: Time (s), Temp (°C)",
        "write the name as it stands over the column, or give its number",
    ),
    "one reading": (
        "Time (s),Temp (°C)\n0,22.0\n10,OL\n20,OL\n",
        {},
        "a.csv, in which one reading is found; line 3: temperature 'OL' is no number; the row is left out",
        "at least two rows with a time and a temperature",
        "name the columns with --time-column and --temperature-column, or the separator with --separator",
    ),
    "no temperatures": (
        "a,b\n" + "".join(f"{at},{at * 100000}\n" for at in range(20)),
        {},
        "a.csv, in which no column of temperatures is found; its columns are column 1, column 2",
        "a column of numbers whose words or values are temperatures of a steam steriliser",
        "name it with --temperature-column, by its words or its number",
    ),
    "no times": (
        "Temp (°C),Battery\n" + "".join(f"{one},3\n" for one in CELSIUS),
        {},
        "a.csv, in which no column of times is found; its columns are 'Temp (°C)', 'Battery'",
        "a clock, a date with a clock, or a number that rises from row to row",
        "name it with --time-column",
    ),
    "Fahrenheit named Celsius, and no pressure to tell": (
        f"Time (s),Temp (°C)\n{FAHRENHEIT}",
        {},
        "a.csv, whose column of temperatures goes from 70.5 to 274.3",
        "temperatures of a steam steriliser: at most 160 degrees C in the unit C named by the header",
        "check the column and its unit; they look like F, say so with --temperature-unit F",
    ),
    "Celsius taken for kelvin": (
        GOOD,
        {"temperature_unit": "K"},
        "a.csv, whose column of temperatures goes from 21.4 to 134.6",
        "temperatures of a steam steriliser: at most 160 degrees C in the unit K given by option",
        "check the column and its unit; they look like C, say so with --temperature-unit C",
    ),
    "times to and fro": (
        "Time,Temp (°C)\n" + "".join(f"{at},50\n" for at in (0, 60, 30, 90, 10, 80, 5, 70, 3, 50) * 6),
        {},
        "a.csv, in which times go back 18 times in 60 rows",
        "times that rise from row to row",
        "name the column of times with --time-column, or the order of dates with --date-order",
    ),
    "one time in all rows": (
        "Time,Temp\n" + "08:00,22.0\n" * 30,
        {},
        "a.csv, in which the same time stands in all rows",
        "times that rise from row to row",
        "name the column of times with --time-column, or the order of dates with --date-order",
    ),
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_cannot_be_read_is_refused_in_words(name):
    content, options, given, expected, remedy = REFUSED[name]
    with pytest.raises(LogError) as caught:
        read_log(content.encode(), LogOptions(**options), name="a.csv")
    assert (caught.value.given, caught.value.expected, caught.value.remedy) == (given, expected, remedy)


@pytest.mark.parametrize(
    ("module", "limit", "given"),
    [
        (decoding, "LARGEST_BYTES", "a.csv with 131 bytes"),
        (decoding, "MOST_LINES", "a.csv with 13 lines"),
        (table, "MOST_SEPARATORS", "a.csv with more than 10 separators"),
    ],
)
def test_what_is_too_large_is_refused(monkeypatch, module, limit, given):
    monkeypatch.setattr(module, limit, 100 if limit == "LARGEST_BYTES" else 10)
    with pytest.raises(LogError) as caught:
        read_log(GOOD.encode(), LogOptions(), name="a.csv")
    assert caught.value.given == given
