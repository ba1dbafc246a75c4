"""Setting a text into its place by measured widths.

Sizes go down from the largest to the smallest in steps of a quarter point; the first at which the text fits is taken.
A place with a height is filled by breaking at spaces and after hyphens: a smaller size takes more lines in it. Only a
text that may be abbreviated is ever cut: at the smallest size, after the last word that fits (or within the first),
with "…" to show it.
"""

import math
import re
import unicodedata
from dataclasses import dataclass, replace
from typing import Final

from tracelabels.errors import LabelError
from tracelabels.labels.boxes import line_pitch
from tracelabels.labels.layouts import Shorten
from tracelabels.labels.legible import SIZE_STEP
from tracelabels.lengths import Mm, Points
from tracelabels.paper import Face, cap_height, missing_characters, text_width

ELLIPSIS: Final = "…"
_ROUNDING: Final = 1e-9
_ONE_POINT: Final = Points(1.0)
_BALANCING_STEPS: Final = 7
_ANY_HEIGHT: Final = Mm(100_000.0)
# A piece ends after a run of hyphens or before a space; the space belongs to no line end.
_PIECES: Final = re.compile(r" ?(?:[^ \-]*-+|[^ \-]+)")


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """The place that a text is fitted into.

    Attributes:
        width: Width of each line.
        height: From the top of the first capitals to the last baseline; 0 for a single line.
        largest: Type size to begin with.
        smallest: Smallest type size.
        face: Weight of the type.
        shorten: Whether the text may be cut.
    """

    width: Mm
    height: Mm
    largest: Points
    smallest: Points
    face: Face
    shorten: Shorten


@dataclass(frozen=True, slots=True, kw_only=True)
class FittedText:
    """A text that fits.

    Attributes:
        size: Type size.
        lines: Its lines.
        widths: Width of each line.
    """

    size: Points
    lines: tuple[str, ...]
    widths: tuple[Mm, ...]


def find_fitted(text: str, room: Room) -> FittedText | None:
    """Fit a text, or return None if it does not fit at the smallest size and may not be cut.

    Args:
        text: One paragraph, or several divided by line feeds, each of which begins a new line.
        room: The place.
    """
    if not room.height and "\n" not in text:
        return _on_one_line(text, room)
    paragraphs = text.split("\n")
    for size in _sizes(room):
        lines = _broken(paragraphs, room, size)
        if lines is not None:
            return _fitted(_balanced(paragraphs, room, size, lines), room.face, size)
    return _cut(" ".join(paragraphs), room) if room.shorten is Shorten.ABBREVIATE else None


def clean_text(text: str) -> str:
    """Put a text into the form that is printed: composed characters, single spaces, line feeds kept.

    Raises:
        LabelError: If the face lacks a character; it is named.
    """
    if text.isascii() and text.isalnum():
        return text
    composed = unicodedata.normalize("NFC", text)
    cleaned = "\n".join(" ".join(line.split()) for line in composed.split("\n"))
    missing = missing_characters(cleaned.replace("\n", ""))
    if missing:
        code = f"U+{ord(missing[0]):04X}"
        name = unicodedata.name(missing[0], "a character without a name")
        raise LabelError(
            given=f"the character {missing[0]!r} ({name}, {code}) in '{cleaned}'",
            expected="characters that the text face has (Latin, Greek, Cyrillic)",
            remedy="write it with other characters",
        )
    return cleaned


def lines_at(size: Points, room: Room) -> int:
    """Return how many lines of a size go into a place."""
    if not room.height:
        return 1
    return 1 + int((room.height - cap_height(size)) / line_pitch(size) + _ROUNDING)


def what_would_fit(text: str, room: Room) -> str:
    """Say what a text needs at the smallest size, for the message when it does not fit."""
    face, size = room.face, room.smallest
    if not room.height:
        width = max(text_width(line, face, size) for line in text.split("\n"))
        return f"1 line of {_rounded_up(width)} mm"
    word = max(text_width(piece.strip(), face, size) for piece in _pieces(text.replace("\n", " ")))
    if word > room.width:
        return f"a width of {_rounded_up(word)} mm, which its longest word takes"
    lines = _broken(text.split("\n"), replace(room, height=_ANY_HEIGHT), size)
    return f"{len(lines or ())} lines of that width, where there is room for {lines_at(size, room)}"


def _rounded_up(length: float) -> str:
    """Show a length in tenths of a millimetre that is no shorter than it."""
    return f"{math.ceil(length * 10 - _ROUNDING) / 10:.1f}"


def _on_one_line(text: str, room: Room) -> FittedText | None:
    unit = text_width(text, room.face, _ONE_POINT)
    if unit * room.largest <= room.width:
        size = room.largest
    else:
        size = Points(math.floor(room.width / unit / SIZE_STEP + _ROUNDING) * SIZE_STEP)
    if size < room.smallest:
        return _cut(text, room) if room.shorten is Shorten.ABBREVIATE else None
    return FittedText(size=size, lines=(text,), widths=(Mm(unit * size),))


def _sizes(room: Room) -> list[Points]:
    steps = int((room.largest - room.smallest) / SIZE_STEP + _ROUNDING)
    return [Points(room.largest - step * SIZE_STEP) for step in range(steps + 1)]


def _pieces(paragraph: str) -> list[str]:
    """Cut a paragraph where it may be broken; put together again the pieces are the paragraph."""
    return _PIECES.findall(paragraph)


def _broken(paragraphs: list[str], room: Room, size: Points) -> tuple[str, ...] | None:
    """Break paragraphs into lines, or return None if they are too many or a piece is too wide."""
    lines: list[str] = []
    most = lines_at(size, room)
    for paragraph in paragraphs:
        line = ""
        for piece in _pieces(paragraph):
            longer = line + piece if line else piece.lstrip()
            if text_width(longer, room.face, size) <= room.width + _ROUNDING:
                line = longer
                continue
            if line:
                lines.append(line)
            line = piece.lstrip()
            if text_width(line, room.face, size) > room.width + _ROUNDING:
                return None
        lines.append(line)
        if len(lines) > most:
            return None
    return tuple(lines)


def _balanced(paragraphs: list[str], room: Room, size: Points, lines: tuple[str, ...]) -> tuple[str, ...]:
    """Break one paragraph again in the narrowest width that needs no more lines, so that no word is left alone."""
    if len(paragraphs) > 1 or len(lines) == 1:
        return lines
    low, high = 0.0, float(room.width)
    for _ in range(_BALANCING_STEPS):
        middle = (low + high) / 2
        narrower = _broken(paragraphs, replace(room, width=Mm(middle)), size)
        if narrower is None or len(narrower) > len(lines):
            low = middle
        else:
            high, lines = middle, narrower
    return lines


def _fitted(lines: tuple[str, ...], face: Face, size: Points) -> FittedText:
    return FittedText(size=size, lines=lines, widths=tuple(text_width(line, face, size) for line in lines))


def _cut(text: str, room: Room) -> FittedText | None:
    """Abbreviate by the visible rule: whole words as far as they go, then the ellipsis."""
    pieces = _pieces(text)
    for count in range(len(pieces) - 1, 0, -1):
        lines = _broken(["".join(pieces[:count]).strip() + ELLIPSIS], room, room.smallest)
        if lines is not None:
            return _fitted(lines, room.face, room.smallest)
    first = pieces[0] if pieces else ""
    for length in range(len(first) - 1, 0, -1):
        lines = _broken([first[:length] + ELLIPSIS], room, room.smallest)
        if lines is not None:
            return _fitted(lines, room.face, room.smallest)
    return None
