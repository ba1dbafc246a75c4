"""Columns of times as they are written: clocks, dates with clocks, numbers, spreadsheet serials, epochs."""

import re
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tracelabels.cycles.log.alike import Alike, alike
from tracelabels.cycles.log.dates import DateParts, days_of, empty_parts, keep_date, read_dates
from tracelabels.cycles.log.logged import Guess
from tracelabels.cycles.log.numbers import Numbers
from tracelabels.cycles.log.shapes import CLOCK_PATTERN, DATE_PATTERN, MOMENT_PATTERN
from tracelabels.cycles.log.table import Column

DAY_S: Final = 86400.0
SERIAL_DAYS: Final = (20000.0, 80000.0)
"""Spreadsheet serials of the years 1954 to 2119."""
SERIAL_ZERO: Final = 25569
"""Serial of 1970-01-01 where 1900-01-01 is day 1 and 1900 is taken for a leap year (ISO/IEC 29500-1, 18.17.4.1)."""
EPOCH_S: Final = (5e8, 5e9)
"""Seconds since 1970 of the years 1985 to 2128."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Times:
    """A column of times."""

    seconds: NDArray[np.float64]
    """Since 1970 if ``has_date``, else since any zero, shape (rows,); NaN where there is none. Whether they are seconds
    says ``unit``."""
    has_date: bool
    """Whether it names days."""
    is_clock: bool
    """Whether it is a clock, which starts anew after its last hour."""
    has_zone: bool
    """Whether every time names its offset from UTC; seconds are then UTC."""
    is_twelve: bool
    """Whether it may be a clock of twelve hours that does not say which half of the day it is."""
    unit: str
    """``s``; or ``open``, if it may be another: a plain number, or a clock of two parts."""
    offset_s: float
    """Offset of the first row's zone in seconds."""
    form: str
    """What it is, in words."""
    guesses: tuple[Guess, ...]
    """What had to be assumed."""


@dataclass(slots=True, kw_only=True, eq=False)
class _Clocks:
    """What is collected pattern by pattern; all arrays have shape (rows,)."""

    value: NDArray[np.float64]
    """Seconds; of a clock of two parts, the smaller of the two is one."""
    two: NDArray[np.bool_]
    """Which have two parts: hours and minutes, or minutes and seconds."""
    zone: NDArray[np.float64]
    """Offset from UTC in seconds; NaN where none is named."""
    has_half: bool = False
    """Whether AM or PM is written."""
    has_fraction_of_two: bool = False
    """Whether a clock of two parts has a fraction: then it is minutes and seconds."""


def read_clocks(column: Column, date: Column | None, given: str | None, stated: str | None) -> Times:
    """Read a column of clocks, or of dates with clocks, with or without a column of dates beside it.

    Args:
        column: clocks or moments.
        date: dates of the same rows; None without.
        given: order of dates by option.
        stated: order of dates that the header names.
    """
    rows = len(column.starts)
    clocks = _Clocks(value=np.full(rows, np.nan), two=np.zeros(rows, dtype=np.bool_), zone=np.full(rows, np.nan))
    parts, orders = empty_parts(rows)
    marks: set[str] = set()
    for group in alike(column):
        found = CLOCK_PATTERN.fullmatch(group.example)
        if found is None:
            found = MOMENT_PATTERN.fullmatch(group.example)
            if found is None:
                continue
            keep_date(group, found, column, parts, orders, marks)
        is_tight = found.re is MOMENT_PATTERN and found["tight"]
        group.put(clocks.value, _tight(group, found) if is_tight else _of_day(group, found, clocks))
        if found["zone"]:
            clocks.zone[group.rows] = _zone(group, found)
    if date is not None:
        dates = read_dates(date, DATE_PATTERN, halves=clocks.has_half)
    else:
        dates = DateParts(parts=parts, orders=orders, marks=frozenset(marks), halves=clocks.has_half)
    return _put_together(clocks, dates, given, stated)


def _zone(group: Alike, found: re.Match[str]) -> NDArray[np.float64]:
    if not found["zone_sign"]:
        return np.zeros(len(group.rows))
    minutes = group.number(*found.span("zone_hour")) * 60 + group.number(*found.span("zone_minute"))
    offset = np.multiply(minutes, -60.0 if found["zone_sign"] == "-" else 60.0, dtype=np.float64)
    return np.asarray(offset)


def _tight(group: Alike, found: re.Match[str]) -> NDArray[np.float64]:
    start = found.start("tight")
    hour, minute, second = (group.number(start + at, start + at + 2) for at in (0, 2, 4))
    return _clock(hour, minute, second, most_hours=23)


def _of_day(group: Alike, found: re.Match[str], clocks: _Clocks) -> NDArray[np.float64]:
    hour, minute = group.number(*found.span("hour")), group.number(*found.span("minute"))
    if found["half"]:
        clocks.has_half = True
        hour = np.where((hour >= 1) & (hour <= 12), hour % 12 + (12 if found["half"] in "Pp" else 0), -1)  # noqa: PLR2004
    if found["second"]:
        second = group.number(*found.span("second"))
        return _clock(hour, minute, second, most_hours=999) + _fraction(group, found, "part")
    clocks.two[group.rows] = True
    clocks.has_fraction_of_two |= found["part_of_two"] is not None
    return _clock(hour * 0, hour, minute, most_hours=999, most_minutes=999) + _fraction(group, found, "part_of_two")


def _clock(
    hour: NDArray[np.int64],
    minute: NDArray[np.int64],
    second: NDArray[np.int64],
    *,
    most_hours: int,
    most_minutes: int = 59,
) -> NDArray[np.float64]:
    """Put a clock's parts together; NaN where one is none. A minute may have a leap second."""
    is_good = (hour >= 0) & (hour <= most_hours) & (minute >= 0) & (minute <= most_minutes) & (second <= 60)  # noqa: PLR2004
    return np.where(is_good, hour * 3600.0 + minute * 60 + second, np.nan)


def _fraction(group: Alike, found: re.Match[str], part: str) -> NDArray[np.float64] | float:
    if not found[part]:
        return 0.0
    return group.number(*found.span(part)) / 10.0 ** len(found[part])


def _put_together(clocks: _Clocks, dates: DateParts, given: str | None, stated: str | None) -> Times:
    has_date = bool(np.any(dates.orders))
    is_open = bool(clocks.two.all()) and not (clocks.has_half or has_date or clocks.has_fraction_of_two)
    seconds = clocks.value
    if clocks.has_half or has_date:
        seconds = np.where(clocks.two, seconds * 60, seconds)
    is_twelve = not clocks.has_half and _is_twelve(seconds)
    guesses: tuple[Guess, ...] = ()
    if has_date:
        days, guess = days_of(dates, given, stated)
        seconds, guesses = seconds + days * DAY_S, (guess,)
    zoned = np.isfinite(clocks.zone)
    known = np.flatnonzero(np.isfinite(seconds))
    has_zone = has_date and bool(known.size) and bool(zoned[known].all())
    first = float(clocks.zone[known[0]]) if has_zone else 0.0
    return Times(
        seconds=seconds - clocks.zone if has_zone else seconds,
        has_date=has_date,
        is_clock=True,
        has_zone=has_zone,
        is_twelve=is_twelve and not has_zone,
        unit="open" if is_open else "s",
        offset_s=first,
        form=_form(clocks, has_date=has_date, has_zone=has_zone),
        guesses=guesses,
    )


def _is_twelve(seconds: NDArray[np.float64]) -> bool:
    """Whether no hour is below 1 or above 12; a log within a morning looks so too, and then it does not matter."""
    return bool(np.nanmin(seconds, initial=np.inf) >= 3600 and np.nanmax(seconds, initial=0.0) < 13 * 3600)  # noqa: PLR2004


def _form(clocks: _Clocks, *, has_date: bool, has_zone: bool) -> str:
    words = "date and clock" if has_date else "clock"
    if clocks.has_half:
        words += " with AM and PM"
    return f"{words} with zone" if has_zone else words


def read_plain(numbers: Numbers, stated_unit: str) -> Times:
    """Take plain numbers as times: spreadsheet serials, seconds or milliseconds since 1970, or time since any zero.

    Args:
        numbers: as written.
        stated_unit: the unit that the header names; empty if it names none.
    """
    values = numbers.values
    good = values[np.isfinite(values)]
    low, high = (float(good.min()), float(good.max())) if good.size else (0.0, 0.0)
    if stated_unit in {"", "d"} and SERIAL_DAYS[0] <= low and high <= SERIAL_DAYS[1] and numbers.decimals > 2:  # noqa: PLR2004
        return _plain(
            _from_serials(values, numbers.decimals), unit="s", has_date=True, form="spreadsheet's days since 1900"
        )
    for unit, scale in (("seconds", 1.0), ("milliseconds", 1e3), ("microseconds", 1e6)):
        if EPOCH_S[0] * scale <= low and high <= EPOCH_S[1] * scale:
            form = f"{unit} since 1970, UTC"
            return _plain(values / scale, unit="s", has_date=True, form=form, has_zone=True)
    return _plain(values, unit="open", form="number")


def _from_serials(days: NDArray[np.float64], decimals: int) -> NDArray[np.float64]:
    """Turn days into seconds; into whole ones where the days are written just so finely that all may be whole."""
    seconds = (days - SERIAL_ZERO) * DAY_S
    whole = np.round(seconds)
    written = DAY_S * 10.0**-decimals
    if written < 1 and float(np.nanmax(np.abs(seconds - whole), initial=0.0)) <= max(written, 1e-4):
        return whole
    return np.round(seconds, 3)


def _plain(
    seconds: NDArray[np.float64], *, unit: str, form: str, has_date: bool = False, has_zone: bool = False
) -> Times:
    return Times(
        seconds=seconds,
        has_date=has_date,
        is_clock=False,
        has_zone=has_zone,
        is_twelve=False,
        unit=unit,
        offset_s=0.0,
        form=form,
        guesses=(),
    )
