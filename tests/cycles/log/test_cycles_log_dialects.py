"""Each log under tests/vectors/logs says the same twelve readings in another dialect."""

from datetime import datetime
from pathlib import Path

import numpy as np
import pytest

from tracelabels.cycles.log import LogOptions, read_log

LOGS = Path(__file__).parents[2] / "vectors" / "logs"
SECONDS, CELSIUS, KPA = np.loadtxt(LOGS / "readings.tsv", skiprows=2, unpack=True)
EIGHT = datetime(2026, 3, 14, 8)  # noqa: DTZ001 - a logger's clock has no zone
HALF_PAST = datetime(2026, 3, 14, 8, 0, 0, 500_000)  # noqa: DTZ001 - as above

# file: separator, decimal mark, time, temperature unit, pressure unit, zero, start; a star: corrected; a mark of
# interrogation: guessed; none: said by the file.
DIALECTS = {
    "plain.csv": ("comma", ".", "number in s", "C", "kPa", "absolute", None),
    "german.csv": ("semicolon", ",", "date and clock?", "C", "mbar", "absolute", EIGHT),
    "american.csv": ("comma", ".", "date and clock with AM and PM?", "F", "psi", "gauge?", EIGHT),
    "french.csv": ("semicolon", ",", "date and clock?", "C", "bar", "gauge", EIGHT),
    "italian.csv": ("tab", ",", "date and clock?", "C", "bar", "absolute", EIGHT),
    "spanish.csv": ("bar", ",", "number in min", "C", "kPa", "gauge", None),
    "dutch.csv": ("semicolon", ",", "clock?", "C", "kPa", "absolute?", None),
    "portuguese.csv": ("comma", ",", "clock?", "C", "kPa", "absolute", None),
    "swedish.csv": ("semicolon", ",", "date and clock?", "C", "bar", "absolute?", EIGHT),
    "iso.csv": ("comma", ".", "date and clock with zone?", "C", None, None, HALF_PAST),
    "blanks.txt": ("blanks", ".", "date and clock?", "C", "bar", "absolute?", EIGHT),
    "bare.txt": ("tab", ".", "number in s?", "C?", "kPa?", "absolute?", None),
    "midnight.csv": ("comma", ".", "clock?", "C", None, None, None),
    "elapsed.csv": ("semicolon", ".", "clock mm:ss", "K", None, None, None),
    "serial.csv": ("semicolon", ".", "spreadsheet's days since 1900?", "C", None, None, EIGHT),
    "epoch.csv": ("comma", ".", "milliseconds since 1970, UTC?", "C", None, None, EIGHT),
    "newest_first.csv": ("comma", ".", "date and clock?", "C", None, None, EIGHT),
    "named_months.csv": ("comma", ".", "date and clock?", "C", None, None, EIGHT),
    "units_behind.txt": ("blanks", ".", "clock?", "C", "kPa", "absolute?", None),
    "wrong_units.csv": ("comma", ".", "number in s", "F*", "kPa", "gauge*", None),
}
SHOWN = ("separator", "decimal_mark", "time", "temperature_unit", "pressure_unit", "pressure_reference")
MARKS = {"guessed": "?", "corrected": "*", "stated": "", "given": ""}


def test_every_log_of_the_folder_is_in_the_table():
    assert {path.name for path in LOGS.iterdir()} - {"readings.tsv"} == set(DIALECTS)


@pytest.mark.parametrize("name", DIALECTS)
def test_a_dialect_is_read_with_everything_that_had_to_be_assumed(name):
    log = read_log((LOGS / name).read_bytes(), LogOptions(), name=name)
    marks = {guess.what: f"{guess.value}{MARKS[guess.basis]}" for guess in log.guesses}
    marks |= {what: marks[what].rstrip("?") for what in SHOWN[:2]}  # these two are nearly always guessed
    assert (*(marks.get(what) for what in SHOWN), log.started_at) == DIALECTS[name]
    assert log.readings.seconds.tolist() == SECONDS.tolist()
    assert log.readings.celsius == pytest.approx(CELSIUS, abs=0.06)  # a tenth of a degree Fahrenheit
    assert (log.readings.kpa is None) == (DIALECTS[name][4] is None)
    if log.readings.kpa is not None:
        assert log.readings.kpa == pytest.approx(KPA, abs=0.06)  # a millibar, a hundredth of a psi
    assert (log.rows, log.readings.gaps) == (12, ())


def test_what_stands_above_and_below_the_readings_is_told():
    log = read_log((LOGS / "german.csv").read_bytes(), LogOptions(), name="german.csv")
    header = next(guess for guess in log.guesses if guess.what == "header")
    assert (header.value, header.because) == ("line 5", "the 4 lines above are no readings")
    assert [(one.line, one.sentence) for one in log.oddities] == [
        (19, "line 19: no reading in 'Ende der Aufzeichnung'; the row is left out")
    ]


def test_of_several_temperatures_the_one_in_the_chamber_is_taken_and_the_others_are_named():
    log = read_log((LOGS / "french.csv").read_bytes(), LogOptions(), name="french.csv")
    taken = next(guess for guess in log.guesses if guess.what == "temperature_column")
    assert (taken.value, taken.because) == (
        "'Température cuve (°C)'",
        "of 'Température double enveloppe (°C)', 'Température cuve (°C)': it is the one in the chamber or load",
    )
