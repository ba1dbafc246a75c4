"""A laid out picture of the chain as the text of an SVG or the bytes of a PDF."""

from html import escape
from typing import Final

from tracelabels.custody import Kind
from tracelabels.lengths import Mm, Points
from tracelabels.paper import Face, Paper, text_width
from tracelabels.words import in_words
from tracelabels.workflows.chain_picture import BOX, HEAD, MARGIN, Box, Picture, course

_INK: Final = "#22303c"
_SOFT: Final = "#5b6b78"
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
_NAME, _WORDS, _TITLE = Points(7.5), Points(6.0), Points(12.0)
_PAD: Final = 1.8
_SCREEN: Final = 1.25
"""How much wider a screen's face may be than ours."""
_LEAST_PAGE: Final = (297.0, 210.0)


def chain_svg(picture: Picture) -> str:
    """Return the picture as an SVG document; names stand in it as text, so that they can be searched."""
    width, height = f"{picture.width:g}", f"{picture.height:g}"
    size = f'width="{width}mm" height="{height}mm" viewBox="0 0 {width} {height}"'
    style = f'font-family="DejaVu Sans, Verdana, sans-serif" fill="{_INK}"'
    parts = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} {style}>',
        f"<title>{escape(picture.title)}</title>",
        f'<rect width="{width}" height="{height}" fill="#fff"/>',
        f'<text x="{MARGIN:g}" y="{MARGIN + 4:g}" font-size="5" font-weight="600">{escape(picture.title)}</text>',
    ]
    for line in picture.lines:
        start, *rest = course(line)
        points = " ".join(f"L{x:.2f} {y:.2f}" for x, y in rest)
        parts.append(
            f'<path d="M{start[0]:.2f} {start[1]:.2f} {points}" fill="none" stroke="{_LINE}" stroke-width=".4"/>'
        )
    parts += [_svg_box(box) for box in picture.boxes]
    return "\n".join([*parts, "</svg>\n"])


def _svg_box(box: Box) -> str:
    stroke, thick = (_INK, ".7") if box.is_root else (_LINE, ".3")
    fill = _FILLS.get(box.group.kind, _OTHER)
    x, y = f"{box.left + _PAD:g}", box.top
    at = f'x="{box.left:g}" y="{y:g}" width="{BOX[0]:g}" height="{BOX[1]:g}" rx="1.6"'
    name = escape(_shortened(_name(box), _NAME, Face.BOLD, wider=_SCREEN))
    rows = [
        f'<g><rect {at} fill="{fill}" stroke="{stroke}" stroke-width="{thick}"/>',
        f'<text x="{x}" y="{y + 4.6:.2f}" font-size="2.7" font-weight="600">{name}</text>',
    ]
    for place, text in enumerate(_below(box)):
        short = _shortened(text, _WORDS, Face.REGULAR, wider=_SCREEN)
        rows.append(
            f'<text x="{x}" y="{y + 8.1 + 3.1 * place:.2f}" font-size="2.2" fill="{_SOFT}">{escape(short)}</text>'
        )
    return "".join([*rows, "</g>"])


def chain_pdf(picture: Picture) -> bytes:
    """Return the picture as a page: A4 lying down, or larger if it needs to be."""
    wide, high = (
        max(Mm(least), size) for least, size in zip(_LEAST_PAGE, (picture.width, picture.height), strict=True)
    )
    paper = Paper(width=Mm(wide), height=Mm(high), dpi=_DPI, title=picture.title)
    page = paper.fragment()
    page.text(picture.title, left=Mm(MARGIN), baseline=Mm(MARGIN + HEAD / 3), size=_TITLE, face=Face.BOLD)
    for line in picture.lines:
        page.curve(course(line), thickness=Mm(0.3), grey=0.62)
    for box in picture.boxes:
        page.solid(left=box.left, top=box.top, width=Mm(BOX[0]), height=Mm(BOX[1]), grey=0.97)
        page.rectangle(
            left=box.left,
            top=box.top,
            width=Mm(BOX[0]),
            height=Mm(BOX[1]),
            radius=Mm(1.6),
            thickness=Mm(0.6 if box.is_root else 0.2),
        )
        left = Mm(box.left + _PAD)
        name = _shortened(_name(box), _NAME, Face.BOLD)
        page.text(name, left=left, baseline=Mm(box.top + 4.4), size=_NAME, face=Face.BOLD)
        for place, text in enumerate(_below(box)):
            short = _shortened(text, _WORDS, Face.REGULAR)
            page.text(short, left=left, baseline=Mm(box.top + 8.0 + 3.1 * place), size=_WORDS)
    paper.begin_page()
    paper.stamp(page, left=Mm(0.0), top=Mm(0.0))
    return paper.finish()


def _name(box: Box) -> str:
    """Return the bold line: kind and name where both fit, else the kind alone."""
    group = box.group
    is_long = len(group.nodes) == 1 and _shortened(group.title, _NAME, Face.BOLD, wider=_SCREEN) != group.title
    return in_words(group.kind) if is_long else group.title


def _below(box: Box) -> list[str]:
    group = box.group
    name = None if _name(box) == group.title else group.nodes[0].name.text
    return [text for text in (name, group.words, group.fate) if text][:2]


def _shortened(text: str, size: Points, face: Face, *, wider: float = 1.0) -> str:
    """Return a text cut to a box's width; the whole of it stands in the tree and in the JSON."""
    room = (BOX[0] - 2 * _PAD) / wider
    if text_width(text, face, size) <= room:
        return text
    while text and text_width(text + "\N{HORIZONTAL ELLIPSIS}", face, size) > room:
        text = text[:-1]
    return text + "\N{HORIZONTAL ELLIPSIS}"
