"""How a log is written: its separator and its decimal mark, both guessed together from a sample."""

import csv
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise
from typing import Final

import numpy as np

from tracelabels.cycles.log.asked import MARKS
from tracelabels.cycles.log.asked import SEPARATORS as ASKED
from tracelabels.cycles.log.decoding import LogText
from tracelabels.cycles.log.logged import Basis, Guess, LogOptions
from tracelabels.cycles.log.shapes import VALUES, Shape, shape_of
from tracelabels.cycles.log.vocabulary import Role, read_heading
from tracelabels.errors import LogError

SEPARATORS: Final = ("\t", ";", "|", ",", " ")
"""Tried in this order; of equally good ones the first is taken."""
NAMES: Final = {"\t": "tab", ";": "semicolon", "|": "bar", ",": "comma", " ": "blanks"}
TABS_SUFFICE: Final = 0.3
"""Score of rows cut at tabs from which blanks are not what separates."""
LINES_LOOKED_AT: Final = 100
FIRST_LOOKED_AT: Final = 30
MOST_FIELDS: Final = 40
"""So many fields of a line are looked at."""
LONGEST_LINE: Final = 1000
MOST_ENDS: Final = 14
"""So many fields are looked at as decimals of the one before."""
PROVED_TENTHS: Final = 7
"""Without a header, a field of one digit is taken for tenths that a comma cut off if so many of the ten are seen."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Dialect:
    """How a log is written."""

    separator: str
    """What its fields are cut at; a space stands for any run of blanks."""
    decimal_mark: str
    """``.`` or ``,``."""
    width: int
    """How many fields most rows of readings have."""
    spans: tuple[tuple[int, int], ...] | None
    """Where separator and decimal mark are both commas: from which field to which each column goes."""
    guesses: tuple[Guess, ...]
    """Separator and decimal mark, with their basis."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Trial:
    """A separator and a decimal mark, and what the sample looks like with them."""

    separator: str
    decimal_mark: str
    score: float
    marked: int
    """How many numbers have the decimal mark; a comma before three digits is rather one than a mark of thousands."""
    width: int
    is_quoted: bool
    rows: tuple[tuple[str, ...], ...]
    shapes: tuple[tuple[Shape, ...], ...]


def find_dialect(text: LogText, options: LogOptions) -> Dialect:
    """Find separator and decimal mark.

    Raises:
        LogError: with none of them there are rows of readings.
    """
    lines = _sample(text)
    marked = re.fullmatch(r"sep=(.)", text.line(0).strip())
    stated = marked[1] if marked and marked[1] in SEPARATORS else None
    separators = [ASKED[options.separator]] if options.separator else [stated] if stated else SEPARATORS
    marks = [options.decimal_mark] if options.decimal_mark else MARKS
    pairs = [(separator, mark) for separator in separators for mark in marks if separator != mark]
    if "," in separators and "," in marks and any('"' in line for line in lines):
        pairs.append((",", ","))  # a quoted field may hold a decimal comma
    trials = [_try(lines, separator, mark) for separator, mark in pairs or [(",", ",")]]
    best = _best(trials)
    if best.separator == " ":
        # Blanks cut at tabs too, and cut a date from its clock: where tabs alone make rows, tabs it is.
        best = _best([trial for trial in trials if trial.separator == "\t" and trial.score >= TABS_SUFFICE] or [best])
    if best.score <= 0:
        raise _no_rows(text, options)
    return _settle(text, best, options, is_stated=stated is not None)


def _best(trials: Sequence[_Trial]) -> _Trial:
    return max(trials, key=lambda trial: (trial.score, trial.marked))


def _no_rows(text: LogText, options: LogOptions) -> LogError:
    tried = f"separated by {NAMES[ASKED[options.separator]]}" if options.separator else "with any usual separator"
    return LogError(
        given=f"{text.name}, in which no rows of readings are found {tried}; its first line is {text.line(0, 60)!r}",
        expected="rows with a time and a temperature, the same number of columns in each",
        remedy="export the readings as a table, or say how it is written with --separator and --decimal-mark",
    )


def _sample(text: LogText) -> list[str]:
    """Lines from the whole file, evenly spread, since the first ones may be no readings; and some of the first.

    A column of minutes tells its decimal mark only while it is below one: 0,500 is no thousand, 1,500 may be one.
    """
    count = len(text.line_ends)
    places = np.unique(np.linspace(0, count - 1, min(count, LINES_LOOKED_AT)).astype(np.int64))
    places = np.union1d(places, np.arange(min(count, FIRST_LOOKED_AT)))
    lines = [text.line(int(place), LONGEST_LINE) for place in places]
    return [line for line in lines if line.strip(" \t\x00")]


def split_line(line: str, separator: str) -> tuple[str, ...]:
    """Cut one line as the whole table will be cut."""
    if separator == " ":
        return tuple(line.split()[:MOST_FIELDS])
    try:
        fields = next(csv.reader([line.replace("\x00", "?")], delimiter=separator), [])
    except csv.Error:
        fields = line.split(separator)
    return tuple(one.strip(' \t\r"') for one in fields[:MOST_FIELDS])


def _try(lines: Sequence[str], separator: str, mark: str) -> _Trial:
    rows = [split_line(line, separator) for line in lines]
    shapes = [tuple(shape_of(field, mark) for field in row) for row in rows]
    kept = [place for place, row in enumerate(shapes) if sum(shape in VALUES for shape in row) >= 2]  # noqa: PLR2004
    widths = Counter(len(rows[place]) for place in kept)
    width = widths.most_common(1)[0][0] if widths else 0
    kept = [place for place in kept if len(rows[place]) == width]
    filled = [sum(shape is not Shape.EMPTY for shape in shapes[place]) for place in kept]
    good = [sum(shape in VALUES for shape in shapes[place]) for place in kept]
    score = sum(some / most for some, most in zip(good, filled, strict=True)) / max(len(lines), 1)
    numbers = (
        field
        for place in kept
        for field, shape in zip(rows[place], shapes[place], strict=True)
        if shape is Shape.NUMBER
    )
    return _Trial(
        separator=separator,
        decimal_mark=mark,
        score=score,
        marked=sum(mark in field for field in numbers),
        width=width,
        is_quoted=any('"' in lines[place] for place in kept),
        rows=tuple(rows[place] for place in kept),
        shapes=tuple(shapes[place] for place in kept),
    )


def _settle(text: LogText, best: _Trial, options: LogOptions, *, is_stated: bool) -> Dialect:
    spans = None
    mark = best.decimal_mark
    if best.separator == "," and (options.decimal_mark or ",") == "," and not best.is_quoted and _has_no_mark(best):
        spans = _find_spans(best, _header_width(text, best.width), is_asked=options.decimal_mark == ",")
        mark = "," if spans else mark
    basis = Basis.GIVEN if options.separator else Basis.STATED if is_stated else Basis.GUESSED
    because = "" if basis is Basis.GIVEN else "the file's first line names it" if is_stated else "rows fit best so"
    marked = any("." in field or "," in field for row in best.rows for field in row)
    both = "the comma separates columns and decimals: columns are told apart by the header and by ends of one width"
    why_mark = both if spans else "numbers are written so" if marked else "no number has one"
    return Dialect(
        separator=best.separator,
        decimal_mark=mark,
        width=best.width,
        spans=spans,
        guesses=(
            Guess(what="separator", value=NAMES[best.separator], basis=basis, because=because),
            Guess(
                what="decimal_mark",
                value=mark,
                basis=Basis.GIVEN if options.decimal_mark else Basis.GUESSED,
                because="" if options.decimal_mark else why_mark,
            ),
        ),
    )


def _has_no_mark(trial: _Trial) -> bool:
    numbers = (
        field
        for row, shapes in zip(trial.rows, trial.shapes, strict=True)
        for field, shape in zip(row, shapes, strict=True)
        if shape is Shape.NUMBER
    )
    return not any("." in field or "," in field for field in numbers)


def _header_width(text: LogText, width: int) -> int | None:
    """Return how many words the line above the first row has, if they are no more than the row's fields."""
    above: tuple[str, ...] = ()
    for place in range(min(len(text.line_ends), LINES_LOOKED_AT)):
        fields = split_line(text.line(place, LONGEST_LINE), ",")
        shapes = [shape_of(field, ".") for field in fields]
        if len(fields) == width and sum(shape in VALUES for shape in shapes) >= 2:  # noqa: PLR2004 - as in the sample
            break
        is_named = any(read_heading(field).role is not Role.UNKNOWN for field in fields)
        if len(fields) > 1 and is_named and all(shape is Shape.WORDS for shape in shapes):
            above = fields
    return len(above) if 1 < len(above) <= width else None


def _find_spans(trial: _Trial, columns: int | None, *, is_asked: bool) -> tuple[tuple[int, int], ...] | None:
    """Find which fields are the decimals of the one before; None if none is."""
    if columns == trial.width and not is_asked:
        return None  # a name for each field: whole numbers, whatever their width
    numbers = [
        place for place in range(trial.width) if all(row[place] in {Shape.NUMBER, Shape.EMPTY} for row in trial.shapes)
    ]
    ends = [place for place in numbers if place - 1 in numbers and _is_fraction([row[place] for row in trial.rows])]
    pairs = trial.width - columns if columns and columns < trial.width else None
    several = {place: len({row[place] for row in trial.rows}) for place in ends}
    zeros = {place for place in ends if any(len(row[place]) > 1 and row[place][0] == "0" for row in trial.rows)}
    constant = {place for place in numbers if len({row[place] for row in trial.rows}) == 1}
    tenths = {place for place in ends if len(trial.rows[0][place]) == 1 and several[place] >= PROVED_TENTHS}
    if pairs is None and not zeros | tenths and not is_asked:
        return None
    for count in [pairs] if pairs else range(len(ends), 0, -1):
        fitting = [some for some in combinations(ends[-MOST_ENDS:], count) if _is_apart(some)]
        if fitting:
            # No whole number begins with a zero; no column always says the same; decimals are few, and they vary.
            chosen = max(
                fitting,
                key=lambda some: (
                    len(zeros & set(some)),
                    -len(constant - {place - 1 for place in some} - set(some)),
                    -sum(len(trial.rows[0][place]) for place in some),
                    sum(several[place] > 1 for place in some),
                    some,
                ),
            )
            starts = [place for place in range(trial.width) if place not in chosen]
            return tuple((place, place + 1 if place + 1 in chosen else place) for place in starts)
    return None


def _is_fraction(fields: Sequence[str]) -> bool:
    """Decimals have no sign, and in most logs one width."""
    return all(field.isdecimal() for field in fields) and len({len(field) for field in fields}) == 1


def _is_apart(chosen: tuple[int, ...]) -> bool:
    return all(second - first > 1 for first, second in pairwise(chosen))
