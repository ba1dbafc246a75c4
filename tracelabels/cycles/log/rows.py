"""The rows of a table as numbers and times, and why a row is none."""

import re
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tracelabels.cycles.log.columns import Layout, TimeColumns
from tracelabels.cycles.log.logged import LogOptions
from tracelabels.cycles.log.measured import MeasuredColumns
from tracelabels.cycles.log.numbers import Numbers, parse_numbers
from tracelabels.cycles.log.shapes import SUFFIXES, Shape, shape_of
from tracelabels.cycles.log.table import Column
from tracelabels.cycles.log.times import Times, read_clocks, read_plain
from tracelabels.cycles.log.units import Said
from tracelabels.cycles.log.vocabulary import Role, find_unit, plain

ORDERS: Final = (
    (re.compile(r"(?<![a-z])(?:dd?|tt|jj|gg)[./-]mm?[./-](?:[yja]{2,4})"), "dmy"),
    (re.compile(r"(?<![a-z])mm?[./-]dd?[./-]y{2,4}"), "mdy"),
    (re.compile(r"(?<![a-z])(?:[yja]{2,4})[./-]mm?[./-](?:dd?|tt|jj|gg)"), "ymd"),
)
"""Forms of dates in headers; day is d, t, j or g, year y, j or a in the languages that are known."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rows:
    """The rows below the header, read column by column."""

    layout: Layout
    """The table, and which of its lines are rows."""
    time_columns: TimeColumns
    """Where the times stand."""
    columns: MeasuredColumns
    """Where temperature and pressure stand."""
    times: Times
    """Their times."""
    stated_time_unit: str
    """What the header says of the times' unit; empty if nothing."""
    temperature: Numbers
    """Temperatures as written."""
    temperature_said: Said
    """The same with what is said of them."""
    pressure_said: Said | None
    """Pressures as written, with what is said of them; None without."""


def read_rows(layout: Layout, time_columns: TimeColumns, columns: MeasuredColumns, options: LogOptions) -> Rows:
    """Read the columns that are needed, of all rows."""
    temperature = _numbers(layout, columns.temperature)
    said = _said(layout, columns.temperature, temperature, Role.TEMPERATURE)
    pressure = None
    if columns.pressure is not None:
        pressure = _said(layout, columns.pressure, _numbers(layout, columns.pressure), Role.PRESSURE)
    times, stated = _times(layout, time_columns, options)
    return Rows(
        layout=layout,
        time_columns=time_columns,
        columns=columns,
        times=times,
        stated_time_unit=stated,
        temperature=temperature,
        temperature_said=said,
        pressure_said=pressure,
    )


def _numbers(layout: Layout, place: int) -> Numbers:
    column = layout.table.column(place, layout.lines)
    numbers = parse_numbers(column, layout.dialect.decimal_mark, SUFFIXES)
    numbers.values[_may_be_cut(layout, place)] = np.nan
    return _without_torn_end(layout, column, numbers)


def _may_be_cut(layout: Layout, place: int) -> NDArray[np.bool_]:
    """Rows that end within this column although others go on: the number may have lost digits."""
    widths = layout.table.widths[layout.lines]
    if layout.table.spans is not None:
        return np.zeros(len(widths), dtype=np.bool_)
    is_cut: NDArray[np.bool_] = (widths < layout.dialect.width) & (widths == place + 1)
    return is_cut


def _without_torn_end(layout: Layout, column: Column, numbers: Numbers) -> Numbers:
    """The last number of a file whose last line does not end may have lost digits, if it has fewer than the others."""
    text = layout.table.text
    if text.is_whole or not len(column.starts) or int(column.ends[-1]) < len(text.content) - 1:
        return numbers
    _, _, decimals = column.field(-1).partition(layout.dialect.decimal_mark)
    if len(decimals) < numbers.decimals:
        numbers.values[-1] = np.nan
    return numbers


def _said(layout: Layout, place: int, numbers: Numbers, role: Role) -> Said:
    heading = layout.headings[place]
    unit = heading.unit if heading.role is role else ""
    behind = find_unit(f"[{plain(numbers.suffix)}]", role) if numbers.suffix else ""
    reference = heading.reference
    if role is Role.PRESSURE and not reference and numbers.suffix not in {"", "pa", "kpa", "hpa", "mpa"}:
        reference = {"a": "absolute", "g": "gauge"}.get(numbers.suffix[-1], "")
    return Said(values=numbers.values, unit=unit or behind, reference=reference)


def _times(layout: Layout, places: TimeColumns, options: LogOptions) -> tuple[Times, str]:
    column = layout.table.column(places.time, layout.lines)
    words = plain(layout.headings[places.time].text)
    if layout.shapes[places.time] is Shape.NUMBER:
        numbers = _numbers(layout, places.time)
        stated = find_unit(words, Role.TIME) or (find_unit(f"[{numbers.suffix}]", Role.TIME) if numbers.suffix else "")
        return read_plain(numbers, stated), stated
    if places.half is not None:
        half = layout.table.column(places.half, layout.lines)
        column = replace(column, ends=np.where(half.ends > half.starts, half.ends, column.ends))
    date = None if places.date is None else layout.table.column(places.date, layout.lines)
    if date is not None:
        words += f" {plain(layout.headings[places.date or 0].text)}"
    order = next((order for form, order in ORDERS if form.search(words)), None)
    two = "s" if re.search(r"(?<!h:)mm?:ss", words) else "min" if re.search(r"hh?:mm?(?!:)", words) else ""
    return read_clocks(column, date, options.date_order, order), two


def why_unreadable(rows: Rows, row: int, seconds: float, celsius: float) -> str:
    """Say why a row is no reading.

    Args:
        rows: all rows.
        row: which.
        seconds: its time; NaN where there is none.
        celsius: its temperature; NaN where there is none, or none that a steriliser can show.
    """
    layout = rows.layout
    line = int(layout.lines[row])
    fields = layout.table.fields(line)
    if layout.header.names and fields == list(layout.header.names):
        return "the names of the columns again"
    whole = layout.table.text.line(line, 60)
    places = {"time": rows.time_columns.time, "temperature": rows.columns.temperature}
    missing = [what for what, value in (("time", seconds), ("temperature", celsius)) if not np.isfinite(value)]
    texts = [layout.table.column(places[what], layout.lines[row : row + 1]).field(0) for what in missing]
    if len(missing) == 1 and texts[0]:
        return f"{missing[0]} {texts[0]!r} {_reason(rows, row, missing[0])}; the row is left out"
    if len(missing) == 1:
        return f"no {missing[0]} in {whole!r}; the row is left out"
    return f"no reading in {whole!r}; the row is left out"


def _reason(rows: Rows, row: int, what: str) -> str:
    if what == "time":
        return "is no time"
    if np.isfinite(rows.temperature.values[row]):
        return "is none that a steriliser can show"
    place = rows.columns.temperature
    if _may_be_cut(rows.layout, place)[row]:
        return "may have lost digits, since the row ends there"
    lines, text = rows.layout.lines, rows.layout.table.text
    field = rows.layout.table.column(place, lines[row : row + 1]).field(0)
    is_last = row == len(lines) - 1 and not text.is_whole
    is_torn = is_last and shape_of(field, rows.layout.dialect.decimal_mark) is Shape.NUMBER
    return "may have lost digits, since the file ends there" if is_torn else "is no number"
