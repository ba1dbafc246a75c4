"""Reading a log, step by step: text, how it is written, table, header, columns, units, times, order, what is odd."""

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from tracelabels.cycles.log.asked import require_options
from tracelabels.cycles.log.columns import find_time_columns, lay_out
from tracelabels.cycles.log.decoding import decode
from tracelabels.cycles.log.dialect import find_dialect
from tracelabels.cycles.log.gaps import find_gaps
from tracelabels.cycles.log.header import Header, find_header
from tracelabels.cycles.log.logged import Basis, Guess, LoggedCycle, LogOptions, OddityKind
from tracelabels.cycles.log.measured import find_measured_columns
from tracelabels.cycles.log.noting import Notes
from tracelabels.cycles.log.rows import Rows, read_rows, why_unreadable
from tracelabels.cycles.log.sequence import Sequence, put_in_order
from tracelabels.cycles.log.spikes import find_pressure_spikes, find_temperature_spikes
from tracelabels.cycles.log.table import cut
from tracelabels.cycles.log.temperature_units import COLDEST_C, HOTTEST_C, step_in_kelvin
from tracelabels.cycles.log.time_units import in_seconds
from tracelabels.cycles.log.units import decide_units
from tracelabels.cycles.readings import Readings, Span
from tracelabels.errors import LogError


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Kept:
    """Readings in order without spikes; arrays have shape (readings,)."""

    rows: NDArray[np.int64]
    seconds: NDArray[np.float64]
    celsius: NDArray[np.float64]
    kpa: NDArray[np.float64] | None


def read_log(content: bytes, options: LogOptions, *, name: str) -> LoggedCycle:
    """Read a logger's file.

    Args:
        content: the file's bytes.
        options: what a person says of it; what is left open is found out and shown.
        name: the file's name, for sentences.

    Returns:
        Temperatures and pressures over time, with everything that had to be assumed and everything odd.

    Raises:
        LogError: it is no text, no readings are found in it, or an option does not fit it.
    """
    require_options(options)
    text = decode(content, name=name)
    dialect = find_dialect(text, options)
    table = replace(cut(text, dialect.separator), spans=dialect.spans)
    header = find_header(table, dialect)
    layout = lay_out(table, dialect, header)
    time_columns, time_guess = find_time_columns(layout, options)
    columns = find_measured_columns(layout, time_columns, options)
    rows = read_rows(layout, time_columns, columns, options)
    found = (text.guess, *dialect.guesses, *_header_guess(header), time_guess, *columns.guesses)
    return _put_together(rows, options, found)


def _put_together(rows: Rows, options: LogOptions, found: tuple[Guess, ...]) -> LoggedCycle:
    name = rows.layout.table.text.name
    decided = decide_units(name, rows.temperature_said, rows.pressure_said, options)
    celsius = np.where((decided.celsius >= COLDEST_C) & (decided.celsius <= HOTTEST_C), decided.celsius, np.nan)
    seconds, unit_guess = in_seconds(rows.times, celsius, options.time_unit, rows.stated_time_unit)
    notes = Notes()
    readable = _readable(rows, seconds, celsius, notes)
    sequence = put_in_order(name, rows.times, seconds, celsius, notes)
    _require_readings(rows, seconds, celsius, sequence)
    kept = _without_spikes(sequence, celsius, decided.kpa, notes)
    gaps = _gaps(kept, sequence, notes)
    step_k = step_in_kelvin(rows.temperature.step, decided.temperature_unit)
    return LoggedCycle(
        readings=_readings(kept, gaps, step_k),
        guesses=(*found, *decided.guesses, unit_guess, *rows.times.guesses, *sequence.guesses),
        oddities=notes.told(rows.layout.lines),
        started_at=_started_at(rows, float(sequence.seconds[0])),
        rows=readable,
    )


def _header_guess(header: Header) -> tuple[Guess, ...]:
    if header.line is None:
        above = f"; the {header.first} lines above hold none" if header.first else ""
        because = f"the first row of readings is line {header.first + 1}, and no line above names columns{above}"
        return (Guess(what="header", value="none", basis=Basis.GUESSED, because=because),)
    above = f"the {header.line} lines above are no readings" if header.line else ""
    return (Guess(what="header", value=f"line {header.line + 1}", basis=Basis.GUESSED, because=above),)


def _readable(rows: Rows, seconds: NDArray[np.float64], celsius: NDArray[np.float64], notes: Notes) -> int:
    """Count the rows that hold readings, and keep a note of the others."""
    unreadable = np.flatnonzero(~(np.isfinite(seconds) & np.isfinite(celsius)))

    def sentence(place: int) -> str:
        row = int(unreadable[place])
        return why_unreadable(rows, row, float(seconds[row]), float(celsius[row]))

    notes.keep(OddityKind.UNREADABLE_ROW, unreadable, sentence)
    if rows.pressure_said is not None and rows.columns.pressure is not None:
        column = rows.layout.table.column(rows.columns.pressure, rows.layout.lines)
        is_bad = np.isnan(rows.pressure_said.values) & (column.ends > column.starts) & np.isfinite(celsius)
        bad = np.flatnonzero(is_bad)
        notes.keep(
            OddityKind.UNREADABLE_ROW,
            bad,
            lambda at: f"pressure {column.field(int(bad[at]))!r} is no number; the row counts without its pressure",
        )
    return len(seconds) - len(unreadable)


def _require_readings(
    rows: Rows, seconds: NDArray[np.float64], celsius: NDArray[np.float64], sequence: Sequence
) -> None:
    if len(sequence.rows) > 1:
        return
    bad = np.flatnonzero(~(np.isfinite(seconds) & np.isfinite(celsius)))
    why = ""
    if bad.size:
        first = int(bad[0])
        reason = why_unreadable(rows, first, float(seconds[first]), float(celsius[first]))
        why = f"; line {rows.layout.lines[first] + 1}: {reason}"
    found = "one reading is" if len(sequence.rows) else "no readings are"
    raise LogError(
        given=f"{rows.layout.table.text.name}, in which {found} found{why}",
        expected="at least two rows with a time and a temperature",
        remedy="name the columns with --time-column and --temperature-column, or the separator with --separator",
    )


def _without_spikes(
    sequence: Sequence, celsius: NDArray[np.float64], kpa: NDArray[np.float64] | None, notes: Notes
) -> _Kept:
    rows, seconds = sequence.rows, sequence.seconds
    degrees = celsius[rows]
    spikes = find_temperature_spikes(seconds, degrees, None if kpa is None else kpa[rows])
    _note_spikes(notes, "temperature", "degrees C", degrees, rows, spikes)
    which = np.ones(len(rows), dtype=np.bool_)
    which[spikes] = False
    rows, seconds, degrees = rows[which], seconds[which], degrees[which]
    if kpa is None:
        return _Kept(rows=rows, seconds=seconds, celsius=degrees, kpa=None)
    pressures = kpa[rows]
    spikes = find_pressure_spikes(seconds, pressures, degrees)
    _note_spikes(notes, "pressure", "kPa", pressures, rows, spikes)
    pressures[spikes] = np.nan
    return _Kept(rows=rows, seconds=seconds, celsius=degrees, kpa=pressures)


def _note_spikes(
    notes: Notes, what: str, unit: str, values: NDArray[np.float64], rows: NDArray[np.int64], places: NDArray[np.int64]
) -> None:
    left = "the row is left out" if what == "temperature" else "the row counts without its pressure"

    def sentence(at: int) -> str:
        before, here, after = values[places[at] - 1 : places[at] + 2]
        return f"{what} of {here:.1f} {unit} between {before:.1f} and {after:.1f}: no chamber can follow that; {left}"

    notes.keep(OddityKind.SPIKE, rows[places], sentence)


def _gaps(kept: _Kept, sequence: Sequence, notes: Notes) -> NDArray[np.int64]:
    """Places of the readings that come too long after the one before, or after the clock was set."""
    long = find_gaps(kept.seconds)
    times = sequence.seconds[np.isin(sequence.rows, sequence.broken)]
    clock = np.searchsorted(kept.seconds, times)
    clock = clock[(clock > 0) & (clock < len(kept.seconds))]
    unseen = long[~np.isin(long, clock)]
    lasts = np.diff(kept.seconds)
    notes.keep(
        OddityKind.GAP,
        kept.rows[unseen],
        lambda at: f"no reading for {lasts[unseen[at] - 1]:g} s before this row",
    )
    return np.union1d(long, clock)


def _readings(kept: _Kept, gaps: NDArray[np.int64], step_k: float) -> Readings:
    seconds = kept.seconds - kept.seconds[0]
    spans = tuple(Span(start_s=float(seconds[place - 1]), end_s=float(seconds[place])) for place in gaps)
    kpa = None if kept.kpa is None or not np.isfinite(kept.kpa).any() else kept.kpa
    return Readings(seconds=seconds, celsius=kept.celsius, kpa=kpa, step_k=step_k, gaps=spans)


def _started_at(rows: Rows, first_s: float) -> datetime | None:
    """Return the moment that the logger's own clock showed at the first reading."""
    if not rows.times.has_date:
        return None
    zero = datetime(1970, 1, 1)  # noqa: DTZ001 - the logger's own clock
    return zero + timedelta(seconds=round(first_s + rows.times.offset_s, 6))
