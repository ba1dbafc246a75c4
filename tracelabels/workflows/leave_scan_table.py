"""Many scanned photographs as one table: a row for each code, and one for each picture in which nothing was read."""

import csv
import io
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from tracelabels.scanning import Corners
from tracelabels.words import as_cell
from tracelabels.workflows.check_at_chair import Answer, PhotoAnswer
from tracelabels.workflows.leave_file import FileKind, leave_file, require_place

COLUMNS: Final = (
    "file",
    "page",
    "symbology",
    "text",
    "bracketed",
    "verdict",
    "reasons",
    "position",
    "how",
    "unread",
    "ms",
    "error",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ScannedPhoto:
    """One file that was looked at."""

    name: str
    """As it was given."""
    pages: tuple[PhotoAnswer, ...]
    """What was said about each page, up to the one that was broken, if one was."""
    problem: str | None
    """Why no more of it could be looked at, in one sentence."""

    @property
    def is_empty(self) -> bool:
        """Say whether nothing was read in it."""
        return not any(page.answers for page in self.pages)


def require_table(out: Path, *, not_over: Iterable[Path]) -> None:
    """See that a table may be left at a place, before anything is scanned.

    Raises:
        InputError: the folder is not there, or something else lies there.
    """
    require_place(out, FileKind.CSV, not_over=tuple(not_over))


def leave_scan_table(out: Path, scanned: Iterable[ScannedPhoto]) -> None:
    r"""Leave the table as CSV in UTF-8 with its mark, as spreadsheets want it; whole or not at all.

    A text stands as it was scanned, but for control characters, which are written with a backslash (``\x1d``; a
    backslash as two), and an apostrophe in front of what a spreadsheet would take for a formula.
    """
    written = io.StringIO()
    table = csv.writer(written)
    table.writerow(COLUMNS)
    table.writerows(row for one in scanned for row in _rows(one))
    leave_file(out, written.getvalue().encode("utf-8-sig", errors="replace"))


def _rows(one: ScannedPhoto) -> Iterator[tuple[str, ...]]:
    file = as_cell(one.name)
    for page in one.pages:
        unread, ms = str(len(page.scan.unread)), f"{page.scan.elapsed_ms:.1f}"
        for said in page.answers:
            yield file, str(page.page), *_code_cells(said), unread, ms, ""
        if not page.answers:
            why = "; ".join(("nothing was read", *page.scan.advice))
            yield file, str(page.page), "", "", "", "", as_cell(why), "", "", unread, ms, ""
    if one.problem is not None:
        yield (file, *[""] * (len(COLUMNS) - 2), as_cell(one.problem))


def _code_cells(said: Answer) -> Iterator[str]:
    """Give the cells from the symbology to how it was read."""
    reading = said.reading
    yield reading.symbology_identifier
    yield as_cell(_visible(reading.text))
    yield as_cell(_visible(reading.human_readable or ""))
    yield said.verdict.value if said.verdict else ""
    yield as_cell("; ".join(reason.sentence for reason in said.reasons))
    yield _position(reading.corners)
    yield reading.how


def _visible(text: str) -> str:
    """Write control characters, which a spreadsheet drops, so that they can be seen and put back."""
    return "".join(one if one.isprintable() else _escaped(one) for one in text.replace("\\", "\\\\"))


def _escaped(character: str) -> str:
    return character.encode("unicode_escape").decode("ascii")


def _position(corners: Corners) -> str:
    return " ".join(f"({x},{y})" for x, y in corners)
