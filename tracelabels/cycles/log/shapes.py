"""What the text of one field looks like: a number, a clock, a date, a moment, or words."""

import re
from enum import StrEnum
from typing import Final

from tracelabels.cycles.log.numbers import bare_suffix, number_pattern

DATE: Final = (
    r"(?:(?P<a>\d{4}|\d{1,2})(?P<cut>[./-])(?P<b>\d{1,2})(?P=cut)(?P<c>\d{4}|\d{1,2})"
    r"|(?P<named_day>\d{1,2})(?:\. ?| |-|/)(?P<named_month>[^\d\s./,:-]{3,12})(?:\.? |\.|-|/)"
    r"(?P<named_year>\d{4}|\d{2})"
    r"|(?P<first_month>[^\d\s./,:-]{3,12})\.? (?P<first_day>\d{1,2}),? (?P<first_year>\d{4})"
    r"|(?P<compact>\d{8}))"
)
CLOCK: Final = (
    r"(?P<hour>\d{1,3})[:h](?P<minute>\d{2})(?:[:m](?P<second>\d{2})s?(?:[.,:](?P<part>\d{1,9}))?|[.,](?P<part_of_two>\d{1,9}))?"
    r"(?: ?(?P<half>[AaPp])\.? ?[Mm]\.?)?"
)
ZONE: Final = r"(?: ?(?P<zone>Z|UTC|GMT|(?P<zone_sign>[+-])(?P<zone_hour>\d{2}):?(?P<zone_minute>\d{2})))?"
MOMENT_PATTERN: Final = re.compile(rf"{DATE}(?:[T_-]|,? {{1,3}}| - )(?:{CLOCK}|(?P<tight>\d{{6}})){ZONE}")
DATE_PATTERN: Final = re.compile(DATE)
CLOCK_PATTERN: Final = re.compile(rf"{CLOCK}{ZONE}")
HALF_PATTERN: Final = re.compile(r"[AaPp]\.?[Mm]\.?")

SUFFIXES: Final = frozenset(
    ("c", "°c", "ºc", "℃", "degc", "f", "°f", "ºf", "℉", "degf", "k", "pa", "kpa", "hpa", "mpa", "mbar", "bar", "bara",
     "barg", "psi", "psia", "psig", "kpaa", "kpag", "atm", "s", "sec", "min", "h", "%", "%rh")
)  # fmt: skip
"""What may stand behind a number, as ``bare_suffix`` writes it."""


class Shape(StrEnum):
    """What a field looks like."""

    EMPTY = "empty"
    NUMBER = "number"
    CLOCK = "clock"
    DATE = "date"
    MOMENT = "moment"
    """Date and clock."""
    WORDS = "words"


VALUES: Final = frozenset({Shape.NUMBER, Shape.CLOCK, Shape.DATE, Shape.MOMENT})


def shape_of(text: str, decimal_mark: str) -> Shape:
    """Say what a field looks like.

    >>> [shape_of(text, ",").value for text in ("25,3", "25.3", "08:00:00", "14.03.2026 08:00", "OL")]
    ['number', 'words', 'clock', 'moment', 'words']
    """
    if not text:
        return Shape.EMPTY
    found = number_pattern(decimal_mark).fullmatch(text)
    if found and (found["grouped"] or found["whole"] or found["part"]):
        suffix = bare_suffix(found["suffix"] or "")
        return Shape.NUMBER if not suffix or suffix in SUFFIXES else Shape.WORDS
    patterns = ((CLOCK_PATTERN, Shape.CLOCK), (DATE_PATTERN, Shape.DATE), (MOMENT_PATTERN, Shape.MOMENT))
    return next((shape for pattern, shape in patterns if pattern.fullmatch(text)), Shape.WORDS)
