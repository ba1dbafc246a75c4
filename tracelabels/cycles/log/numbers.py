"""A column of numbers as they are written: decimal point or comma, thousands, exponents, units behind the number."""

import re
from collections import Counter
from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tracelabels.cycles.log.alike import Alike, alike
from tracelabels.cycles.log.table import Column

EXACT_DIGITS: Final = 15
"""So many digits are exact in double precision, and so is ten to their number: their quotient is right."""
FEW_VALUES: Final = 20
"""From fewer different values a coarser step than the last digit is not concluded."""
GREATEST: Final = 1e17
"""Nothing is larger that a logger measures; microseconds since 1970 are smaller still."""
FINEST: Final = 9
"""Decimals beyond these are those of a binary number written out; no step is looked for in them."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Numbers:
    """A column of numbers; all arrays have shape (rows,)."""

    values: NDArray[np.float64]
    """The numbers; NaN where there is none."""
    decimals: int
    """Most digits after the decimal mark."""
    suffix: str
    """What stands behind most numbers, such as a unit; empty if nothing does."""

    @property
    def step(self) -> float:
        """The smallest step that the numbers are written in."""
        finest = 10.0**-self.decimals
        if self.decimals > FINEST:
            return finest
        whole = np.round(self.values[np.isfinite(self.values)] * 10**self.decimals)
        steps = np.diff(whole)
        steps = np.abs(steps[(steps != 0) & (np.abs(steps) < 10**EXACT_DIGITS)]).astype(np.int64)
        if not steps.size or len(set(whole[:: max(1, len(whole) // 1000)].tolist())) < FEW_VALUES:
            return finest
        return int(np.gcd.reduce(steps)) * finest


@cache
def number_pattern(decimal_mark: str) -> re.Pattern[str]:
    """Return how a number is written with a decimal mark; the other mark, apostrophes or blanks may group thousands.

    It is for text with one character for each byte, too: narrow blanks and the true minus sign of UTF-8 are spelt out.
    """
    mark = re.escape(decimal_mark)
    other = "." if decimal_mark == "," else ","
    group = rf"(?:[{other}' \u2009\u202f\u2019]|\u00c2?\u00a0|\u00e2\u0080[\u0089\u00af\u0099])"
    return re.compile(
        rf"(?P<sign>[+-]|\u00e2\u0088\u0092|)(?:(?P<grouped>[1-9]\d{{0,2}}(?:{group}\d{{3}})+)|(?P<whole>\d*))"
        rf"(?:{mark}(?P<part>\d+))?(?P<exponent>[eE][+-]?\d+)?(?P<suffix>\s?[^\s\d,.;:/-][^\d,.;:]{{0,9}})?"
    )


def parse_numbers(column: Column, decimal_mark: str, suffixes: frozenset[str]) -> Numbers:
    """Read a column of numbers.

    Args:
        column: the fields.
        decimal_mark: ``.`` or ``,``.
        suffixes: what may stand behind a number, as ``bare_suffix`` writes it.
    """
    values = np.full(len(column.starts), np.nan)
    pattern = number_pattern(decimal_mark)
    decimals, seen = 0, Counter[str]()
    for group in alike(column):
        found = pattern.fullmatch(group.example)
        if found is None or not (found["grouped"] or found["whole"] or found["part"]):
            continue
        suffix = bare_suffix(column.text.as_text((found["suffix"] or "").encode("latin-1")))
        if suffix and suffix not in suffixes:
            continue
        group.put(values, _values(group, found, decimal_mark))
        decimals = max(decimals, _decimals(found))
        seen[suffix] += len(group.rows)
    values[~(np.abs(values) <= GREATEST)] = np.nan
    return Numbers(values=values, decimals=decimals, suffix=seen.most_common(1)[0][0] if seen else "")


def bare_suffix(text: str) -> str:
    """Return what stands behind a number in lower case, without blanks and brackets.

    >>> bare_suffix(" bar (a)")
    'bara'
    """
    return re.sub(r"[\s()\[\]]", "", text).lower()


def _decimals(found: re.Match[str]) -> int:
    power = int(found["exponent"][1:]) if found["exponent"] else 0
    return min(max(len(found["part"] or "") - power, 0), 300)


def _values(group: Alike, found: re.Match[str], decimal_mark: str) -> NDArray[np.float64]:
    places = [place for place in range(len(group.example)) if group.example[place].isdecimal()]
    if found["exponent"] or len(places) > EXACT_DIGITS:
        return _one_by_one(group, found, decimal_mark)
    total = np.zeros(len(group.rows), dtype=np.int64)
    for place in places:
        total *= 10
        total += group.digits[place]
    value = total / 10.0 ** len(found["part"] or "")
    return value if found["sign"] in {"", "+"} else -value


def _one_by_one(group: Alike, found: re.Match[str], decimal_mark: str) -> NDArray[np.float64]:
    """Numbers with an exponent or more digits than arithmetic keeps are left to the language's own reading."""
    end = found.start("suffix") if found["suffix"] else len(group.example)
    kept = [
        place
        for place in range(end)
        if group.example[place].isdecimal() or group.example[place] in f"{decimal_mark}+-eE"
    ]
    is_digit = [group.example[place].isdecimal() for place in kept]
    rows = np.stack(
        [
            group.digits[place] + np.uint8(48)
            if digit
            else np.full(len(group.rows), ord(group.example[place]), np.uint8)
            for place, digit in zip(kept, is_digit, strict=True)
        ],
        axis=1,
    )
    texts = rows.tobytes().decode("ascii").replace(",", ".")
    width = len(kept)
    return np.array([float(texts[at : at + width]) for at in range(0, len(texts), width)])
