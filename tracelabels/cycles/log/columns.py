"""Which column holds what: by option, by the words over it, else by its values."""

from collections import Counter
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tracelabels.cycles.log.dialect import Dialect
from tracelabels.cycles.log.header import Header
from tracelabels.cycles.log.logged import Basis, Guess, LogOptions
from tracelabels.cycles.log.shapes import HALF_PATTERN, Shape, shape_of
from tracelabels.cycles.log.table import Table, trimmed
from tracelabels.cycles.log.vocabulary import Heading, Role
from tracelabels.errors import LogError
from tracelabels.words import some

ROWS_LOOKED_AT: Final = 60
MOSTLY: Final = 0.9
"""So many of the rows rise in a column of times; the others are odd."""
CLOCKS: Final = (Shape.MOMENT, Shape.CLOCK)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Layout:
    """A table with its header and what its rows of readings look like."""

    table: Table
    """The lines, cut."""
    dialect: Dialect
    """How they are written."""
    header: Header
    """What stands above the readings."""
    lines: NDArray[np.int64]
    """The lines below the header that are not blank, from 0, shape (rows,)."""
    shapes: tuple[Shape, ...]
    """What most fields of each column look like."""

    @property
    def headings(self) -> tuple[Heading, ...]:
        """What the words over each column say."""
        return self.header.headings

    def title(self, place: int) -> str:
        """Name a column for people."""
        words = self.headings[place].text
        return f"{words!r}" if words else f"column {place + 1}"


@dataclass(frozen=True, slots=True, kw_only=True)
class TimeColumns:
    """Where times stand."""

    time: int
    """Clock, moment or number."""
    date: int | None = None
    """A column of dates beside the clock."""
    half: int | None = None
    """A column of AM and PM beside the clock."""


def lay_out(table: Table, dialect: Dialect, header: Header) -> Layout:
    """Look at the rows below a header."""
    ends = table.text.line_ends
    lengths = np.diff(np.concatenate(([-1], ends))) - 1
    lines = np.flatnonzero((table.widths > 0) & (lengths > 0))
    lines = lines[np.searchsorted(lines, header.first) :]
    lines = lines[~np.isin(lines, _blank_lines(table, lines))]
    full = lines[table.widths[lines] == dialect.width]
    seen = (
        full[np.unique(np.linspace(0, len(full) - 1, min(len(full), ROWS_LOOKED_AT)).astype(np.int64))]
        if len(full)
        else full
    )
    shapes = tuple(_shape(table, dialect, seen, place) for place in range(len(header.headings)))
    return Layout(table=table, dialect=dialect, header=header, lines=lines, shapes=shapes)


def _blank_lines(table: Table, lines: NDArray[np.int64]) -> NDArray[np.int64]:
    """Lines that have one field, and nothing in it."""
    alone = lines[table.widths[lines] == 1]
    at = table.first[alone]
    starts, ends = trimmed(table.text.buffer, table.starts[at], table.ends[at])
    blank: NDArray[np.int64] = alone[starts == ends]
    return blank


def _shape(table: Table, dialect: Dialect, lines: NDArray[np.int64], place: int) -> Shape:
    column = table.column(place, lines)
    counts = Counter(shape_of(column.field(row), dialect.decimal_mark) for row in range(len(lines)))
    values = {shape: count for shape, count in counts.items() if shape not in {Shape.EMPTY, Shape.WORDS}}
    if not values:
        return Shape.EMPTY if counts[Shape.EMPTY] >= counts[Shape.WORDS] else Shape.WORDS
    return max(values, key=lambda shape: values[shape])


def named_column(layout: Layout, given: str, option: str) -> int:
    """Return the column that an option names, by its number from 1 or by the words over it.

    Raises:
        LogError: there is no such column.
    """
    count = len(layout.headings)
    if given.isdecimal() and len(given) < 5 and 1 <= int(given) <= count:  # noqa: PLR2004 - no file has so many columns
        return int(given) - 1
    wanted = given.strip().casefold()
    names = [heading.text.casefold() for heading in layout.headings]
    found = [place for place, name in enumerate(names) if name == wanted]
    found = found or [place for place, name in enumerate(names) if wanted and name.startswith(wanted)]
    if len(found) == 1:
        return found[0]
    known = some(heading.text or str(place + 1) for place, heading in enumerate(layout.headings))
    raise LogError(
        given=f"{option} {given!r} for {layout.table.text.name}, in which {len(found) or 'no'} columns are called so",
        expected=f"one of its columns, by name or by number from 1 to {count}: {known}",
        remedy="write the name as it stands over the column, or give its number",
    )


def find_time_columns(layout: Layout, options: LogOptions) -> tuple[TimeColumns, Guess]:
    """Find the column of times, with a column of dates and of AM and PM if they stand apart.

    Raises:
        LogError: there is none, or the option names none.
    """
    if options.time_column:
        time, basis = named_column(layout, options.time_column, "--time-column"), Basis.GIVEN
    else:
        time, basis = _time_column(layout)
    date = _date_column(layout, time) if layout.shapes[time] is Shape.CLOCK else None
    guess = Guess(what="time_column", value=layout.title(time), basis=basis)
    return TimeColumns(time=time, date=date, half=_half_column(layout, time)), guess


def _time_column(layout: Layout) -> tuple[int, Basis]:
    shapes, roles = layout.shapes, [heading.role for heading in layout.headings]
    said = [place for place, role in enumerate(roles) if role in {Role.TIME, Role.DATE}]
    for wanted in (*CLOCKS, Shape.NUMBER):
        found = [place for place in said if shapes[place] is wanted]
        if found:
            return next((place for place in found if roles[place] is Role.TIME), found[0]), Basis.STATED
    for wanted in CLOCKS:
        if wanted in shapes:
            return shapes.index(wanted), Basis.GUESSED
    rising = next((place for place in _unnamed_numbers(layout) if _rises(layout, place)), None)
    if rising is None:
        raise LogError(
            given=f"{layout.table.text.name}, in which no column of times is found; its columns are "
            + some(layout.title(place) for place in range(len(shapes))),
            expected="a clock, a date with a clock, or a number that rises from row to row",
            remedy="name it with --time-column",
        )
    return rising, Basis.GUESSED


def _unnamed_numbers(layout: Layout) -> list[int]:
    return [
        place
        for place, heading in enumerate(layout.headings)
        if heading.role is Role.UNKNOWN and layout.shapes[place] is Shape.NUMBER
    ]


def _rises(layout: Layout, place: int) -> bool:
    lines = layout.lines[:: max(1, len(layout.lines) // ROWS_LOOKED_AT)]
    column = layout.table.column(place, lines)
    numbers = [_number(column.field(row), layout.dialect.decimal_mark) for row in range(len(lines))]
    known = [one for one in numbers if one is not None]
    rises = sum(second > first for first, second in pairwise(known))
    return len(known) > 1 and rises >= MOSTLY * (len(known) - 1)


def _number(text: str, mark: str) -> float | None:
    try:
        return float(text.replace(mark, "."))
    except ValueError:
        return None


def _date_column(layout: Layout, clock: int) -> int | None:
    dates = [place for place, shape in enumerate(layout.shapes) if shape is Shape.DATE]
    compact = [
        place
        for place, shape in enumerate(layout.shapes)
        if shape is Shape.NUMBER and layout.headings[place].role is Role.DATE and _is_compact(layout, place)
    ]
    return min(dates + compact, key=lambda place: abs(place - clock), default=None)


def _is_compact(layout: Layout, place: int) -> bool:
    field = layout.table.column(place, layout.lines[-1:]).field(0)
    return len(field) == 8 and field.isdecimal()  # noqa: PLR2004 - year, month, day


def _half_column(layout: Layout, clock: int) -> int | None:
    beside = clock + 1
    if layout.table.spans is not None or beside >= len(layout.shapes) or layout.shapes[beside] is not Shape.WORDS:
        return None
    column = layout.table.column(beside, layout.lines[:1])
    return beside if HALF_PATTERN.fullmatch(column.field(0)) else None
