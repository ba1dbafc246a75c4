"""The embedded text face: measures, and which characters it has.

One face in two weights for everything printed. Its zero is slashed, its capital I has serifs and its small l a
tail, so that ``0/O`` and ``1/I/l`` are never taken for each other on a label. All digits are equally wide: where one
serial or date fits, every other fits too.
"""

from enum import StrEnum
from functools import cache
from typing import TYPE_CHECKING, Final

from tracelabels.assets import fonts_folder
from tracelabels.lengths import Mm, Points, points_as_mm

if TYPE_CHECKING:
    from reportlab.pdfbase.ttfonts import TTFont


class Face(StrEnum):
    """The weights of the text face; the value is the file's name without its ending."""

    REGULAR = "TracelabelsSans-Regular"
    BOLD = "TracelabelsSans-SemiBold"


# Read from the files' OS/2 and hhea tables in units of 1/2816 em; a test compares them with the files.
_UNITS_PER_EM: Final = 2816
_ASCENT: Final = 2728 / _UNITS_PER_EM
_DESCENT: Final = 680 / _UNITS_PER_EM
_CAP_HEIGHT: Final = 2048 / _UNITS_PER_EM
_X_HEIGHT: Final = 1536 / _UNITS_PER_EM


@cache
def embedded_font(face: Face) -> "TTFont":
    """Load the font file of a weight, once in a process."""
    from reportlab.pdfbase.ttfonts import TTFont  # noqa: PLC0415  heavy: only who measures or draws text pays for it

    return TTFont(face.value, str(fonts_folder() / f"{face.value}.ttf"), asciiReadable=0)


class _Advances(dict[str, float]):
    """The advance width of each character in thousandths of an em; a character is looked up once."""

    def __init__(self, face: Face) -> None:
        super().__init__()
        self._widths: dict[int, float] = embedded_font(face).face.charWidths

    def __missing__(self, character: str) -> float:
        width = self._widths.get(ord(character), 0.0)
        self[character] = width
        return width


@cache
def _advances(face: Face) -> _Advances:
    return _Advances(face)


def text_width(text: str, face: Face, size: Points) -> Mm:
    """Return how wide a line of text is in millimetres, without kerning, as it will be printed."""
    return Mm(sum(map(_advances(face).__getitem__, text)) * points_as_mm(size) / 1000)


def missing_characters(text: str) -> tuple[str, ...]:
    """Return the characters of a text that the face cannot show, each once, in order; empty if it can show all."""
    known = embedded_font(Face.REGULAR).face.charToGlyph
    return tuple(dict.fromkeys(character for character in text if ord(character) not in known))


def ascent(size: Points) -> Mm:
    """Return the height of the face above the baseline, accents included."""
    return Mm(points_as_mm(size) * _ASCENT)


def descent(size: Points) -> Mm:
    """Return the depth of the face below the baseline (positive)."""
    return Mm(points_as_mm(size) * _DESCENT)


def cap_height(size: Points) -> Mm:
    """Return the height of a capital letter or a digit."""
    return Mm(points_as_mm(size) * _CAP_HEIGHT)


def x_height(size: Points) -> Mm:
    """Return the height of a small letter without ascender."""
    return Mm(points_as_mm(size) * _X_HEIGHT)
