"""What was read, drawn on the photograph for people to look at: a frame round each code and a line of words."""

import io
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path
from typing import Final

from PIL import Image, ImageDraw, ImageFont, ImageOps, UnidentifiedImageError

from tracelabels.assets import fonts_folder
from tracelabels.scanning.picture import Corners, Picture

_LONGEST_SIDE: Final = 1600
_BAND: Final = (24, 26, 30)
_WORDS: Final = (250, 250, 250)


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """One frame."""

    corners: Corners
    """Where, in pixels of the upright picture."""
    colour: tuple[int, int, int]
    """Of the frame and its number."""
    head: str
    """What it says, in one line of the list below the picture."""
    words: tuple[str, ...] = ()
    """More about it; what several marks share is written once, below the last of them."""


def mark(source: Path | bytes, picture: Picture, marks: Sequence[Mark], *, captions: Sequence[str]) -> bytes:
    """Return a PNG of the photograph with numbered frames, and below it a list of what each one says.

    Args:
        source: the file or its bytes; if it is no plain picture (a PDF) the grey picture is drawn on instead.
        picture: the picture as it was read.
        marks: what to draw, in order.
        captions: lines above the list; the first is set bold.
    """
    image = _coloured(source) or Image.fromarray(picture.grey).convert("RGB")
    factor = min(1.0, _LONGEST_SIDE / max(image.size))
    shown = image.resize((round(image.width * factor), round(image.height * factor)), Image.Resampling.LANCZOS)
    pen = ImageDraw.Draw(shown)
    size = max(14, shown.width // 45)
    font = ImageFont.truetype(str(fonts_folder() / "TracelabelsSans-SemiBold.ttf"), size)
    for number, one in enumerate(marks, 1):
        _frame(pen, one, number, factor, font)
    listed = _list(shown.width, marks, captions, size)
    whole = Image.new("RGB", (shown.width, shown.height + listed.height), _BAND)
    whole.paste(shown, (0, 0))
    whole.paste(listed, (0, shown.height))
    out = io.BytesIO()
    whole.save(out, "PNG", optimize=True)
    return out.getvalue()


def _coloured(source: Path | bytes) -> Image.Image | None:
    try:
        with Image.open(io.BytesIO(source) if isinstance(source, bytes) else source) as image:
            return ImageOps.exif_transpose(image).convert("RGB")
    except (UnidentifiedImageError, OSError, ValueError):
        return None  # a PDF, or a kind that only the loader understands: the grey picture serves


def _frame(pen: ImageDraw.ImageDraw, one: Mark, number: int, factor: float, font: ImageFont.FreeTypeFont) -> None:
    points = [(x * factor, y * factor) for x, y in one.corners]
    pen.line([*points, points[0], points[1]], fill=one.colour, width=max(3, round(font.size / 6)), joint="curve")
    left, top = min(x for x, _ in points), min(y for _, y in points)
    text = str(number)
    box = pen.textbbox((0, 0), text, font=font)
    width, height = box[2] - box[0] + 10, font.size + 6
    corner = (max(0.0, left - width), max(0.0, top - height))
    pen.rectangle([corner, (corner[0] + width, corner[1] + height)], fill=one.colour)
    pen.text((corner[0] + 5, corner[1] + 1), text, font=font, fill=_WORDS)


def _list(width: int, marks: Sequence[Mark], captions: Sequence[str], size: int) -> Image.Image:
    bold = ImageFont.truetype(str(fonts_folder() / "TracelabelsSans-SemiBold.ttf"), size)
    plain = ImageFont.truetype(str(fonts_folder() / "TracelabelsSans-Regular.ttf"), size)
    rows: list[tuple[str, ImageFont.FreeTypeFont, tuple[int, int, int], int]] = [
        (piece, plain if place else bold, _WORDS, 0)
        for place, caption in enumerate(captions)
        for piece in _wrapped(caption, plain if place else bold, width - 2 * size)
    ]
    for words, numbered in _by_words(marks):
        rows += [(f"{number}  {one.head}", bold, one.colour, 0) for number, one in numbered]
        for line in words:
            rows += [(piece, plain, _WORDS, 1) for piece in _wrapped(line, plain, width - 4 * size)]
    pitch = round(size * 1.4)
    image = Image.new("RGB", (width, pitch * len(rows) + size), _BAND)
    pen = ImageDraw.Draw(image)
    for place, (text, font, colour, indent) in enumerate(rows):
        pen.text((size + indent * round(size * 1.2), size // 2 + place * pitch), text, font=font, fill=colour)
    return image


def _by_words(marks: Sequence[Mark]) -> list[tuple[tuple[str, ...], list[tuple[int, Mark]]]]:
    """Put neighbours in the list that share their words together, in order."""
    numbered = enumerate(marks, 1)
    return [(words, list(group)) for words, group in groupby(numbered, key=lambda pair: pair[1].words)]


def _wrapped(text: str, font: ImageFont.FreeTypeFont, width: int) -> list[str]:
    lines, line = [], ""
    for word in text.split():
        tried = f"{line} {word}".strip()
        if line and font.getlength(tried) > width:
            lines.append(line)
            line = word
        else:
            line = tried
    return [*lines, line]
