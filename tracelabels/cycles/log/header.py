"""Where the readings begin, and what the lines above them say: preamble, names of the columns, units."""

import re
from dataclasses import dataclass
from typing import Final

import numpy as np

from tracelabels.cycles.log.dialect import LONGEST_LINE, Dialect
from tracelabels.cycles.log.shapes import VALUES, Shape, shape_of
from tracelabels.cycles.log.table import Table
from tracelabels.cycles.log.vocabulary import UNITS, Heading, Role, find_unit, plain, read_heading
from tracelabels.errors import LogError

LONGEST_PREAMBLE: Final = 2000
"""The first row of readings is looked for in so many lines."""


FARTHEST_UNITS: Final = 2
"""Units stand right below the names, or with an empty line between."""
LONGEST_UNIT: Final = 24
"""A field of a line of units may say more than the unit, such as ``bar absolute``."""
TIME_FORM: Final = re.compile(
    r"[-%]|hh?:m(?:m|in)?(?::ss?)?|[dmyjagt]{1,4}[./-][dmyjagt]{1,4}[./-][dmyjagt]{1,4}(?: hh?:mm(?::ss)?)?|date|%? ?rh"
)
"""What stands in a line of units for times, dates and numbers without a unit."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Header:
    """What stands above the readings."""

    headings: tuple[Heading, ...]
    """One for each column; without a header they know nothing."""
    line: int | None
    """Line of the header, from 0; None without one."""
    first: int
    """First line after the header and its units, from 0; without a header, the first row of readings."""
    names: tuple[str, ...]
    """The header's own fields, to know it again further down."""


def find_header(table: Table, dialect: Dialect) -> Header:
    """Find the first row of readings and the names and units above it.

    Raises:
        LogError: no row of readings is found in the first lines.
    """
    first = _first_row(table, dialect)
    columns = dialect.width if dialect.spans is None else len(dialect.spans)
    last_name = _last_line_of_words(table, dialect, first)
    if last_name is None:
        nothing = tuple(read_heading("") for _ in range(columns))
        return Header(headings=nothing, line=None, first=first, names=())
    units = _find_units(table, last_name, columns)
    above = None if units is None else _last_line_of_words(table, dialect, last_name)
    if above is None or last_name - above > FARTHEST_UNITS:
        units, above = None, None
    name_line = last_name if above is None else above
    names = _names(table, name_line, columns)
    headings = tuple(
        read_heading(
            _joined(names, units, place) if units is not None else (names[place] if place < len(names) else "")
        )
        for place in range(columns)
    )
    return Header(headings=headings, line=name_line, first=last_name + 1, names=tuple(names))


def _joined(names: list[str], units: list[str], place: int) -> str:
    name = names[place] if place < len(names) else ""
    unit = units[place].strip("[]() ") if place < len(units) else ""
    return f"{name} [{unit}]" if unit else name


def _first_row(table: Table, dialect: Dialect) -> int:
    candidates = np.flatnonzero(table.widths[:LONGEST_PREAMBLE] == dialect.width)
    for line in candidates:
        shapes = [shape_of(field, dialect.decimal_mark) for field in table.fields(int(line))]
        filled = sum(shape is not Shape.EMPTY for shape in shapes)
        if sum(shape in VALUES for shape in shapes) >= max(2, filled / 2):
            return int(line)
    raise LogError(
        given=f"{table.text.name}, in whose first {LONGEST_PREAMBLE:,} lines no reading is found",
        expected="rows with a time and a temperature",
        remedy="leave out what the logger wrote above the table",
    )


def _last_line_of_words(table: Table, dialect: Dialect, below: int) -> int | None:
    """Find the nearest line above that could name columns: several fields, words in most, no value in any."""
    seen = np.flatnonzero(table.widths[max(0, below - 60) : below] > 1) + max(0, below - 60)
    for line in seen[::-1]:
        fields = table.fields(int(line))
        shapes = [shape_of(field, dialect.decimal_mark) for field in fields]
        if any(shape in VALUES for shape in shapes):
            continue
        known = [heading.role for heading in map(read_heading, fields) if heading.role is not Role.UNKNOWN]
        if known and sum(shape is Shape.WORDS for shape in shapes) > 1 and not _is_all_missing(fields):
            return int(line)
    return None


def _is_all_missing(fields: list[str]) -> bool:
    return not any(re.search(r"[^\W\d_]", field) for field in fields)


def _find_units(table: Table, line: int, columns: int) -> list[str] | None:
    """Return the fields of a line that holds nothing but units; None if it names columns."""
    fields = _names(table, line, columns)
    units = [_is_unit(field) for field in fields if field]
    return fields if units and all(units) else None


def _is_unit(field: str) -> bool:
    bare = plain(field).strip("[]() ")
    if TIME_FORM.fullmatch(bare):
        return True
    first, _, rest = bare.partition(" ")
    alone = f"[{first}{rest}]" if first in {"°", "deg", "grad"} else f"[{first}]"
    return any(find_unit(alone, role) for role in UNITS) and len(bare) <= LONGEST_UNIT


def _names(table: Table, line: int, columns: int) -> list[str]:
    """Return the names of a line; between blanks, names of several words are put together if their number tells how."""
    fields = table.fields(line)
    if table.separator != " " or len(fields) == columns:
        return fields
    text = table.text.line(line, LONGEST_LINE).strip()
    wide = [one.strip() for one in re.split(r"\t| {2,}", text)]
    if len(wide) == columns:
        return wide
    bracketed = re.findall(r"[^\s\[(]\S*(?:\s*[\[(][^\])]*[\])])?", text)
    return bracketed if len(bracketed) == columns else []
