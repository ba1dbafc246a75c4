"""The curve of a cycle as a picture of its own, with a few words above it: PDF, PNG or SVG."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from tracelabels.custody import ProbePlace
from tracelabels.cycles import CycleFindings
from tracelabels.lengths import Mm, Points
from tracelabels.paper import Face, wrapped
from tracelabels.reports.curve_chart import CurveChart, lay_out_chart
from tracelabels.reports.drawing import as_pdf, as_png, as_svg
from tracelabels.reports.figures import figures_of
from tracelabels.reports.marks import LEADING, Mark, Page, box_of, words
from tracelabels.words import in_words

_WIDTH: Final = 210.0
_CHART: Final = 105.0
_EDGE: Final = 10.0
_TITLE, _BODY = Points(12.0), Points(8.0)
_STEP: Final = 3.6
_MOST_REASONS: Final = 4
PROBE_WORDS: Final = {
    ProbePlace.CHAMBER: "probe in the chamber: says nothing of the inside of a closed tube",
    ProbePlace.REFERENCE_TUBE: "probe in a reference tube of the same fill",
    ProbePlace.UNKNOWN: "nobody stated where the probe was",
}
"""Where the probe was, in words that stand with every number."""


class PictureKind(StrEnum):
    """What a picture can be; the value is the ending of its file."""

    PDF = "pdf"
    PNG = "png"
    SVG = "svg"


@dataclass(frozen=True, slots=True, kw_only=True)
class CurvePicture:
    """What the picture shows."""

    title: str
    """What it is of: a load's number, or the name of the logger's file."""
    chart: CurveChart
    """The curve."""


def draw_curve(picture: CurvePicture, kind: PictureKind) -> bytes:
    """Return the picture as the bytes of a file."""
    page = lay_out_picture(picture)
    match kind:
        case PictureKind.PDF:
            return as_pdf([page], title=picture.title)
        case PictureKind.PNG:
            return as_png(page, title=picture.title)
        case PictureKind.SVG:
            return as_svg(page, title=picture.title).encode()


def lay_out_picture(picture: CurvePicture) -> Page:
    """Return where everything stands: title, what was found, curve."""
    room = _WIDTH - 2 * _EDGE
    marks: list[Mark] = []
    y = _EDGE + 4.0
    for part in wrapped(picture.title, Face.BOLD, _TITLE, room):
        marks.append(words(part, _EDGE, y, size=_TITLE, face=Face.BOLD))
        y += LEADING * 4.3
    for text in _found(picture.chart.findings):
        for part in wrapped(text, Face.REGULAR, _BODY, room):
            marks.append(words(part, _EDGE, y, size=_BODY))
            y += _STEP
    marks += lay_out_chart(picture.chart, box_of(_EDGE, y, room, _CHART))
    return Page(width=Mm(_WIDTH), height=Mm(y + _CHART + _EDGE), marks=tuple(marks))


def _found(found: CycleFindings) -> tuple[str, ...]:
    """Return what was found, a line each; the verdict first, with its first reasons."""
    numbers = "; ".join(
        f"{one.what} {one.written}" + (f" ({one.interval})" if one.interval else "") for one in figures_of(found)[:2]
    )
    lines = [f"{numbers}; {PROBE_WORDS[found.probe]}"]
    if found.programme is not None and found.verdict is not None:
        lines.insert(0, f"{found.programme.title}: {in_words(found.verdict)}")
    more = len(found.reasons) - _MOST_REASONS
    lines += found.reasons[:_MOST_REASONS]
    return (*lines, f"and {more} more reasons") if more > 0 else tuple(lines)
