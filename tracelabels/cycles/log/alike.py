"""Fields that are written alike are read alike: one is understood, the others of its pattern follow digit by digit.

A pattern is a field's text with its digits taken out: ``2026-03-14 08:00:00`` and ``2025-12-01 23:59:59`` share theirs,
``8:00 AM`` and ``8:00 PM`` do not. A log of a million rows has a handful of patterns.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tracelabels.cycles.log.table import Column

MOST_PATTERNS: Final = 300
"""Twelve months by name, before and after noon, with one and two digits each, take under 200."""
WIDEST: Final = 48
"""A time with date, fraction and zone takes under 40 characters."""
ZERO: Final = 48


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Alike:
    """Fields of one pattern."""

    rows: NDArray[np.int64]
    """Which rows of the column they are, shape (fields,)."""
    example: str
    """Text of one of them, a character for each byte: what lies beyond ASCII is not decoded."""
    digits: NDArray[np.uint8]
    """Their digits, shape (characters, fields); at places without a digit it means nothing."""

    def put(self, target: NDArray[np.generic], values: NDArray[np.generic]) -> None:
        """Write a value for each field into an array of shape (..., rows), in place."""
        if len(self.rows) == target.shape[-1]:
            target[...] = values  # all rows, which are in order: no need to look up each
        else:
            target[..., self.rows] = values

    def number(self, start: int, end: int) -> NDArray[np.int64]:
        """Return what the digits between two characters of the pattern say, shape (fields,)."""
        total = np.zeros(len(self.rows), dtype=np.int64)
        for place in range(start, end):
            total *= 10
            total += self.digits[place]
        return total


def alike(column: Column) -> Iterator[Alike]:
    """Sort a column's fields by pattern; fields that are empty, very wide or of too rare a pattern are in none."""
    widths = column.ends - column.starts
    counts = np.bincount(np.minimum(widths, WIDEST + 1))
    left = MOST_PATTERNS
    for width in range(1, min(len(counts), WIDEST + 1)):
        if counts[width]:
            for group in _of_one_width(column, np.flatnonzero(widths == width), width):
                yield group
                left -= 1
                if not left:
                    return


def _of_one_width(column: Column, rows: NDArray[np.int64], width: int) -> Iterator[Alike]:
    starts = column.starts[rows]
    characters = np.empty((width, len(rows)), dtype=np.uint8)
    for place in range(width):
        characters[place] = column.text.buffer[starts + place]
    while rows.size:
        same, digits = _same_pattern(characters)
        example = characters[:, 0].tobytes().decode("latin-1")
        if same.all():
            yield Alike(rows=rows, example=example, digits=digits)
            return
        yield Alike(rows=rows[same], example=example, digits=digits[:, same])
        rows, characters = rows[~same], characters[:, ~same]


def _same_pattern(characters: NDArray[np.uint8]) -> tuple[NDArray[np.bool_], NDArray[np.uint8]]:
    """Which fields have the first one's pattern, and all digits."""
    digits = characters - np.uint8(ZERO)
    same = np.ones(characters.shape[1], dtype=np.bool_)
    for place, first in enumerate(digits[:, 0]):
        same &= digits[place] < 10 if first < 10 else digits[place] == first  # noqa: PLR2004 - a decimal digit
    return same, digits
