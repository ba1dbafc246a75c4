"""The bytes of a file as bytes of text in which digits, separators and line ends are single ASCII bytes."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tracelabels.cycles.log.logged import Basis, Guess
from tracelabels.errors import LogError

LARGEST_BYTES: Final = 80_000_000
"""A cycle written every second for a whole day has 86,400 rows, about 4 MB; this is room for two million rows."""

MOST_LINES: Final = 4_000_000
"""So many short lines are within that size, and take ten times their bytes of memory."""

NO_TEXT: Final = (
    (b"PK\x03\x04", "a spreadsheet workbook or an archive"),
    (b"\xd0\xcf\x11\xe0", "a spreadsheet workbook of the old kind"),
    (b"%PDF", "a PDF"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"\x1f\x8b", "a compressed file"),
    (b"SQLite format 3", "a database"),
)
"""How files begin that are often handed in by mistake."""

MARKS: Final = (
    (b"\xef\xbb\xbf", "utf-8"),
    (b"\xff\xfe\x00\x00", "utf-32-le"),
    (b"\x00\x00\xfe\xff", "utf-32-be"),
    (b"\xff\xfe", "utf-16-le"),
    (b"\xfe\xff", "utf-16-be"),
)
"""Byte order marks (The Unicode Standard, section 23.8); longer ones first, since one begins like a shorter one."""

NEWLINE: Final = 10
SAMPLE: Final = 4000
EMPTY: Final = b"\x00 \t\r\n"
"""Bytes that say nothing."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LogText:
    """The text of a log; its last line ends."""

    name: str
    """The file's name, for sentences."""
    content: bytes
    """Its text, in an encoding whose ASCII characters are single bytes."""
    buffer: NDArray[np.uint8]
    """The same bytes, shape (bytes,)."""
    encoding: str
    """``utf-8`` or ``cp1252``."""
    line_ends: NDArray[np.int64]
    """Where each line ends, shape (lines,): the place of its line feed."""
    is_whole: bool
    """Whether its last line ended before one was put in."""
    guess: Guess
    """In which encoding the file was written."""

    def line(self, place: int, most: int = 1000) -> str:
        """Return a line, counted from 0, without its end; only its first bytes if it is longer."""
        start = 0 if place == 0 else int(self.line_ends[place - 1]) + 1
        return self.as_text(self.content[start : min(int(self.line_ends[place]), start + most)]).rstrip("\r")

    def as_text(self, some: bytes) -> str:
        """Return some of its bytes as text."""
        return some.decode(self.encoding, errors="replace")


def decode(content: bytes, *, name: str) -> LogText:
    """Find the encoding of a file's bytes and bring its line ends to line feeds.

    Raises:
        LogError: nothing in it, too large, or no text.
    """
    _require_text(content, name)
    plain, encoding, guess = _plain(content)
    plain = _with_line_feeds(plain)
    is_whole = plain.endswith(b"\n")
    plain = plain if is_whole else plain + b"\n"
    if plain.count(b"\n") > MOST_LINES:
        raise LogError(
            given=f"{name} with {plain.count(NEWLINE):,} lines",
            expected=f"at most {MOST_LINES:,}",
            remedy="export the one cycle from the logger, not its whole memory",
        )
    buffer = np.frombuffer(plain, dtype=np.uint8)
    return LogText(
        name=name,
        content=plain,
        buffer=buffer,
        encoding=encoding,
        is_whole=is_whole,
        line_ends=np.flatnonzero(buffer == NEWLINE),
        guess=guess,
    )


def _require_text(content: bytes, name: str) -> None:
    if len(content) > LARGEST_BYTES:
        raise LogError(
            given=f"{name} with {len(content):,} bytes",
            expected=f"at most {LARGEST_BYTES:,}",
            remedy="export the one cycle from the logger, not its whole memory",
        )
    if not content[:SAMPLE].strip(EMPTY) and not content.strip(EMPTY):
        raise LogError(
            given=f"{name}, which is empty",
            expected="rows with a time and a temperature",
            remedy="export the cycle from the logger again",
        )
    for beginning, what in NO_TEXT:
        if content.startswith(beginning):
            raise LogError(
                given=f"{name}, which is {what}",
                expected="a text file with rows of readings",
                remedy="export or save it as text (CSV)",
            )


def _plain(content: bytes) -> tuple[bytes, str, Guess]:
    for mark, encoding in MARKS:
        if content.startswith(mark):
            guess = Guess(what="encoding", value=encoding, basis=Basis.STATED, because="its byte order mark says so")
            rest = content[len(mark) :]
            return (rest if encoding == "utf-8" else _as_utf_8(rest, encoding)), "utf-8", guess
    wide = _find_wide(content)
    if wide is not None:
        because = "every second byte is zero"
        return (
            _as_utf_8(content, wide),
            "utf-8",
            Guess(what="encoding", value=wide, basis=Basis.GUESSED, because=because),
        )
    if content.isascii():
        return (
            content,
            "utf-8",
            Guess(what="encoding", value="ascii", basis=Basis.GUESSED, because="it has nothing else"),
        )
    try:
        content.decode("utf-8")
    except UnicodeDecodeError:
        because = "it is no UTF-8; its letters beyond ASCII may be others"
        return content, "cp1252", Guess(what="encoding", value="cp1252", basis=Basis.GUESSED, because=because)
    because = "letters beyond ASCII are well-formed"
    return content, "utf-8", Guess(what="encoding", value="utf-8", basis=Basis.GUESSED, because=because)


def _as_utf_8(content: bytes, encoding: str) -> bytes:
    return content.decode(encoding, errors="replace").encode("utf-8", errors="replace")


def _find_wide(content: bytes) -> str | None:
    """Digits and separators in two bytes have a zero in every second place, and in no other."""
    if len(content) < 4:  # noqa: PLR2004 - two characters
        return None
    head = np.frombuffer(content[:SAMPLE], dtype=np.uint8)
    even, odd = np.mean(head[::2] == 0), np.mean(head[1::2] == 0)
    if max(even, odd) < 0.8 or min(even, odd) > 0.1:  # noqa: PLR2004 - nearly all of one, nearly none of the other
        return None
    return "utf-16-le" if odd > even else "utf-16-be"


def _with_line_feeds(plain: bytes) -> bytes:
    """Bring lone carriage returns to line feeds, if they are what ends the lines; one before a line feed is a blank."""
    if b"\r" in plain and plain.count(b"\r") > 2 * plain.count(b"\n"):
        plain = plain.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    return plain
