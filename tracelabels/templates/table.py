"""A TOML file that a practice may edit, read key by key; whatever is wrong with it becomes one sentence.

Each sentence names the file, the key and the value. A key that nobody knows is refused with the nearest known one,
because a misspelt key that is passed over silently prints wrong labels.
"""

import difflib
import tomllib
from collections.abc import Collection, Mapping
from enum import StrEnum
from pathlib import Path
from typing import Final, NoReturn, TypeVar

from tracelabels.errors import TemplateError

MAX_BYTES: Final = 200_000
"""The largest file that is read; a sheet, a layout or a programme has a few thousand bytes."""

Choice = TypeVar("Choice", bound=StrEnum)


class Table:
    """One table of a TOML file, whose values are taken out by key and checked on the way."""

    __slots__ = ("_file", "_path", "_values")

    def __init__(self, values: Mapping[str, object], *, file: str, path: str = "") -> None:
        """Wrap a table.

        Args:
            values: What the TOML reader found.
            file: Name of the file, for messages.
            path: Where the table stands in the file ("field 3 (lot)"); empty for the whole file.
        """
        self._values = values
        self._file = file
        self._path = path

    def __contains__(self, key: str) -> bool:
        """Say whether the file has the key here."""
        return key in self._values

    def renamed(self, path: str) -> "Table":
        """Return the same table under a more telling name for messages."""
        return Table(self._values, file=self._file, path=path)

    def allow(self, known: Collection[str]) -> None:
        """Refuse any key that is not among the known ones.

        Raises:
            TemplateError: For the first unknown key.
        """
        for key in self._values:
            if key not in known:
                near = difflib.get_close_matches(key, known, n=1, cutoff=0.5)
                remedy = f"write '{near[0]}'" if near else "remove it"
                raise TemplateError(
                    given=f"{self._file}: {self._where(key)} is not a key that is known here",
                    expected=f"one of {', '.join(known)}",
                    remedy=remedy,
                )

    def number(self, key: str, *, least: float, greatest: float, default: float | None = None) -> float:
        """Take a number within bounds, both included."""
        value = self._take(key, default=default, expected=f"a number from {least:g} to {greatest:g}")
        if isinstance(value, bool) or not isinstance(value, int | float) or not least <= value <= greatest:
            self.refuse(key, value, expected=f"a number from {least:g} to {greatest:g}")
        return float(value)

    def whole(self, key: str, *, least: int, greatest: int, default: int | None = None) -> int:
        """Take a whole number within bounds, both included."""
        value = self._take(key, default=default, expected=f"a whole number from {least} to {greatest}")
        if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= greatest:
            self.refuse(key, value, expected=f"a whole number from {least} to {greatest}")
        return value

    def text(self, key: str, *, default: str | None = None) -> str:
        """Take a text that is not empty (the default may be)."""
        value = self._take(key, default=default, expected="a text in quotes")
        if not isinstance(value, str) or (key in self._values and not value.strip()):
            self.refuse(key, value, expected="a text in quotes that is not empty")
        return value

    def texts(self, key: str) -> tuple[str, ...]:
        """Take a list of texts, none of them empty; no key at all is an empty list."""
        value = self._values.get(key, [])
        if not isinstance(value, list) or not all(isinstance(one, str) and one.strip() for one in value):
            self.refuse(key, value, expected="a list of texts in quotes, none of them empty")
        return tuple(value)

    def flag(self, key: str, *, default: bool) -> bool:
        """Take true or false."""
        value = self._values.get(key, default)
        if not isinstance(value, bool):
            self.refuse(key, value, expected="true or false")
        return value

    def choice(self, key: str, kind: type[Choice], *, default: Choice | None = None) -> Choice:
        """Take one of a closed set of words."""
        words = f"one of {', '.join(kind)}"
        value = self._take(key, default=default, expected=words)
        return self._as_choice(key, kind, value)

    def choices(self, key: str, kind: type[Choice], *, default: tuple[Choice, ...]) -> tuple[Choice, ...]:
        """Take a list of words of a closed set, at least one."""
        value = self._values.get(key, list(default))
        if not isinstance(value, list) or not value:
            self.refuse(key, value, expected=f"a list with at least one of {', '.join(kind)}")
        return tuple(self._as_choice(key, kind, word) for word in value)

    def numbers(self, key: str, *, names: tuple[str, ...], least: float, greatest: float) -> tuple[float, ...]:
        """Take a list of so many numbers; the names say what each is, as in ``["left", "top"]``."""
        expected = f"[{', '.join(names)}], each a number from {least:g} to {greatest:g}"
        value = self._take(key, default=None, expected=expected)
        if not isinstance(value, list) or len(value) != len(names):
            self.refuse(key, value, expected=expected)
        for part in value:
            if isinstance(part, bool) or not isinstance(part, int | float) or not least <= part <= greatest:
                self.refuse(key, value, expected=expected)
        return tuple(float(part) for part in value)

    def table(self, key: str) -> "Table":
        """Take a table."""
        value = self._take(key, default=None, expected=f"a table [{key}]")
        if not isinstance(value, dict):
            self.refuse(key, value, expected=f"a table [{key}]")
        return Table(value, file=self._file, path=key)

    def tables(self, key: str) -> tuple["Table", ...]:
        """Take a list of tables, written as [[key]]; none at all is an empty list."""
        value = self._values.get(key, [])
        if not isinstance(value, list) or not all(isinstance(part, dict) for part in value):
            self.refuse(key, value, expected=f"tables [[{key}]]")
        return tuple(Table(part, file=self._file, path=f"{key} {index}") for index, part in enumerate(value, start=1))

    def refuse(self, key: str, value: object, *, expected: str, remedy: str = "change the value") -> NoReturn:
        """Raise the sentence for a value that is wrong.

        Raises:
            TemplateError: Always.
        """
        raise TemplateError(
            given=f"{self._file}: {self._where(key)} = {_as_toml(value)}", expected=expected, remedy=remedy
        )

    def refuse_whole(self, given: str, *, expected: str, remedy: str) -> NoReturn:
        """Raise the sentence for values that do not go together.

        Raises:
            TemplateError: Always.
        """
        where = f"{self._path}: " if self._path else ""
        raise TemplateError(given=f"{self._file}: {where}{given}", expected=expected, remedy=remedy)

    def _as_choice(self, key: str, kind: type[Choice], value: object) -> Choice:
        try:
            return kind(str(value))
        except ValueError:
            near = difflib.get_close_matches(str(value), list(kind), n=1, cutoff=0.5)
            remedy = f"write '{near[0]}'" if near else "choose one of these words"
            self.refuse(key, value, expected=f"one of {', '.join(kind)}", remedy=remedy)

    def _take(self, key: str, *, default: object, expected: str) -> object:
        value = self._values.get(key, default)
        if value is None:
            raise TemplateError(
                given=f"{self._file}: {self._where(key)} is missing", expected=expected, remedy="add the key"
            )
        return value

    def _where(self, key: str) -> str:
        return f"key '{key}' of {self._path}" if self._path else f"key '{key}'"


def read_table(path: Path) -> Table:
    """Read a TOML file.

    Raises:
        TemplateError: If it is missing, too large, not UTF-8 or not TOML.
    """
    return parse_table(read_template(path), file=path.name)


def read_template(path: Path) -> bytes:
    """Return the bytes of a TOML file, to be kept as they are.

    Raises:
        TemplateError: If it is missing or too large.
    """
    try:
        if path.stat().st_size > MAX_BYTES:
            raise TemplateError(
                given=f"{path.name}: a file of {path.stat().st_size} bytes",
                expected=f"at most {MAX_BYTES} bytes",
                remedy="give a sheet, layout or programme file",
            )
        return path.read_bytes()
    except OSError as problem:
        raise TemplateError(
            given=f"{path.name}: the file cannot be read ({problem.strerror})",
            expected="a readable TOML file",
            remedy="check the name and the folder",
        ) from problem


def parse_table(data: bytes, *, file: str) -> Table:
    """Parse the whole bytes of a TOML file.

    Raises:
        TemplateError: If they are not UTF-8 or not TOML.
    """
    try:
        return Table(tomllib.loads(data.decode("utf-8")), file=file)
    except UnicodeDecodeError as problem:
        raise TemplateError(
            given=f"{file}: byte {problem.start + 1} is not UTF-8",
            expected="a text file in UTF-8",
            remedy="save it with that encoding",
        ) from problem
    except tomllib.TOMLDecodeError as problem:
        raise TemplateError(
            given=f"{file}: no TOML ({problem})",
            expected="key = value lines under [table] heads",
            remedy="mend that line",
        ) from problem
    except RecursionError as problem:
        raise TemplateError(
            given=f"{file}: values nested too deeply",
            expected="a sheet, layout or programme file",
            remedy="give another file",
        ) from problem


def _as_toml(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return f"'{value}'"
    return str(value)
