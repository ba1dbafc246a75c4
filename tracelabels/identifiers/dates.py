"""Dates of six and eight digits: what is legal, which century is meant, and what day 00 stands for.

Source: GS1 General Specifications, 3.4 (dates, day 00) and 7.12 (the century of a two-digit year).
"""

import calendar
import re
from datetime import date
from functools import lru_cache
from typing import Final

from tracelabels.errors import IdentifierError
from tracelabels.identifiers.faults import Fault

_ISO_DAY: Final = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
YEARS_PER_CENTURY: Final = 100
_FURTHEST_AHEAD: Final = 50
_MONTHS: Final = 12
_THIS_CENTURY: Final = 20
_LAST_YEAR: Final = date.max.year
_FIRST_YEAR: Final = date.min.year


def resolve_year(two_digits: int, today: date) -> int:
    """Return the year that a two-digit year means: from 49 years ago to 50 years ahead of today.

    Args:
        two_digits: 0 to 99.
        today: The day of reading.

    >>> resolve_year(76, date(2026, 11, 25)), resolve_year(77, date(2026, 11, 25))
    (2076, 1977)
    """
    century, current = divmod(today.year, YEARS_PER_CENTURY)
    distance = two_digits - current
    if distance > _FURTHEST_AHEAD:
        century -= 1
    elif distance <= -_FURTHEST_AHEAD:
        century += 1
    return century * YEARS_PER_CENTURY + two_digits


def days_in_month(year: int, month: int) -> int:
    """Return how many days a month has (29 in February of a leap year)."""
    return calendar.monthrange(year, month)[1]


def resolve_date(yymmdd: str, today: date) -> date | None:
    """Return the date that six digits mean, day 00 as the last day of the month; None if there is no such day.

    Args:
        yymmdd: Six ASCII digits.
        today: The day of reading, which decides the century.

    >>> resolve_date("271100", date(2026, 11, 25))
    datetime.date(2027, 11, 30)
    """
    month, day = int(yymmdd[2:4]), int(yymmdd[4:])
    year = resolve_year(int(yymmdd[:2]), today)
    if not (1 <= month <= _MONTHS and _FIRST_YEAR <= year <= _LAST_YEAR):
        return None
    last = days_in_month(year, month)
    return date(year, month, day or last) if day <= last else None


@lru_cache(maxsize=1024)
def find_iso_day(text: str) -> date | None:
    """Return the day that is written as 2027-11-30 (ISO 8601, extended, nothing else), or None.

    >>> find_iso_day("2027-11-30"), find_iso_day("2027-W48")
    (datetime.date(2027, 11, 30), None)
    """
    if not _ISO_DAY.fullmatch(text):
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None


def as_yymmdd(day: date) -> str:
    """Write a date of this century as six digits.

    The reader finds the century again within 49 years back and 50 years ahead; a mistyped one is refused here.

    Raises:
        IdentifierError: If the year is not one of 2000 to 2099.

    >>> as_yymmdd(date(2027, 11, 30))
    '271130'
    """
    if day.year // YEARS_PER_CENTURY != _THIS_CENTURY:
        raise IdentifierError(
            given=f"the date {day.isoformat()}",
            expected="a year from 2000 to 2099, since a code keeps two digits of it",
            remedy="correct the year",
        )
    return f"{day.year % YEARS_PER_CENTURY:02d}{day.month:02d}{day.day:02d}"


def find_date_fault(yymmdd: str) -> Fault | None:
    """Check six digits where day 00 is legal (the dictionary's check ``yymmd0``), without a day of reading.

    The year counts as a leap year when it is divisible by four: true of every year that the sliding century reaches
    until 2050.

    >>> find_date_fault("200600")
    >>> find_date_fault("210229").given
    'day 29 of month 02'
    """
    return _find_fault(int(yymmdd[:2]) + 4 * YEARS_PER_CENTURY, yymmdd[2:4], yymmdd[4:6], earliest=0)


def find_day_fault(yymmdd: str) -> Fault | None:
    """Check six digits where the day must be known (the dictionary's check ``yymmdd``), without a day of reading.

    >>> find_day_fault("200600").expected
    'a day from 01 to 30'
    """
    return _find_fault(int(yymmdd[:2]) + 4 * YEARS_PER_CENTURY, yymmdd[2:4], yymmdd[4:6], earliest=1)


def find_full_date_fault(yyyymmdd: str) -> Fault | None:
    """Check eight digits (the dictionary's check ``yyyymmdd``).

    >>> find_full_date_fault("20210229").expected
    'a day from 01 to 28'
    """
    return _find_fault(int(yyyymmdd[:4]), yyyymmdd[4:6], yyyymmdd[6:8], earliest=1)


def _find_fault(year: int, month: str, day: str, *, earliest: int) -> Fault | None:
    if not 1 <= int(month) <= _MONTHS:
        return Fault(given=f"month {month}", expected="a month from 01 to 12")
    # The calendar module knows no year 0, which is a leap year as 400 is.
    last = days_in_month(year or 4 * YEARS_PER_CENTURY, int(month))
    if not earliest <= int(day) <= last:
        also = ", or 00 for the last day of the month" if earliest == 0 else ""
        return Fault(given=f"day {day} of month {month}", expected=f"a day from 01 to {last}{also}")
    return None
