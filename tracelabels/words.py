"""Codes, lists and moments in words, for people."""

from collections.abc import Iterable
from datetime import datetime, tzinfo
from itertools import islice
from typing import Final

MOST_NAMED: Final = 12
"""So many of a list are named; of the rest it is said how many there are."""

_FORMULA: Final = ("=", "+", "-", "@", "\t", "\r")
"""What a spreadsheet would take for a formula at the beginning of a cell."""


def as_cell(text: str) -> str:
    """Return a text for a cell of a table, so that no spreadsheet takes it for a formula.

    >>> as_cell("=1+1"), as_cell("Rosehip")
    ("'=1+1", 'Rosehip')
    """
    return f"'{text}" if text.startswith(_FORMULA) else text


def in_words(code: str) -> str:
    """Write a code as words: a value of a closed choice, or the name of a field or a rule.

    >>> in_words("not_turned")
    'not turned'
    """
    return code.replace("_", " ")


def local_minute(moment: datetime, zone: tzinfo) -> str:
    """Write a moment to the minute, in a practice's time zone.

    >>> from datetime import UTC
    >>> local_minute(datetime(2027, 1, 4, 8, 5, 59, tzinfo=UTC), UTC)
    '2027-01-04 08:05'
    """
    return f"{moment.astimezone(zone):%Y-%m-%d %H:%M}"


def some(names: Iterable[str]) -> str:
    """Name a dozen, and say how many more there are.

    >>> some(str(one) for one in range(14))
    '0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11 and 2 more'
    """
    source = iter(names)
    first = list(islice(source, MOST_NAMED))
    more = sum(1 for _ in source)
    return ", ".join(first) + (f" and {more} more" if more else "")
