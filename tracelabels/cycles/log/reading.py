"""Reading a log, step by step: text, how it is written, table, header, columns, units, times, order, what is odd."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tracelabels.cycles.log.columns import find_time_columns, lay_out
from tracelabels.cycles.log.decoding import decode
from tracelabels.cycles.log.dialect import find_dialect
from tracelabels.cycles.log.gaps import find_gaps
from tracelabels.cycles.log.header import Header, find_header
from tracelabels.cycles.log.logged import Basis, Guess, LoggedCycle, LogOptions, Oddity, OddityKind
from tracelabels.cycles.log.measured import find_measured_columns
from tracelabels.cycles.log.rows import Rows, read_rows, why_unreadable
from tracelabels.cycles.log.sequence import Found, Sequence, put_in_order
from tracelabels.cycles.log.spikes import find_pressure_spikes, find_temperature_spikes
from tracelabels.cycles.log.table import cut
from tracelabels.cycles.log.temperature_units import COLDEST_C, HOTTEST_C, step_in_kelvin
from tracelabels.cycles.log.time_units import in_seconds
from tracelabels.cycles.log.units import Decided, decide_units
from tracelabels.cycles.readings import Readings, Span
from tracelabels.errors import LogError
from tracelabels.words import in_words

MOST_TOLD: Final = 100
"""So many oddities of a kind are told one by one."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Kept:
    """Readings in order without spikes; arrays have shape (readings,)."""

    rows: NDArray[np.int64]
    seconds: NDArray[np.float64]
    celsius: NDArray[np.float64]
    kpa: NDArray[np.float64] | None
    found: tuple[Found, ...]


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
    text = decode(content, name=name)
    dialect = find_dialect(text, options)
    table = replace(cut(text, dialect.separator), spans=dialect.spans)
    header = find_header(table, dialect)
    layout = lay_out(table, dialect, header)
    time_columns, time_guess = find_time_columns(layout, options)
    columns = find_measured_columns(layout, time_columns, options)
    rows = read_rows(layout, time_columns, columns, options)
    decided = decide_units(name, rows.temperature_said, rows.pressure_said, options)
    celsius = np.where((decided.celsius >= COLDEST_C) & (decided.celsius <= HOTTEST_C), decided.celsius, np.nan)
    seconds, unit_guess = in_seconds(rows.times, celsius, options.time_unit, rows.stated_time_unit)
    sequence = put_in_order(name, rows.times, seconds, celsius)
    _require_readings(name, rows, seconds, celsius, sequence)
    kept = _without_spikes(sequence, celsius, decided.kpa)
    guesses = (text.guess, *dialect.guesses, *_header_guess(header), time_guess, *columns.guesses)
    guesses += (*decided.guesses, unit_guess, *rows.times.guesses, *sequence.guesses)
    unreadable = np.flatnonzero(~(np.isfinite(seconds) & np.isfinite(celsius)))
    return LoggedCycle(
        readings=_readings(kept, sequence, step_in_kelvin(rows.temperature.step, decided.temperature_unit)),
        guesses=guesses,
        oddities=_oddities(rows, decided, kept, sequence, unreadable),
        started_at=_started_at(rows, float(sequence.seconds[0])),
        rows=len(seconds) - len(unreadable),
    )


def _header_guess(header: Header) -> tuple[Guess, ...]:
    if header.line is None:
        above = f"; the {header.first} lines above hold none" if header.first else ""
        because = f"the first row of readings is line {header.first + 1}, and no line above names columns{above}"
        return (Guess(what="header", value="none", basis=Basis.GUESSED, because=because),)
    above = f"the {header.line} lines above are no readings" if header.line else ""
    return (Guess(what="header", value=f"line {header.line + 1}", basis=Basis.GUESSED, because=above),)


def _require_readings(
    name: str, rows: Rows, seconds: NDArray[np.float64], celsius: NDArray[np.float64], sequence: Sequence
) -> None:
    if len(sequence.rows) > 1:
        return
    bad = np.flatnonzero(~(np.isfinite(seconds) & np.isfinite(celsius)))
    first = int(bad[0]) if bad.size else 0
    why = (
        f"; line {rows.layout.lines[first] + 1}: {why_unreadable(rows, first, seconds[first], celsius[first])}"
        if bad.size
        else ""
    )
    raise LogError(
        given=f"{name}, in which {len(sequence.rows) or 'no'} readings are found{why}",
        expected="at least two rows with a time and a temperature",
        remedy="name the columns with --time-column and --temperature-column, or the separator with --separator",
    )


def _without_spikes(sequence: Sequence, celsius: NDArray[np.float64], kpa: NDArray[np.float64] | None) -> _Kept:
    rows, seconds = sequence.rows, sequence.seconds
    degrees = celsius[rows]
    places = find_temperature_spikes(seconds, degrees, None if kpa is None else kpa[rows])
    found = [
        _spike(rows, place, f"temperature of {degrees[place]:.1f} degrees C between {degrees[place - 1]:.1f} and "
               f"{degrees[place + 1]:.1f}: no chamber can follow that; the row is left out")
        for place in places.tolist()
    ]  # fmt: skip
    which = np.ones(len(rows), dtype=np.bool_)
    which[places] = False
    rows, seconds, degrees = rows[which], seconds[which], degrees[which]
    if kpa is None:
        return _Kept(rows=rows, seconds=seconds, celsius=degrees, kpa=None, found=tuple(found))
    pressures = kpa[rows]
    wrong = find_pressure_spikes(seconds, pressures)
    found += [
        _spike(rows, place, f"pressure of {pressures[place]:.1f} kPa between {pressures[place - 1]:.1f} and "
               f"{pressures[place + 1]:.1f}: no chamber can follow that; the row counts without its pressure")
        for place in wrong.tolist()
    ]  # fmt: skip
    pressures[wrong] = np.nan
    return _Kept(rows=rows, seconds=seconds, celsius=degrees, kpa=pressures, found=tuple(found))


def _spike(rows: NDArray[np.int64], place: int, sentence: str) -> Found:
    return Found(kind=OddityKind.SPIKE, row=int(rows[place]), sentence=sentence)


def _readings(kept: _Kept, sequence: Sequence, step_k: float) -> Readings:
    start = kept.seconds[0]
    gaps = tuple(
        Span(start_s=float(kept.seconds[place - 1] - start), end_s=float(kept.seconds[place] - start))
        for place in _gap_places(kept, sequence)
    )
    kpa = None if kept.kpa is None or not np.isfinite(kept.kpa).any() else kept.kpa
    return Readings(seconds=kept.seconds - start, celsius=kept.celsius, kpa=kpa, step_k=step_k, gaps=gaps)


def _gap_places(kept: _Kept, sequence: Sequence) -> list[int]:
    """Places of the readings that come too long after the one before, or after the clock was set."""
    times = sequence.seconds[np.isin(sequence.rows, sequence.broken)]
    broken = np.searchsorted(kept.seconds, times)
    broken = broken[(broken > 0) & (broken < len(kept.seconds))]
    return sorted({*find_gaps(kept.seconds).tolist(), *broken.tolist()})


def _started_at(rows: Rows, first_s: float) -> datetime | None:
    if not rows.times.has_date:
        return None
    return datetime(1970, 1, 1) + timedelta(seconds=round(first_s + rows.times.offset_s, 6))  # noqa: DTZ001 - the logger's own clock


def _oddities(
    rows: Rows, decided: Decided, kept: _Kept, sequence: Sequence, unreadable: NDArray[np.int64]
) -> tuple[Oddity, ...]:
    celsius = decided.celsius
    seconds = rows.times.seconds
    shown = np.where((celsius >= COLDEST_C) & (celsius <= HOTTEST_C), celsius, np.nan)
    found = [*sequence.found, *kept.found, *_gaps(kept, sequence), *_without_pressure(rows)]
    sentences = (
        Found(kind=OddityKind.UNREADABLE_ROW, row=row, sentence=why_unreadable(rows, row, seconds[row], shown[row]))
        for row in unreadable[:MOST_TOLD].tolist()
    )
    counts = Counter(one.kind for one in found)
    counts[OddityKind.UNREADABLE_ROW] += len(unreadable)
    told = _told([*sentences, *found], rows.layout.lines)
    more = [
        Oddity(kind=kind, line=last, sentence=f"{count - MOST_TOLD:,} more of the kind {in_words(kind)}")
        for kind, count in counts.items()
        if count > MOST_TOLD and (last := max(one.line for one in told if one.kind is kind))
    ]
    return tuple(sorted([*told, *more], key=lambda one: one.line))


def _told(found: Iterable[Found], lines: NDArray[np.int64]) -> list[Oddity]:
    seen = Counter[OddityKind]()
    told = []
    for one in sorted(found, key=lambda one: one.row):
        seen[one.kind] += 1
        if seen[one.kind] <= MOST_TOLD:
            line = int(lines[one.row]) + 1
            told.append(Oddity(kind=one.kind, line=line, sentence=f"line {line}: {one.sentence}"))
    return told


def _gaps(kept: _Kept, sequence: Sequence) -> list[Found]:
    places = _gap_places(kept, sequence)
    clock = set(sequence.broken.tolist())
    return [
        Found(
            kind=OddityKind.GAP,
            row=int(kept.rows[place]),
            sentence=f"no reading for {kept.seconds[place] - kept.seconds[place - 1]:g} s before this row",
        )
        for place in places
        if int(kept.rows[place]) not in clock
    ]


def _without_pressure(rows: Rows) -> list[Found]:
    """Rows in which something stands for the pressure that is no number."""
    if rows.pressure_said is None or rows.columns.pressure is None:
        return []
    column = rows.layout.table.column(rows.columns.pressure, rows.layout.lines)
    bad = np.isnan(rows.pressure_said.values) & (column.ends > column.starts) & np.isfinite(rows.temperature.values)
    return [
        Found(
            kind=OddityKind.UNREADABLE_ROW,
            row=row,
            sentence=f"pressure {column.field(row)!r} is no number; the row counts without its pressure",
        )
        for row in np.flatnonzero(bad).tolist()
    ]
