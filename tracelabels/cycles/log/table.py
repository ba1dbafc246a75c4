"""Lines cut into fields, all lines at once; nothing is copied but places.

A quoted field may hold the separator; a quote counts within its line only, so that a lost one spoils one line.
"""

from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tracelabels.cycles.log.decoding import NEWLINE, LogText
from tracelabels.errors import LogError

QUOTE: Final = 34
BLANKS: Final = (32, 9, 13, QUOTE)
"""Space, tab, carriage return and quote are cut off at both ends of a field."""
MOST_SEPARATORS: Final = 20_000_000
"""Each takes some twenty bytes of memory."""
MOST_BLANKS: Final = 64
"""A field with more blanks at one end is left as it is: its text is then no value."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Column:
    """Where one column's fields lie; all arrays have shape (rows,). A row that has no such field has an empty one."""

    text: LogText
    """The log."""
    starts: NDArray[np.int64]
    """Place of each field's first byte."""
    ends: NDArray[np.int64]
    """Place after its last byte."""

    def field(self, row: int, most: int = 80) -> str:
        """Return the text of one row's field, shortened if it is long."""
        start, end = int(self.starts[row]), int(self.ends[row])
        return self.text.as_text(self.text.content[start : min(end, start + most)])

    def take(self, rows: NDArray[np.int64] | slice) -> "Column":
        """Return the column of some of the rows."""
        return Column(text=self.text, starts=self.starts[rows], ends=self.ends[rows])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Table:
    """The lines of a log, cut into fields."""

    text: LogText
    """The log."""
    separator: str
    """What the fields are cut at; a space stands for any run of spaces and tabs."""
    starts: NDArray[np.int64]
    """Place of the first byte of each field of all lines, shape (fields,)."""
    ends: NDArray[np.int64]
    """Place after its last byte."""
    first: NDArray[np.int64]
    """Number of each line's first field, shape (lines + 1,)."""
    spans: tuple[tuple[int, int], ...] | None = None
    """Where a column is more than one field: from which field to which, both included; None: columns are fields."""
    widths: NDArray[np.int64] = field(init=False)
    """How many fields each line has, shape (lines,)."""

    def __post_init__(self) -> None:
        """Count the fields of each line."""
        object.__setattr__(self, "widths", np.diff(self.first))

    def fields(self, line: int, most: int = 200) -> list[str]:
        """Return the texts of one line's fields, the first ones if there are very many."""
        begin, end = int(self.first[line]), min(int(self.first[line + 1]), int(self.first[line]) + most)
        return self._of(self.starts[begin:end], self.ends[begin:end])

    def _of(self, starts: NDArray[np.int64], ends: NDArray[np.int64]) -> list[str]:
        starts, ends = trimmed(self.text.buffer, starts, ends)
        column = Column(text=self.text, starts=starts, ends=ends)
        return [column.field(row) for row in range(len(starts))]

    def column(self, place: int, lines: NDArray[np.int64]) -> Column:
        """Return a column of some lines, counted from 0."""
        begin, end = (place, place) if self.spans is None else self.spans[place]
        has = self.widths[lines] > end if self.spans is None else self.widths[lines] == self.spans[-1][1] + 1
        at = self.first[lines] if has.all() else np.where(has, self.first[lines], -1 - end)
        starts, ends = self.starts[at + begin], self.ends[at + end]
        if not has.all():
            starts, ends = np.where(has, starts, 0), np.where(has, ends, 0)
        starts, ends = trimmed(self.text.buffer, starts, ends)
        return Column(text=self.text, starts=starts, ends=ends)


def cut(text: LogText, separator: str) -> Table:
    """Cut all lines at a separator; a space stands for any run of spaces and tabs."""
    _require_few(text, separator)
    starts, ends, first = _cut_at_blanks(text) if separator == " " else _cut_at(text, ord(separator))
    return Table(text=text, separator=separator, starts=starts, ends=ends, first=first)


def _require_few(text: LogText, separator: str) -> None:
    if text.content.count(separator.encode()) > MOST_SEPARATORS:
        raise LogError(
            given=f"{text.name} with more than {MOST_SEPARATORS:,} separators",
            expected="rows of a time and some measured values",
            remedy="export the columns of one cycle only",
        )


def _cut_at(text: LogText, separator: int) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    ends = np.flatnonzero((text.buffer == separator) | (text.buffer == NEWLINE))
    is_last = text.buffer[ends] == NEWLINE
    if QUOTE in text.content:
        is_kept = is_last | ~_within_quotes(text, ends, is_last)
        ends, is_last = ends[is_kept], is_last[is_kept]
    starts = np.concatenate(([0], ends[:-1] + 1))
    return starts, ends, np.concatenate(([0], np.flatnonzero(is_last) + 1))


def _within_quotes(text: LogText, cuts: NDArray[np.int64], is_last: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Whether an odd number of quotes stands between the beginning of the line and a place, shape (cuts,)."""
    before = np.searchsorted(np.flatnonzero(text.buffer == QUOTE), cuts)
    at_line_starts = np.concatenate(([0], before[is_last]))
    lines: NDArray[np.int64] = np.cumsum(is_last) - is_last
    return ((before - at_line_starts[lines]) & 1).astype(np.bool_)


def _cut_at_blanks(text: LogText) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    newline = text.buffer == NEWLINE
    blank = newline | (text.buffer == 32) | (text.buffer == 9) | (text.buffer == 13)  # noqa: PLR2004 - space, tab, return
    before = np.concatenate(([True], blank[:-1]))
    after = np.concatenate((blank[1:], [True]))
    starts, ends = np.flatnonzero(~blank & before), np.flatnonzero(~blank & after) + 1
    return starts, ends, np.concatenate(([0], np.searchsorted(starts, text.line_ends)))


def trimmed(
    buffer: NDArray[np.uint8], starts: NDArray[np.int64], ends: NDArray[np.int64]
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Leave out the blanks and quotes at both ends of fields."""
    starts, ends = starts.copy(), ends.copy()
    _trim(starts, ends, buffer, edge=starts, step=1)
    _trim(starts, ends, buffer, edge=ends, step=-1)
    return starts, ends


def _trim(
    starts: NDArray[np.int64], ends: NDArray[np.int64], buffer: NDArray[np.uint8], *, edge: NDArray[np.int64], step: int
) -> None:
    """Move one edge of the fields inwards, in place, as long as it lies on a blank."""
    at = np.flatnonzero(starts < ends)
    for _ in range(MOST_BLANKS):
        seen = buffer[edge[at] + min(step, 0)]
        at = at[(seen == BLANKS[0]) | (seen == BLANKS[1]) | (seen == BLANKS[2]) | (seen == QUOTE)]
        if not at.size:
            return
        edge[at] += step
        at = at[starts[at] < ends[at]]
