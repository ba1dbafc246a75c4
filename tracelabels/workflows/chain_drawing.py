"""A laid out picture of the chain as the text of an SVG or the bytes of a PDF."""

from collections.abc import Iterator
from html import escape
from typing import Final

from tracelabels.custody import Kind
from tracelabels.lengths import Mm, points_as_mm
from tracelabels.paper import Face, Paper
from tracelabels.workflows.chain_panels import Panel
from tracelabels.workflows.chain_picture import BOX, PAPERS, Box, Picture, course
from tracelabels.workflows.chain_text import Words

_INK: Final = "#22303c"
_LINE: Final = "#9fb0bd"
_FILLS: Final = {
    Kind.PRODUCT: "#f3e6df",
    Kind.BOTTLE: "#f7d9cd",
    Kind.PREPARATION: "#f6e7c8",
    Kind.TUBE: "#e3ecd2",
    Kind.POUCH: "#d3e8e2",
    Kind.USE: "#d6e4f2",
    Kind.CLIENT: "#e2dcf1",
    Kind.INCIDENT: "#f5cfd3",
    Kind.ADVERSE_EVENT: "#f5cfd3",
}
_OTHER: Final = "#e8ebee"
_DPI: Final = 300


def chain_svg(picture: Picture) -> str:
    """Return the picture as an SVG document; names stand in it as text, so that they can be searched.

    Every line of words says how wide it is, so that another face than ours cannot make it run over its box.
    """
    width, height = f"{picture.width:g}", f"{picture.height:g}"
    size = f'width="{width}mm" height="{height}mm" viewBox="0 0 {width} {height}"'
    style = f'font-family="Inter, DejaVu Sans, Verdana, sans-serif" fill="{_INK}"'
    parts = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} {style}>',
        f"<title>{escape(picture.title)}</title>",
        f'<rect width="{width}" height="{height}" fill="#fff"/>',
    ]
    for line in picture.lines:
        start, *rest = course(line)
        points = " ".join(f"L{x:.2f} {y:.2f}" for x, y in rest)
        parts.append(
            f'<path d="M{start[0]:.2f} {start[1]:.2f} {points}" fill="none" stroke="{_LINE}" stroke-width=".4"/>'
        )
    parts += [_svg_box(box) for box in picture.boxes]
    parts += [_svg_panel(panel) for panel in picture.panels]
    parts += [_svg_words(words) for words in picture.words]
    return "\n".join([*parts, "</svg>\n"])


def _svg_box(box: Box) -> str:
    stroke, thick = (_INK, ".7") if box.is_root else (_LINE, ".3")
    fill = _FILLS.get(box.group.kind, _OTHER)
    at = f'x="{box.left:g}" y="{box.top:.2f}" width="{BOX[0]:g}" height="{box.height:.2f}" rx="1.6"'
    rows = [
        f"<g><title>{escape(box.group.title)}</title>",
        f'<rect {at} fill="{fill}" stroke="{stroke}" stroke-width="{thick}"/>',
    ]
    return "".join([*rows, *map(_svg_words, box.words), "</g>"])


def _svg_panel(panel: Panel) -> str:
    at = f'x="{panel.left:.2f}" y="{panel.top:.2f}" width="{panel.width:.2f}" height="{panel.height:.2f}"'
    rows = [
        f"<g><title>{escape(panel.title)}</title>",
        f'<rect {at} fill="none" stroke="{_LINE}" stroke-width=".3"/>',
    ]
    return "".join([*rows, *map(_svg_words, panel.words), "</g>"])


def _svg_words(words: Words) -> str:
    size = f'font-size="{points_as_mm(words.size):.3f}" textLength="{words.width:.2f}" lengthAdjust="spacingAndGlyphs"'
    weight = ' font-weight="600"' if words.face is Face.BOLD else ""
    return f'<text x="{words.left:.2f}" y="{words.baseline:.2f}" {size}{weight}>{escape(words.text)}</text>'


def chain_pdf(picture: Picture) -> bytes:
    """Return the picture as one page: A4 or A3 lying down if it fits, else as large as it needs to be."""
    fitting = (size for size in PAPERS if picture.width <= size[0] and picture.height <= size[1])
    wide, high = next(fitting, (picture.width, picture.height))
    paper = Paper(width=Mm(wide), height=Mm(high), dpi=_DPI, title=picture.title)
    page = paper.fragment()
    for line in picture.lines:
        page.curve(course(line), thickness=Mm(0.3), grey=0.62)
    for box in picture.boxes:
        page.solid(left=box.left, top=box.top, width=Mm(BOX[0]), height=box.height, grey=0.97)
        thickness = Mm(0.6 if box.is_root else 0.2)
        page.rectangle(
            left=box.left, top=box.top, width=Mm(BOX[0]), height=box.height, radius=Mm(1.6), thickness=thickness
        )
    for panel in picture.panels:
        page.rectangle(left=panel.left, top=panel.top, width=panel.width, height=panel.height, thickness=Mm(0.2))
    for words in _all_words(picture):
        page.text(words.text, left=words.left, baseline=words.baseline, size=words.size, face=words.face)
    paper.begin_page()
    paper.stamp(page, left=Mm(0.0), top=Mm(0.0))
    return paper.finish()


def _all_words(picture: Picture) -> Iterator[Words]:
    yield from picture.words
    for box in picture.boxes:
        yield from box.words
    for panel in picture.panels:
        yield from panel.words
