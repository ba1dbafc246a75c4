"""What is odd in a log is told with its line, and taken as carefully as it can be."""

from datetime import datetime, timedelta

import numpy as np
import pytest

from tracelabels.cycles.log import LogOptions, read_log
from tracelabels.cycles.readings import Span

EIGHT = datetime(2026, 3, 14, 8)  # noqa: DTZ001 - a logger's clock has no zone
NEAR = "134.4 and 134.4"
FOLLOW = "are taken to follow on after 10 s"
SUMMER = "(one hour: summer time begins or ends?)"


def degrees(seconds: float) -> float:
    return round(float(np.interp(seconds, [0, 600, 620, 1000, 1200], [22, 133, 134.4, 134.4, 96])), 1)


def log(start: datetime = EIGHT, clock: str = "%H:%M:%S") -> list[str]:
    """Lines of a log of 120 readings, ten seconds apart, below one line of names."""
    moments = [start + timedelta(seconds=10 * place) for place in range(120)]
    return ["Time,Temp (°C)", *(f"{at:{clock}},{degrees(10 * place)}" for place, at in enumerate(moments))]


PLAIN = log()
LATER = log(EIGHT + timedelta(hours=1))
EARLIER = log(EIGHT - timedelta(hours=1))
DATED = "%Y-%m-%d %H:%M:%S"
DATED_LOG = log(EIGHT, DATED)
BEFORE_SUMMER = log(datetime(2026, 3, 29, 1, 47), DATED)  # noqa: DTZ001 - as above
IN_SUMMER = log(datetime(2026, 3, 29, 2, 47), DATED)  # noqa: DTZ001 - as above

# name: lines; readings that are left; last second; gaps; oddities as kind, line and sentence.
ODD = {
    "six rows are missing": (
        PLAIN[:70] + PLAIN[76:], 114, 1190, [(680, 750)], ["gap 71: no reading for 70 s before this row"],
    ),
    "one row is missing": (PLAIN[:70] + PLAIN[71:], 119, 1190, [], []),
    "a row stands there twice": (
        PLAIN[:70] + PLAIN[69:], 120, 1190, [], ["double_row 71: the row above again; it is left out"],
    ),
    "a time stands there twice": (
        [*PLAIN[:70], PLAIN[69][:-5] + "130.0", *PLAIN[70:]], 120, 1190, [],
        ["double_row 71: the time of the row above with another temperature; the first counts; it is left out"],
    ),
    "a block is sent again": (
        PLAIN[:60] + PLAIN[58:], 120, 1190, [],
        ["double_row 61: the same time and temperature stood there before; it is left out",
         "double_row 62: the same time and temperature stood there before; it is left out"],
    ),
    "the clock is set back": (
        PLAIN[:70] + EARLIER[70:], 120, 1190, [(680, 690)],
        [f"clock_step 71: the clock is set back by 60.0 min {SUMMER}; the readings from here on {FOLLOW}"],
    ),
    "the clock is set ahead while it heats": (
        PLAIN[:40] + LATER[40:], 120, 1190, [(380, 390)],
        [f"clock_step 41: the clock is set ahead by 60.0 min {SUMMER} while the readings go on; they {FOLLOW}"],
    ),
    "six minutes without readings while it heats, and then as before": (
        PLAIN[:40] + log(EIGHT + timedelta(minutes=6))[40:], 120, 1550, [(380, 750)],
        ["gap 41: no reading for 370 s before this row"],
    ),
    "a day that is none": (
        [*DATED_LOG[:60], "2026-02-30" + DATED_LOG[60][10:], *DATED_LOG[61:]], 119, 1190, [],
        ["unreadable_row 61: time '2026-02-30 08:09:50' is no time; the row is left out"],
    ),
    "an hour without readings on the plateau": (
        PLAIN[:75] + LATER[75:], 120, 4790, [(730, 4340)], ["gap 76: no reading for 3610 s before this row"],
    ),
    "summer time begins on the plateau": (
        BEFORE_SUMMER[:79] + IN_SUMMER[79:], 120, 1190, [(770, 780)],
        [f"clock_step 80: the clock is set ahead by 60.0 min {SUMMER} while the readings go on; they {FOLLOW}"],
    ),
    "a spike": (
        [*PLAIN[:75], "08:12:20,60.0", *PLAIN[76:]], 119, 1190, [],
        [f"spike 76: temperature of 60.0 degrees C between {NEAR}: no chamber can follow that; the row is left out"],
    ),
    "a dip that a chamber can follow": ([*PLAIN[:75], "08:12:20,120.0", *PLAIN[76:]], 120, 1190, [], []),
    "a dip of two readings": ([*PLAIN[:75], "08:12:20,60.0", "08:12:30,60.0", *PLAIN[77:]], 120, 1190, [], []),
    "a broken probe": (
        [*PLAIN[:75], "08:12:20,850.0", *PLAIN[76:]], 119, 1190, [],
        ["unreadable_row 76: temperature '850.0' is none that a steriliser can show; the row is left out"],
    ),
    "words for values": (
        [*PLAIN[:75], "08:12:20,---", "08:12:30,OL", "08:12:40,", "Err", "noon,134.4", *PLAIN[80:]],
        115, 1190, [(730, 790)],
        ["unreadable_row 76: temperature '---' is no number; the row is left out",
         "unreadable_row 77: temperature 'OL' is no number; the row is left out",
         "unreadable_row 78: no temperature in '08:12:40,'; the row is left out",
         "unreadable_row 79: no reading in 'Err'; the row is left out",
         "unreadable_row 80: time 'noon' is no time; the row is left out",
         "gap 81: no reading for 60 s before this row"],
    ),
    "the header again": (
        [*PLAIN[:75], "", PLAIN[0], *PLAIN[75:]], 120, 1190, [], ["unreadable_row 77: the names of the columns again"],
    ),
    "two rows changed places": (
        [*PLAIN[:50], PLAIN[51], PLAIN[50], *PLAIN[52:]], 120, 1190, [],
        ["clock_step 52: its time is before that of the row above; it is put in its place"],
    ),
    "one row's clock is wrong": (
        [*PLAIN[:50], "23:59:59" + PLAIN[50][8:], *PLAIN[51:]], 119, 1190, [],
        ["clock_step 51: the clock is 57119 s ahead for this row only; it is left out"],
    ),
    "the last number is torn": (
        [*PLAIN[:120], "08:19:50,9"], 119, 1180, [],
        ["unreadable_row 121: temperature '9' may have lost digits, since the file ends there; the row is left out"],
    ),
    "an hour without readings, between heating and cooling": (
        [*PLAIN[:41], *(f"{line[:9]}{95 - place}.0" for place, line in enumerate(LATER[41:61]))], 60, 4190,
        [(390, 4000)], ["gap 42: no reading for 3610 s before this row"],
    ),
    "newest first, and two rows changed places": (
        [PLAIN[0], *PLAIN[:60:-1], PLAIN[59], PLAIN[60], *PLAIN[58:0:-1]], 120, 1190, [],
        ["clock_step 62: its time is before that of the row above; it is put in its place"],
    ),
    "midnight": (log(datetime(2026, 3, 14, 23, 55)), 120, 1190, [], []),  # noqa: DTZ001 - as above
    "a clock of twelve hours": (log(datetime(2026, 3, 14, 12, 50), "%I:%M:%S"), 120, 1190, [], []),  # noqa: DTZ001
    "a clock that writes minutes": (log(clock="%H:%M"), 120, 1190, [], []),
    "a clock that writes minutes, begun and ended within one": (
        log(EIGHT + timedelta(seconds=30), "%H:%M"), 120, 1190, [], [],
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", ODD)
def test_what_is_odd_is_told_with_its_line(name):
    lines, left, last, gaps, sentences = ODD[name]
    whole = "\n".join(lines) + ("" if "torn" in name else "\n")
    read = read_log(whole.encode(), LogOptions(), name="odd.csv")
    told = [f"{one.kind.value} {one.line}: {one.sentence.removeprefix(f'line {one.line}: ')}" for one in read.oddities]
    assert told == sentences
    assert (len(read.readings.seconds), read.readings.seconds[-1]) == (left, last)
    assert read.readings.gaps == tuple(Span(start_s=start, end_s=end) for start, end in gaps)
    assert read.readings.celsius.max() == (95.0 if "cooling" in name else 134.4)


def test_a_dip_that_the_pressure_shows_too_is_no_spike():
    def lines(pressure: float) -> bytes:
        rows = [f"{10 * at},{134.4},{305.0}" for at in range(30)]
        rows[15] = f"150,60.0,{pressure}"
        return "\n".join(["Time [s],T [°C],P [kPa abs]", *rows, ""]).encode()

    alone, together = (read_log(lines(kpa), LogOptions(), name="dip.csv") for kpa in (305.0, 20.0))
    assert [one.kind.value for one in alone.oddities] == ["spike"]
    assert (together.oddities, together.readings.celsius.min(), together.readings.kpa.min()) == ((), 60.0, 20.0)


def test_pulses_of_vacuum_are_no_spikes():
    pulses = [f"{10 * at},{(100.0, 62.0)[at % 2] if at < 40 else degrees(10 * at)}" for at in range(110)]
    read = read_log("\n".join(["Time [s],T [°C]", *pulses, ""]).encode(), LogOptions(), name="pulses.csv")
    assert (read.oddities, len(read.readings.seconds)) == ((), 110)


def test_beyond_a_hundred_of_a_kind_only_their_number_is_told():
    lines = [line for row in PLAIN[1:] for line in (row, "door,open", "door,shut")]
    read = read_log("\n".join([PLAIN[0], *lines, ""]).encode(), LogOptions(), name="doors.csv")
    assert (len(read.oddities), read.rows) == (101, 120)
    assert (read.oddities[-1].line, read.oddities[-1].sentence) == (151, "140 more of the kind unreadable row")


def test_a_rate_that_changes_is_no_gap():
    at = [*range(0, 600, 60), *range(600, 720), *range(720, 1320, 60)]
    rows = [f"{second},{degrees(second)}" for second in at]
    read = read_log("\n".join(["Time [s],T [°C]", *rows, ""]).encode(), LogOptions(), name="rates.csv")
    assert (read.readings.gaps, len(read.readings.seconds)) == ((), 140)


def test_a_row_that_ends_within_the_temperature_may_have_lost_digits():
    rows = [f"{10 * at},{degrees(10 * at)}" + (",101.3" if at != 50 else "") for at in range(100)]
    read = read_log("\n".join(["Time [s],T [°C],P [kPa abs]", *rows, ""]).encode(), LogOptions(), name="cut.csv")
    assert [one.sentence for one in read.oddities] == [
        f"line 52: temperature '{degrees(500)}' may have lost digits, since the row ends there; the row is left out"
    ]


def test_a_pressure_that_is_no_number_leaves_its_row():
    rows = [f"{10 * at},{degrees(10 * at)},{'OL' if at == 50 else 101.3}" for at in range(100)]
    read = read_log("\n".join(["Time [s],T [°C],P [kPa abs]", *rows, ""]).encode(), LogOptions(), name="ol.csv")
    assert [one.sentence for one in read.oddities] == [
        "line 52: pressure 'OL' is no number; the row counts without its pressure"
    ]
    assert np.flatnonzero(np.isnan(read.readings.kpa)).tolist() == [50]
    assert len(read.readings.seconds) == 100
