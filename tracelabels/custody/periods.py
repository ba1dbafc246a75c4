"""Spans of time as a bottle or a practice states them, and the last day they allow."""

import calendar
import re
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from tracelabels.errors import InputError

_PERIOD = re.compile(r"(\d{1,4})\s*(d|days?|m|months?|y|years?)", re.IGNORECASE)
_MONTHS_A_YEAR = 12


class PeriodUnit(StrEnum):
    """What a period counts."""

    DAYS = "days"
    MONTHS = "months"
    SESSION = "session"


@dataclass(frozen=True, slots=True, kw_only=True)
class Period:
    """A span of time: so many days, so many calendar months, or one session (the same day)."""

    count: int
    """How many of the unit; 0 for one session."""
    unit: PeriodUnit
    """What is counted."""

    def __post_init__(self) -> None:
        """Refuse a count that its unit cannot have."""
        if (self.unit is PeriodUnit.SESSION) != (self.count == 0) or self.count < 0:
            raise InputError(
                given=f"a period of {self.count} {self.unit.value}",
                expected="at least one day or month, or one session (count 0)",
                remedy="write it as on the bottle, for example 12 months, 28 days or session",
            )

    def end(self, start: date) -> date:
        """Return the last day that the period allows, counted from ``start``.

        A month ends on the day of the same number, or on the month's last day if it has no such day.

        Raises:
            InputError: the end lies beyond the calendar's year 9999.

        >>> Period(count=6, unit=PeriodUnit.MONTHS).end(date(2027, 8, 31))
        datetime.date(2028, 2, 29)
        """
        try:
            if self.unit is PeriodUnit.MONTHS:
                return add_months(start, self.count)
            return start + timedelta(days=self.count)
        except (OverflowError, ValueError) as error:
            raise InputError(
                given=f"{self} from {start.isoformat()}",
                expected="an end within the calendar (up to the year 9999)",
                remedy="check the date and the period",
            ) from error

    def __str__(self) -> str:
        """Say the period in words."""
        if self.unit is PeriodUnit.SESSION:
            return "one session"
        unit = self.unit.value.removesuffix("s") if self.count == 1 else self.unit.value
        return f"{self.count} {unit}"


ONE_SESSION = Period(count=0, unit=PeriodUnit.SESSION)


def add_months(start: date, months: int) -> date:
    """Return the same day so many months later, clipped to the end of a shorter month.

    Raises:
        ValueError: the year leaves the calendar.

    >>> add_months(date(2027, 1, 31), 1)
    datetime.date(2027, 2, 28)
    """
    years, month = divmod(start.month - 1 + months, _MONTHS_A_YEAR)
    year = start.year + years
    return date(year, month + 1, min(start.day, last_day_of_month(year, month + 1).day))


def last_day_of_month(year: int, month: int) -> date:
    """Return the last day of a month.

    >>> last_day_of_month(2028, 2)
    datetime.date(2028, 2, 29)
    """
    if not date.min.year <= year <= date.max.year:
        message = f"year {year} is out of range"
        raise ValueError(message)
    return date(year, month, calendar.monthrange(year, month)[1])


def parse_period(text: str) -> Period:
    """Read a period as people write it: ``12M``, ``12 months``, ``28 days``, ``1 year``, ``session``.

    Raises:
        InputError: the text is none of these.

    >>> str(parse_period("12M"))
    '12 months'
    """
    cleaned = text.strip()
    if cleaned.lower() in {"session", "one session"}:
        return ONE_SESSION
    match = _PERIOD.fullmatch(cleaned)
    if match is None:
        raise InputError(
            given=f"period {text!r}",
            expected="days, months, years or one session",
            remedy="write it as 28 days, 12 months (or 12M), 1 year or session",
        )
    count, unit = int(match[1]), match[2][0].lower()
    if unit == "d":
        return Period(count=count, unit=PeriodUnit.DAYS)
    return Period(count=count * (_MONTHS_A_YEAR if unit == "y" else 1), unit=PeriodUnit.MONTHS)
