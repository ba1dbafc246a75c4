"""Readings typed from a gauge, as the computing takes them."""

from decimal import Decimal

import numpy as np
import pytest

from tracelabels.custody import GaugeReading
from tracelabels.cycles.gauge import readings_from_gauge
from tracelabels.cycles.readings import Span
from tracelabels.errors import LogError


def typed(*rows: str) -> list[GaugeReading]:
    """Write a reading as minute, degrees and, if it was read, pressure."""
    cells = [[Decimal(cell) for cell in row.split()] for row in rows]
    return [GaugeReading(minute=row[0], temperature_c=row[1], pressure_kpa=(*row, None)[2]) for row in cells]


def test_typed_readings_are_ordered_and_counted_from_the_first():
    cycle = readings_from_gauge(typed("3 134.5 307.8", "1 121.0", "2.5 134.2 305"))
    assert cycle.readings.seconds.tolist() == [0.0, 90.0, 120.0]
    assert cycle.readings.celsius.tolist() == [121.0, 134.2, 134.5]
    assert np.array_equal(cycle.readings.kpa, [np.nan, 305.0, 307.8], equal_nan=True)
    assert (cycle.readings.step_k, cycle.readings.gaps) == (0.1, ())
    (note,) = cycle.notes
    assert note == (
        "3 typed readings, up to 1.5 minutes apart: between them straight lines are assumed, and what the temperature "
        "did there nobody saw"
    )


def test_more_than_two_minutes_without_a_reading_are_a_gap():
    cycle = readings_from_gauge(typed("0 134", "2 135", "5 134"))
    assert (cycle.readings.gaps, cycle.readings.kpa, cycle.readings.step_k) == (
        (Span(start_s=120, end_s=300),),
        None,
        1.0,
    )
    assert cycle.notes[1] == "nothing was read for more than 2 minutes: minute 2 to 5 (from the first reading)"


AS_SHOWN = "type it as the gauge showed it, in degrees Celsius and kilopascal"
REFUSED = {
    "0 134": (
        "1 typed readings",
        "at least two, with the minute and the temperature of each",
        "type what the gauge showed every minute from the start to the end",
    ),
    "0 134, 1 134, 1.0 135": (
        "two readings for minute 1: 134 and 135",
        "one reading for a minute",
        "leave out the wrong one, or write the second as a part of a minute",
    ),
    "0 134, 1 273": ("273 at minute 1", "degrees Celsius from -20 to 200", AS_SHOWN),
    "0 134, 1 NaN": ("NaN at minute 1", "degrees Celsius from -20 to 200", AS_SHOWN),
    "0 134, NaN 134": ("NaN at minute NaN", "a minute from 0 to 1440", AS_SHOWN),
    "-1 134, 1 134": ("-1 at minute -1", "a minute from 0 to 1440", AS_SHOWN),
    "0 134 30600, 1 134": ("30600 at minute 0", "an absolute pressure from 0 to 1000 kPa", AS_SHOWN),
}


@pytest.mark.parametrize("rows", REFUSED)
def test_typed_readings_that_cannot_be_are_refused(rows):
    with pytest.raises(LogError) as caught:
        readings_from_gauge(typed(*rows.split(", ")))
    assert str(caught.value) == "; ".join((REFUSED[rows][0], f"expected {REFUSED[rows][1]}", REFUSED[rows][2]))
