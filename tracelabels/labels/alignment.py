"""A page to hold against a sheet of labels: it shows where the printer really prints."""

from typing import Final

from tracelabels.labels.boxes import Box
from tracelabels.labels.printers import Printer
from tracelabels.labels.sheets import Sheet
from tracelabels.lengths import Mm, Points, dots_as_mm, nearest_dots
from tracelabels.paper import Face, Fragment, Paper, text_width

_HAIR: Final = Mm(0.1)
_ARM: Final = Mm(3.0)
_EDGE: Final = Mm(10.0)
_TEXT: Final = Points(8.5)
_LINE: Final = Mm(4.6)
_LARGEST_RULER: Final = 150


def alignment_page(sheet: Sheet, printer: Printer) -> bytes:
    """Return a PDF with the outlines of a sheet's labels, two crosses at known distances, rulers, and what to do.

    Args:
        sheet: The sheet to be aligned.
        printer: Resolution and the corrections found so far, which are applied.
    """
    title = f"Alignment page for {sheet.name}"
    paper = Paper(width=sheet.page_width, height=sheet.page_height, dpi=printer.dpi, title=title)
    paper.begin_page()
    drawing = paper.fragment()
    near, far = _marks(sheet)
    lines = () if sheet.is_roll else _instructions(near, far)
    panel = _panel(sheet, lines)
    for slot in range(sheet.slots):
        if not _label_box(sheet, slot).overlaps(panel):
            _outline(drawing, sheet, _corrected(sheet.corner(slot), printer))
    if lines:
        for mark in (near, far):
            _cross(drawing, _corrected(mark, printer))
        _rulers(drawing, near, far, printer)
        _write(drawing, lines, panel)
    paper.stamp(drawing, left=Mm(0.0), top=Mm(0.0))
    return paper.finish()


def _label_box(sheet: Sheet, slot: int) -> Box:
    left, top = sheet.corner(slot)
    return Box(left=left, top=top, right=left + sheet.label_width, bottom=top + sheet.label_height)


def _panel(sheet: Sheet, lines: tuple[str, ...]) -> Box:
    """Return the room for the instructions in the middle of the page, where outlines matter least."""
    width = max((text_width(line, Face.BOLD, _TEXT) for line in lines), default=Mm(0.0))
    left, top = (sheet.page_width - width) / 2, (sheet.page_height - len(lines) * _LINE) / 2
    return Box(left=left, top=top, right=left + width, bottom=top + len(lines) * _LINE)


def _corrected(point: tuple[Mm, Mm], printer: Printer) -> tuple[Mm, Mm]:
    """Move a point as the labels of a run are moved."""
    dpi = printer.dpi
    x = nearest_dots(Mm(point[0] * printer.scale_x), dpi) + nearest_dots(printer.offset_x, dpi)
    y = nearest_dots(Mm(point[1] * printer.scale_y), dpi) + nearest_dots(printer.offset_y, dpi)
    return dots_as_mm(x, dpi), dots_as_mm(y, dpi)


def _marks(sheet: Sheet) -> tuple[tuple[Mm, Mm], tuple[Mm, Mm]]:
    """Return two points in whole millimetres, near the top left and near the bottom right."""
    far = Mm(float(int(sheet.page_width - _EDGE))), Mm(float(int(sheet.page_height - _EDGE)))
    return (_EDGE, _EDGE), far


def _outline(drawing: Fragment, sheet: Sheet, corner: tuple[Mm, Mm]) -> None:
    drawing.rectangle(
        left=corner[0],
        top=corner[1],
        width=sheet.label_width,
        height=sheet.label_height,
        radius=sheet.corner_radius,
        thickness=_HAIR,
    )


def _cross(drawing: Fragment, centre: tuple[Mm, Mm]) -> None:
    x, y = centre
    drawing.line(from_=(Mm(x - _ARM), y), to=(Mm(x + _ARM), y), thickness=_HAIR)
    drawing.line(from_=(x, Mm(y - _ARM)), to=(x, Mm(y + _ARM)), thickness=_HAIR)
    drawing.circle(centre=centre, radius=Mm(_ARM / 2), thickness=_HAIR)


def _rulers(drawing: Fragment, near: tuple[Mm, Mm], far: tuple[Mm, Mm], printer: Printer) -> None:
    """Draw a ruler to the right and one downwards from the first cross, a tick each millimetre."""
    for millimetre in range(1, min(_LARGEST_RULER, int(far[0] - near[0])) + 1):
        x, y = _corrected((Mm(near[0] + millimetre), near[1]), printer)
        _tick(drawing, millimetre, (x, y), along_x=True)
    for millimetre in range(1, min(_LARGEST_RULER, int(far[1] - near[1])) + 1):
        x, y = _corrected((near[0], Mm(near[1] + millimetre)), printer)
        _tick(drawing, millimetre, (x, y), along_x=False)


def _tick(drawing: Fragment, millimetre: int, at: tuple[Mm, Mm], *, along_x: bool) -> None:
    length = 3.0 if millimetre % 10 == 0 else 2.0 if millimetre % 5 == 0 else 1.2
    x, y = at
    end = (x, Mm(y - length)) if along_x else (Mm(x - length), y)
    drawing.line(from_=at, to=end, thickness=_HAIR)
    if millimetre % 10 == 0:
        number, size = str(millimetre), Points(5.0)
        width = text_width(number, Face.REGULAR, size)
        place = (Mm(x - width / 2), Mm(y - 3.4)) if along_x else (Mm(x + 0.6), Mm(y + 0.6))
        drawing.text(number, left=place[0], baseline=place[1], size=size)


def _instructions(near: tuple[Mm, Mm], far: tuple[Mm, Mm]) -> tuple[str, ...]:
    across, down = far[0] - near[0], far[1] - near[1]
    return (
        "Print this page on plain paper at 100 % (actual size, not fitted to the page).",
        "Hold it with a sheet of labels against a window: each outline should lie on the edge of its label.",
        f"Add to offset_x_mm: {near[0]:g} mm minus the distance from the paper's left edge to the first cross.",
        f"Add to offset_y_mm: {near[1]:g} mm minus the distance from the paper's top edge to the first cross.",
        f"Multiply scale_x by {across:g} mm divided by the distance measured from cross to cross, left to right.",
        f"Multiply scale_y by {down:g} mm divided by the distance measured from cross to cross, top to bottom.",
        "Write the four values into the printer's settings, print again, and check the outlines.",
    )


def _write(drawing: Fragment, lines: tuple[str, ...], panel: Box) -> None:
    for number, line in enumerate(lines):
        face = Face.BOLD if number == 0 else Face.REGULAR
        baseline = Mm(panel.top + (number + 0.75) * _LINE)
        drawing.text(line, left=Mm(panel.left), baseline=baseline, size=_TEXT, face=face)
