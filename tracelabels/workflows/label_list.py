"""Labels straight from a list (CSV), without a ledger: every row is checked before anything is set.

The text is read once and its rows are gone through twice: once to check every row and name every bad one by its line,
once to set the labels, so that a list of a hundred thousand rows is never held as values.
"""

import csv
import difflib
import io
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Final

from tracelabels.errors import InputError, TracelabelsError
from tracelabels.identifiers import IdentifierMode, LabelIdentity, find_iso_day, is_serial, require_readable
from tracelabels.identifiers.serial import SERIAL_LENGTH
from tracelabels.labels import LabelContent, LotKind, Trial
from tracelabels.settings import Settings

LONGEST_LIST: Final = 64_000_000
"""Bytes; half a million labels."""
MAX_CELL: Final = 200
_ALWAYS: Final = ("product", "lot", "use_by", "prepared", "serial")
_OPTIONAL: Final = (
    "item",
    "gtin",
    "lot_kind",
    "volume",
    "contents",
    "steriliser",
    "load_number",
    "processed_on",
    "operator",
    "notes",
)
COLUMNS: Final = (*_ALWAYS, *_OPTIONAL)
"""Column names that a list may have; the first five it must have, their cells may be empty."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RowProblem:
    """A row that cannot become a label."""

    line: int
    """Line in the file, the header being line 1."""
    sentence: str
    """What is wrong and what to do."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelList:
    """A list of labels in a file whose header has been understood."""

    file: Path
    """Where it lies; ``-`` was read into memory."""
    text: str
    """The whole list, read once: what was checked is what is printed."""
    delimiter: str
    """Comma, semicolon or tab."""
    columns: tuple[str, ...]
    """The header, in order."""

    def check(self, rules: "ListRules") -> "CheckedList":
        """Go through the whole list: good rows, what is wrong with the others, and what to look at again."""
        good = 0
        problems: list[RowProblem] = []
        warnings: list[RowProblem] = []
        seen: dict[str, int] = {}
        for line, row in self._rows():
            try:
                content = self._content(row)
                rules.require(content)
                _require_new(content.identity.serial, line, seen)
            except TracelabelsError as problem:
                problems.append(RowProblem(line=line, sentence=str(problem)))
            else:
                good += 1
                warnings += (RowProblem(line=line, sentence=one) for one in rules.doubts(content))
        return CheckedList(good=good, problems=tuple(problems), warnings=tuple(warnings))

    def contents(self) -> Iterator[LabelContent]:
        """Yield the labels in order; call :meth:`check` before."""
        for _, row in self._rows():
            yield self._content(row)

    def _rows(self) -> Iterator[tuple[int, list[str]]]:
        reader = csv.reader(io.StringIO(self.text, newline=""), delimiter=self.delimiter, strict=True)
        next(reader, None)
        try:
            for row in reader:
                if any(cell.strip() for cell in row):
                    yield reader.line_num, row
        except csv.Error as problem:
            raise InputError(
                given=f"{self.file}, line {reader.line_num}: {problem}",
                expected="cells separated by the same character, quotes closed",
                remedy="mend that line",
            ) from problem

    def _content(self, row: list[str]) -> LabelContent:
        if len(row) != len(self.columns):
            raise InputError(
                given=f"{len(row)} cells", expected=f"{len(self.columns)}, one for each column", remedy="mend the row"
            )
        cells = {name: _cell(name, text) for name, text in zip(self.columns, row, strict=True)}
        gtin = cells.get("gtin")
        return LabelContent(
            identity=LabelIdentity(
                gtin=gtin,
                use_by=_day("use_by", cells["use_by"]),
                prepared=_day("prepared", cells["prepared"]),
                lot=cells["lot"],
                serial=_required("serial", cells["serial"]),
            ),
            mode=IdentifierMode.GS1 if gtin else IdentifierMode.IN_HOUSE,
            product=cells["product"],
            item_number=cells.get("item"),
            lot_kind=_lot_kind(cells.get("lot_kind")),
            volume=cells.get("volume"),
            contents=cells.get("contents"),
            steriliser=cells.get("steriliser"),
            load_number=cells.get("load_number"),
            processed_on=_day("processed_on", cells.get("processed_on")),
            operator=cells.get("operator"),
            notes=cells.get("notes"),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckedList:
    """What was found in a list."""

    good: int
    """How many rows are good."""
    problems: tuple[RowProblem, ...]
    """What is wrong with the others."""
    warnings: tuple[RowProblem, ...]
    """What to look at again in good rows."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ListRules:
    """What a row has to keep to become a label."""

    today: date
    """The day of printing."""
    trial: Trial
    """Tries whether a label can be set."""
    settings: Settings | None
    """The practice's settings; None where no practice lives."""

    def require(self, content: LabelContent) -> None:
        """See that a row can become a label that is true to itself.

        Raises:
            TracelabelsError: it cannot.
        """
        identity = content.identity
        self.trial.require(content)
        require_readable(identity, today=self.today)
        if identity.use_by is not None and identity.prepared is not None and identity.use_by < identity.prepared:
            raise InputError(
                given=f"use_by {identity.use_by.isoformat()}, before prepared {identity.prepared.isoformat()}",
                expected="a use-by on or after the date prepared",
                remedy="correct one of them",
            )
        if identity.gtin is not None and self.settings is not None:
            self._require_own(identity.gtin)

    def _require_own(self, gtin: str) -> None:
        prefix = self.settings.identifiers.company_prefix if self.settings else ""
        if not prefix or not gtin[1:].startswith(prefix):
            raise InputError(
                given=f"GTIN {gtin}, which is not under this practice's company prefix",
                expected=f"a GTIN with {prefix!r} after its first digit" if prefix else "no GTIN, as it owns no prefix",
                remedy="leave it out: the code then claims nothing; a bottle's own GTIN is its maker's",
            )

    def doubts(self, content: LabelContent) -> Iterator[str]:
        """Yield what to look at again in a good row."""
        identity = content.identity
        if identity.use_by is not None and identity.use_by < self.today:
            yield f"use_by {identity.use_by.isoformat()} is past"
        if identity.prepared is not None and identity.prepared > self.today:
            yield f"prepared {identity.prepared.isoformat()} lies ahead"
        serial = identity.serial or ""
        if len(serial) == SERIAL_LENGTH and serial.isascii() and serial.isdigit() and not is_serial(serial):
            yield f"serial {serial} looks like one of this program's, but its check digit is wrong"
        if identity.gtin is not None and self.settings is None:
            yield f"GTIN {identity.gtin}: use only GTINs under your own company prefix; a bottle's GTIN is its maker's"


def open_label_list(file: Path, content: bytes | None = None) -> LabelList:
    """Read a list and understand its header.

    Args:
        file: a CSV file, UTF-8, cells separated by comma, semicolon or tab.
        content: the list itself, if it does not lie in the file.

    Raises:
        InputError: the file cannot be read or is too long, or a column is missing, unknown or there twice.
    """
    text = _decoded(file, _read(file) if content is None else content)
    header = text.partition("\n")[0]
    delimiter = max(",;\t", key=header.count)
    cells = next(csv.reader([header], delimiter=delimiter), [])
    names = tuple(cell.strip().lower().replace(" ", "_") for cell in cells)
    _require_columns(file, names)
    return LabelList(file=file, text=text, delimiter=delimiter, columns=names)


def _read(file: Path) -> bytes:
    try:
        with file.open("rb") as stream:
            return stream.read(LONGEST_LIST + 1)
    except OSError as problem:
        raise InputError(
            given=f"{file}: {problem.strerror}",
            expected="a CSV file that can be read",
            remedy="check its name and place",
        ) from problem


def _decoded(file: Path, content: bytes) -> str:
    if len(content) > LONGEST_LIST:
        raise InputError(
            given=f"{file} of more than {LONGEST_LIST // 1_000_000} MB",
            expected="a list of at most so many",
            remedy="divide it",
        )
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        line = content.count(b"\n", 0, problem.start) + 1
        raise InputError(
            given=f"{file}, line {line}: byte 0x{content[problem.start]:02x}, which is not UTF-8",
            expected="a CSV file in UTF-8",
            remedy="save the list as CSV (UTF-8)",
        ) from problem


def _require_columns(file: Path, names: tuple[str, ...]) -> None:
    for name in names:
        if name not in COLUMNS:
            near = difflib.get_close_matches(name, COLUMNS, n=1)
            raise InputError(
                given=f"{file}: unknown column {name!r}",
                expected=f"columns from {', '.join(COLUMNS)}",
                remedy=f"did you mean {near[0]!r}?" if near else "remove the column or rename it",
            )
        if names.count(name) > 1:
            raise InputError(given=f"{file}: column {name!r} twice", expected="each column once", remedy="remove one")
    for name in _ALWAYS:
        if name not in names:
            raise InputError(
                given=f"{file}: no column {name!r}",
                expected=f"the columns {', '.join(_ALWAYS)}",
                remedy=f"add {name!r} to the first line (its cells may be empty where a label has none)",
            )


def _cell(name: str, text: str) -> str | None:
    cleaned = text.strip()
    if len(cleaned) > MAX_CELL:
        raise InputError(
            given=f"{name} of {len(cleaned)} characters", expected=f"at most {MAX_CELL}", remedy="shorten it"
        )
    return cleaned or None


def _required(name: str, text: str | None) -> str:
    if text is None:
        raise InputError(given=f"an empty {name}", expected=f"a {name} in every row", remedy="fill it in")
    return text


def _day(name: str, text: str | None) -> date | None:
    if text is None:
        return None
    day = find_iso_day(text)
    if day is None:
        raise InputError(
            given=f"{name} {text!r}", expected="a date such as 2027-11-30", remedy="write year, month and day"
        )
    return day


def _lot_kind(text: str | None) -> LotKind:
    if text is None:
        return LotKind.BATCH
    try:
        return LotKind(text)
    except ValueError as problem:
        raise InputError(
            given=f"lot_kind {text!r}",
            expected=" or ".join(kind.value for kind in LotKind),
            remedy="write one of these, or leave it empty for the maker's batch",
        ) from problem


def _require_new(serial: str | None, line: int, seen: dict[str, int]) -> None:
    first = seen.setdefault(serial or "", line)
    if first != line:
        raise InputError(
            given=f"serial {serial!r}, which line {first} has too",
            expected="each serial once",
            remedy="give one of them another serial; for two labels of one tube use --copies",
        )


__all__ = ["COLUMNS", "CheckedList", "LabelList", "ListRules", "RowProblem", "Trial", "as_sentences", "open_label_list"]


def as_sentences(file: Path, problems: Iterable[RowProblem]) -> Iterator[str]:
    """Yield one sentence for each bad row."""
    for problem in problems:
        yield f"{file}, line {problem.line}: {problem.sentence}"
