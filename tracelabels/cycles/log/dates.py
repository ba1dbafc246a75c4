"""Dates as they are written to days since 1970: the order of day, month and year, two-digit years, names of months."""

import re
import unicodedata
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tracelabels.cycles.log.alike import Alike, alike
from tracelabels.cycles.log.logged import Basis, Guess
from tracelabels.cycles.log.table import Column

ORDERS: Final = ("dmy", "mdy", "ymd")
MONTHS: Final[dict[str, int]] = {
    name: month
    for month, names in enumerate(
        (
            "jan ene gen", "feb fev", "mar mrz maa", "apr abr avr", "may mai mag mei maj", "jun juin giu",
            "jul juil lug", "aug ago aou", "sep set", "oct okt ott out", "nov", "dec dez des dic",
        ),
        start=1,
    )
    for name in names.split()
}  # fmt: skip
"""Beginnings of the names of months in the languages of ``vocabulary``, without accents."""
TWO_DIGITS_TURN: Final = 70
"""Two-digit years from here on are of the last century."""
EARLIEST, LATEST = 1970, 2200


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DateParts:
    """The three numbers of each date as they are written; all arrays have shape (rows,)."""

    parts: NDArray[np.int64]
    """First, second and third number, shape (3, rows)."""
    orders: NDArray[np.int64]
    """For each row which orders its own writing leaves open, a bit for each of ``ORDERS``; 0 where there is no date."""
    marks: frozenset[str]
    """What stands between the numbers."""
    halves: bool
    """Whether the clock beside it writes AM and PM."""


def date_parts_of(group: Alike, found: re.Match[str], column: Column) -> tuple[list[NDArray[np.int64]], int]:
    """Return the three numbers of the dates of one pattern, and which orders the pattern leaves open."""
    if found["compact"]:
        start = found.start("compact")
        return [
            group.number(start, start + 4),
            group.number(start + 4, start + 6),
            group.number(start + 6, start + 8),
        ], 4
    if found["cut"]:
        numbers = [group.number(*found.span(part)) for part in ("a", "b", "c")]
        if len(found["a"]) == 4:  # noqa: PLR2004 - a year in full
            return numbers, 4
        return numbers, 3 if len(found["c"]) == 4 else 7 if len(found["a"]) == 2 else 3  # noqa: PLR2004 - as above
    names = (
        ("named_day", "named_month", "named_year")
        if found["named_month"]
        else ("first_day", "first_month", "first_year")
    )
    month = find_month(column.text.as_text(found[names[1]].encode("latin-1")))
    if month is None:
        return [], 0
    months = np.full(len(group.rows), month, dtype=np.int64)
    return [group.number(*found.span(names[0])), months, group.number(*found.span(names[2]))], 1


def find_month(name: str) -> int | None:
    """Return the month that a name means, in any of the languages; None if it is none."""
    bare = "".join(one for one in unicodedata.normalize("NFD", name.casefold()) if not unicodedata.combining(one))
    return MONTHS.get(bare[:4]) or MONTHS.get(bare[:3])


def days_of(parts: DateParts, given: str | None, stated: str | None) -> tuple[NDArray[np.float64], Guess]:
    """Return days since 1970-01-01, NaN where there is no such day, and the order that was taken.

    Args:
        parts: what was written.
        given: the order by option.
        stated: the order that the header names.
    """
    changes = np.any(np.diff(parts.parts, axis=1) != 0, axis=0) | (np.diff(parts.orders) != 0)
    starts = np.flatnonzero(np.concatenate(([True], changes)))
    lengths = np.diff(np.concatenate((starts, [len(parts.orders)])))
    runs = replace(parts, parts=parts.parts[:, starts], orders=parts.orders[starts])
    days = {order: _days(runs, order) for order in ORDERS}
    order, basis, because = _order(runs, days, given, stated)
    return np.repeat(days[order], lengths), Guess(what="date_order", value=order, basis=basis, because=because)


def _order(
    parts: DateParts, days: dict[str, NDArray[np.float64]], given: str | None, stated: str | None
) -> tuple[str, Basis, str]:
    good = {order: int(np.isfinite(days[order]).sum()) for order in ORDERS}
    most = max(good.values())
    left = [order for order in ORDERS if good[order] == most]
    if not most:
        return given or left[0], Basis.GUESSED, "no text is a date"
    if given:
        return given, Basis.GIVEN, "" if given in left else f"but {most - good[given]} dates are none in that order"
    if stated and stated in left:
        return stated, Basis.STATED, ""
    if len(left) == 1:
        return left[0], Basis.GUESSED, "with no other order all dates are dates"
    spans = {order: float(np.nanmax(days[order]) - np.nanmin(days[order])) for order in left}
    short = [order for order in left if spans[order] == min(spans.values())]
    if len(short) == 1:
        return short[0], Basis.GUESSED, "with any other order the log would last for weeks"
    order = _usual(short, days, parts)
    others = " or ".join(other for other in left if other != order)
    return order, Basis.GUESSED, f"{others} would do as well; what is usual was taken"


def _usual(left: list[str], days: dict[str, NDArray[np.float64]], parts: DateParts) -> str:
    if "ymd" in left and "-" in parts.marks:
        return max(left, key=lambda order: float(np.nanmax(days[order])))
    if "mdy" in left and parts.halves and "/" in parts.marks:
        return "mdy"
    return "dmy" if "dmy" in left else left[0]


def _days(parts: DateParts, order: str) -> NDArray[np.float64]:
    """Days since 1970-01-01 in the Gregorian calendar; NaN where the order is closed or there is no such day."""
    is_open = (parts.orders & (1 << ORDERS.index(order))) > 0
    year, month, day = (np.where(is_open, parts.parts[order.index(one)], 1) for one in "ymd")
    year = np.where(year < 100, year + np.where(year < TWO_DIGITS_TURN, 2000, 1900), year)  # noqa: PLR2004 - two digits
    is_open &= (year >= EARLIEST) & (year <= LATEST) & (month >= 1) & (month <= 12) & (day >= 1) & (day <= 31)  # noqa: PLR2004
    months = (np.where(is_open, year, EARLIEST) - EARLIEST) * 12 + np.where(is_open, month, 1) - 1
    first = months.astype("M8[M]").astype("M8[D]").astype(np.int64)
    length = (months + 1).astype("M8[M]").astype("M8[D]").astype(np.int64) - first
    is_open &= day <= length
    return np.where(is_open, (first + day - 1).astype(np.float64), np.nan)


def empty_parts(rows: int) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return room for the parts and open orders of so many rows."""
    return np.ones((3, rows), dtype=np.int64), np.zeros(rows, dtype=np.int64)


def read_dates(column: Column, pattern: re.Pattern[str], *, halves: bool) -> DateParts:
    """Read a column of dates alone."""
    parts, orders = empty_parts(len(column.starts))
    marks: set[str] = set()
    for group in alike(column):
        found = pattern.fullmatch(group.example)
        if found is not None:
            keep_date(group, found, column, parts, orders, marks)
    return DateParts(parts=parts, orders=orders, marks=frozenset(marks), halves=halves)


def keep_date(
    group: Alike,
    found: re.Match[str],
    column: Column,
    parts: NDArray[np.int64],
    orders: NDArray[np.int64],
    marks: set[str],
) -> None:
    """Write the dates of one pattern into the parts of all rows, in place."""
    numbers, open_orders = date_parts_of(group, found, column)
    if open_orders:
        group.put(parts, np.stack(numbers))
        group.put(orders, np.full(len(group.rows), open_orders))
        marks.add(found["cut"] or " ")
