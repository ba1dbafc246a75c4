"""Laid out pages as the bytes of a PDF or a PNG, or the text of an SVG."""

import io
from collections.abc import Iterator, Sequence
from contextlib import AbstractContextManager, nullcontext
from html import escape
from typing import Final

from tracelabels.lengths import Mm, points_as_mm
from tracelabels.paper import Face, Fragment, Paper, rasterise_page, text_width
from tracelabels.reports.marks import Area, Box, Line, Mark, Page, Point, Words

_DPI: Final = 300
_FAMILY: Final = "Inter, 'DejaVu Sans', Verdana, Helvetica, sans-serif"


def as_pdf(pages: Sequence[Page], *, title: str) -> bytes:
    """Return pages, all as large as the first, as a PDF."""
    paper = Paper(width=pages[0].width, height=pages[0].height, dpi=_DPI, title=title)
    for page in pages:
        fragment = paper.fragment()
        for mark in page.marks:
            _draw(fragment, mark)
        paper.begin_page()
        paper.stamp(fragment, left=Mm(0.0), top=Mm(0.0))
    return paper.finish()


def as_png(page: Page, *, title: str, dpi: int = 150) -> bytes:
    """Return a page as a grey PNG; the very PDF is rasterised."""
    from PIL import Image  # noqa: PLC0415  heavy: only who makes pictures pays for it

    pixels = rasterise_page(as_pdf([page], title=title), index=0, dpi=dpi)
    with io.BytesIO() as png:
        Image.fromarray(pixels).save(png, format="PNG", dpi=(dpi, dpi))
        return png.getvalue()


def as_svg(page: Page, *, title: str) -> str:
    """Return a page as an SVG document.

    The reader's own face is used; each text is given the length that it has in ours, so that none runs into another.
    """
    width, height = f"{page.width:g}", f"{page.height:g}"
    size = f'width="{width}mm" height="{height}mm" viewBox="0 0 {width} {height}"'
    clips = list(dict.fromkeys(mark.clip for mark in page.marks if isinstance(mark, Line | Area) and mark.clip))
    parts = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} font-family="{_FAMILY}">',
        f"<title>{escape(title)}</title>",
        f'<rect width="{width}" height="{height}" fill="#fff"/>',
        "<defs>",
        *(_svg_clip(number, clip) for number, clip in enumerate(clips)),
        "</defs>",
        *(part for mark in page.marks for part in _svg_mark(mark, clips)),
    ]
    return "\n".join([*parts, "</svg>\n"])


def _draw(fragment: Fragment, mark: Mark) -> None:
    if isinstance(mark, Words):
        fragment.text(mark.text, left=mark.left, baseline=mark.baseline, size=mark.size, face=mark.face, grey=mark.grey)
        return
    with _clipped(fragment, mark.clip):
        if isinstance(mark, Line):
            fragment.curve(mark.points, thickness=mark.thickness, grey=mark.grey, dashes=mark.dashes)
        else:
            fragment.polygon(mark.points, grey=mark.grey)


def _clipped(fragment: Fragment, clip: Box | None) -> AbstractContextManager[None]:
    if clip is None:
        return nullcontext()
    return fragment.clipped(left=clip.left, top=clip.top, width=clip.width, height=clip.height)


def _svg_clip(number: int, clip: Box) -> str:
    at = f'x="{clip.left:.3f}" y="{clip.top:.3f}" width="{clip.width:.3f}" height="{clip.height:.3f}"'
    return f'<clipPath id="panel{number}"><rect {at}/></clipPath>'


def _svg_mark(mark: Mark, clips: list[Box]) -> Iterator[str]:
    if isinstance(mark, Words):
        yield _svg_words(mark)
        return
    clip = "" if mark.clip is None else f' clip-path="url(#panel{clips.index(mark.clip)})"'
    if isinstance(mark, Area):
        yield f'<path d="{_course(mark.points)}Z" fill="{_colour(mark.grey)}"{clip}/>'
        return
    dashes = f' stroke-dasharray="{" ".join(f"{one:g}" for one in mark.dashes)}"' if mark.dashes else ""
    stroke = f'stroke="{_colour(mark.grey)}" stroke-width="{mark.thickness:g}" stroke-linejoin="round"'
    yield f'<path d="{_course(mark.points)}" fill="none" {stroke}{dashes}{clip}/>'


def _svg_words(mark: Words) -> str:
    if not mark.text.strip():
        return ""
    weight = ' font-weight="600"' if mark.face is Face.BOLD else ""
    length = text_width(mark.text, mark.face, mark.size)
    at = f'{mark.left + length:.3f}" text-anchor="end' if mark.is_ending else f"{mark.left:.3f}"
    return (
        f'<text x="{at}" y="{mark.baseline:.3f}" font-size="{points_as_mm(mark.size):.3f}"{weight} '
        f'textLength="{length:.3f}" lengthAdjust="spacingAndGlyphs" fill="{_colour(mark.grey)}">'
        f"{escape(mark.text)}</text>"
    )


def _course(points: tuple[Point, ...]) -> str:
    return "M" + "L".join([f"{x:.3f} {y:.3f}" for x, y in points])


def _colour(grey: float) -> str:
    return "#" + f"{round(grey * 255):02x}" * 3
