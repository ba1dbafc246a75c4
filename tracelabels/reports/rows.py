"""Rows of a page: pieces of text and tables with their height, before anybody knows where they will stand."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from tracelabels.lengths import Mm, Points, points_as_mm
from tracelabels.paper import Face, ascent, descent, text_width, wrapped
from tracelabels.reports.marks import LEADING, Mark, box_of, filled, line, words, words_ending

BODY: Final = Points(7.5)
SMALL: Final = Points(6.5)
SOFT: Final = 0.35
"""Grey of what explains."""
_HEADING: Final = Points(8.5)
_RULE: Final = 0.25
_HAIR: Final = 0.1
_CELL_GAP: Final = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """Something that is not torn apart by the end of a page."""

    height: Mm
    """How high it is."""
    marks: tuple[Mark, ...]
    """What stands in it, from its top left."""
    keeps_next: bool = False
    """Whether it never stands last on a page: a heading goes with what it is over."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A column of a table."""

    title: str
    """What stands over it."""
    width: Mm
    """How wide it is, with the gap to the next."""
    is_number: bool = False
    """Whether its texts end at its right edge."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Style:
    """How a text is set."""

    size: Points = BODY
    """Type size."""
    face: Face = Face.REGULAR
    """Weight."""
    grey: float = 0.0
    """From 0 (black) to 1 (white)."""

    @property
    def step(self) -> float:
        """Return the distance from line to line."""
        return points_as_mm(self.size) * LEADING

    @property
    def first(self) -> float:
        """Return the distance from the top of a line to where its letters stand."""
        return (self.step + ascent(self.size) - descent(self.size)) / 2


PLAIN: Final = Style()
STRONG: Final = Style(face=Face.BOLD)
FINE: Final = Style(size=SMALL)
CAPTION: Final = Style(size=SMALL, grey=SOFT)


def space(height: float) -> Row:
    """Return nothing, so high."""
    return Row(height=Mm(height), marks=())


def heading(text: str, width: float) -> list[Row]:
    """Return a rule, and a title under it."""
    style = Style(size=_HEADING, face=Face.BOLD)
    over = line(((0.0, 1.6), (width, 1.6)), _RULE)
    rows = [Row(height=Mm(2.2), marks=(over,), keeps_next=True)]
    for part in wrapped(text, style.face, style.size, width):
        marks = (words(part, 0.0, style.first, size=style.size, face=style.face),)
        rows.append(Row(height=Mm(style.step + 0.3), marks=marks, keeps_next=True))
    return rows


def paragraph(text: str, width: float, *, style: Style = PLAIN, bullet: str = "") -> list[Row]:
    """Return a text in lines, a row each; a bullet hangs before the first."""
    indent = text_width(f"{bullet} ", style.face, style.size) + 0.6 if bullet else 0.0
    rows = []
    for number, part in enumerate(wrapped(text, style.face, style.size, width - indent)):
        starts = ((bullet, 0.0), (part, indent)) if bullet and number == 0 else ((part, indent),)
        marks = [
            words(one, left, style.first, size=style.size, face=style.face, grey=style.grey) for one, left in starts
        ]
        rows.append(Row(height=Mm(style.step), marks=tuple(marks)))
    return rows


def bullets(texts: Iterable[str], width: float, *, style: Style = PLAIN) -> list[Row]:
    """Return texts with a bullet each."""
    return [row for text in texts for row in paragraph(text, width, style=style, bullet="•")]


def captioned(caption: str, text: str, width: float, *, style: Style = PLAIN) -> Row:
    """Return a text with what it is in small letters above it, as one row."""
    rows = [*paragraph(caption, width, style=CAPTION), *paragraph(text, width, style=style), space(0.9)]
    return stacked(rows)


def stacked(rows: Iterable[Row]) -> Row:
    """Return several rows as one that is not torn apart."""
    down, marks = 0.0, []
    for row in rows:
        marks += [mark.moved(right=0.0, down=down) for mark in row.marks]
        down += row.height
    return Row(height=Mm(down), marks=tuple(marks))


def beside(rows: Sequence[Row], lefts: Sequence[float]) -> Row:
    """Return several rows side by side as one."""
    marks = (mark.moved(right=left, down=0.0) for row, left in zip(rows, lefts, strict=True) for mark in row.marks)
    return Row(height=Mm(max(row.height for row in rows)), marks=tuple(marks))


def table_head(columns: Sequence[Column], *, style: Style = CAPTION) -> Row:
    """Return the titles of a table, with a rule below."""
    row = table_row(columns, [column.title for column in columns], style=style)
    width = sum(column.width for column in columns)
    under = line(((0.0, row.height - 0.2), (width, row.height - 0.2)), _HAIR)
    return Row(height=row.height, marks=(*row.marks, under), keeps_next=True)


def table_row(columns: Sequence[Column], cells: Sequence[str], *, style: Style = PLAIN, shade: float = 1.0) -> Row:
    """Return one row of a table; each cell wraps in its column.

    Args:
        columns: of the table.
        cells: what stands in each.
        style: of all of them.
        shade: the row's ground, from 0 (black) to 1 (white).
    """
    marks: list[Mark] = []
    left, lines = 0.0, 1
    for column, cell in zip(columns, cells, strict=True):
        parts = wrapped(cell, style.face, style.size, column.width - _CELL_GAP)
        lines = max(lines, len(parts))
        for number, part in enumerate(parts):
            baseline = 0.25 + style.first + number * style.step
            marks.append(_cell(part, left, column, baseline, style))
        left += column.width
    height = 0.5 + lines * style.step
    ground = (filled(box_of(-0.8, 0.0, left + 0.8, height), shade),) if shade < 1 else ()
    return Row(height=Mm(height), marks=(*ground, *marks))


def _cell(text: str, left: float, column: Column, baseline: float, style: Style) -> Mark:
    if column.is_number:
        right = left + column.width - _CELL_GAP
        return words_ending(text, right, baseline, size=style.size, face=style.face, grey=style.grey)
    return words(text, left, baseline, size=style.size, face=style.face, grey=style.grey)
