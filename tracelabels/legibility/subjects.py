"""Labels under check: cut out of our own pages, of any other PDF, or out of a layout before anything is printed."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import groupby

import numpy as np
from numpy.typing import NDArray

from tracelabels.identifiers import IdentifierMode
from tracelabels.labels import LabelContent, Layout, PlacedLabel, Printer, Sheet, Typeset, require_fit, typeset
from tracelabels.labels.grid import Spot, spots_of
from tracelabels.legibility.page_codes import codes_of_page
from tracelabels.legibility.proof import bars_stand_upright, symbology_of
from tracelabels.legibility.rules.extent import Extent, extent_of, is_linear, runs_across
from tracelabels.legibility.rules.quiet_zones import REQUIRED
from tracelabels.legibility.samples import sample_content
from tracelabels.legibility.subject import PrintedCode, Subject
from tracelabels.lengths import Mm, dot_size, nearest_dots
from tracelabels.paper import page_count, rasterise, rasterise_page
from tracelabels.symbols import Symbology, TubeAxis

_PAPER = 255
_MARGIN_FACTOR = 2
_MARGIN_MODULES = 2
_OTHER_SIDE = {TubeAxis.WIDTH: TubeAxis.HEIGHT, TubeAxis.HEIGHT: TubeAxis.WIDTH}


def subjects_of_typeset(
    run: Typeset,
    contents: Sequence[LabelContent],
    *,
    layout: Layout,
    sheet: Sheet,
    dpi: int,
    printer: Printer | None = None,
    tube_diameter: Mm | None = None,
) -> Iterator[Subject]:
    """Cut every label of a run out of its rasterised pages.

    Args:
        run: The run, set.
        contents: What its labels say, in the order in which they were set.
        layout: The layout that it was set in.
        sheet: The sheet that it was set on.
        dpi: Resolution at which the pages are rasterised: the printer's.
        printer: The printer that it was set for, if it has corrections; they move the labels on the page.
        tube_diameter: Outer diameter of the tubes at hand; None takes the layout's. A layout that lies flat stays flat.

    Yields:
        The labels in the order of printing; pages are rasterised one at a time.

    Raises:
        LabelError: If layout and sheet do not go together.
    """
    cutter = _Cutter(layout, sheet, printer or Printer(dpi=dpi), tube_diameter)
    labels = iter(run.placed)
    label = next(labels, None)
    for number, page in enumerate(rasterise(run.pdf, dpi=dpi)):
        while label is not None and label.page == number:
            yield cutter.cut(page, label, contents[label.index])
            label = next(labels, None)


def first_of_each_design(run: Typeset, *, layout: Layout, sheet: Sheet, printer: Printer) -> Iterator[Subject]:
    """Cut out the first label of each design of a run: kind, size and module size of its symbol.

    Only the pages that hold one are rasterised, so that a long run costs no more than a short one. What the labels say
    is left out.
    """
    cutter = _Cutter(layout, sheet, printer, None)
    firsts: dict[tuple[object, ...], PlacedLabel] = {}
    for label in run.placed:
        symbol = label.symbol
        firsts.setdefault((symbol.symbology_identifier, symbol.version, symbol.rows, symbol.x), label)
    for number, labels in groupby(firsts.values(), key=lambda label: label.page):
        page = rasterise_page(run.pdf, index=number, dpi=run.dpi)
        for label in labels:
            yield cutter.cut(page, label, None)


class _Cutter:
    """Cuts the labels of a run out of its pages."""

    __slots__ = ("_axis", "_diameter", "_dpi", "_layout", "_sheet", "_spots")

    def __init__(self, layout: Layout, sheet: Sheet, printer: Printer, tube_diameter: Mm | None) -> None:
        turns = require_fit(layout, sheet)
        self._layout, self._sheet, self._dpi = layout, sheet, printer.dpi
        self._spots = spots_of(sheet, layout, printer=printer, quarter_turns=turns)
        self._diameter, self._axis = _tube(layout, turns, tube_diameter)

    def cut(self, page: NDArray[np.uint8], label: PlacedLabel, content: LabelContent | None) -> Subject:
        left, top = _corner(self._spots[label.slot], self._dpi)
        return Subject(
            label=_name(label, content),
            picture=_cut(page, left, top, _label_size(self._sheet, self._dpi)),
            dpi=self._dpi,
            code=_code(label, left=left, top=top),
            tube_diameter=self._diameter,
            axis=self._axis,
            layout=self._layout,
            sheet=self._sheet,
            content=content,
        )


def subject_of_layout(
    layout: Layout,
    sheet: Sheet,
    *,
    dpi: int,
    content: LabelContent | None = None,
    mode: IdentifierMode = IdentifierMode.IN_HOUSE,
    tube_diameter: Mm | None = None,
) -> Subject:
    """Set one label in a layout and cut it out: to check a layout before there is a list.

    Args:
        layout: The layout.
        sheet: The sheet.
        dpi: The printer's resolution.
        content: What it says; None takes an invented label with the longest words that the layout takes.
        mode: How the invented label's code says it.
        tube_diameter: See :func:`subjects_of_typeset`.

    Raises:
        LabelError: If layout and sheet do not go together, or the content cannot be set whole and legibly.
        NoRoomError: If the code does not fit.
    """
    content = content or sample_content(layout, mode=mode)
    run = typeset([content], layout=layout, sheet=sheet, printer=Printer(dpi=dpi), title=layout.title)
    return next(subjects_of_typeset(run, [content], layout=layout, sheet=sheet, dpi=dpi, tube_diameter=tube_diameter))


def subjects_of_pdf(
    pdf: bytes,
    *,
    dpi: int,
    tube_diameter: Mm | None = None,
    axis: TubeAxis | None = None,
    sheet: Sheet | None = None,
) -> tuple[tuple[Subject, ...], tuple[str, ...]]:
    """Find every symbol in any PDF, ours or not, and measure it.

    Args:
        pdf: The document.
        dpi: The printer's resolution.
        tube_diameter: Outer diameter of the tubes that the labels go on; None for labels that lie flat.
        axis: The side of the page that lies along the tube; None takes the longer side of each symbol.
        sheet: The sheet that it is printed on, if known: labels are then cut at their edges, else round their symbols.

    Returns:
        (The labels page by page, row by row; one sentence for each page without a code and for each code that cannot
        be measured.)

    Raises:
        RasterError: If the bytes are no readable PDF, or a page is too large.
    """
    subjects: list[Subject] = []
    problems: list[str] = []
    for number in range(page_count(pdf)):
        page = rasterise_page(pdf, index=number, dpi=dpi)
        codes, against = codes_of_page(pdf, page, index=number, dpi=dpi)
        problems += against
        for count, code in enumerate(codes, start=1):
            subject = _round_or_on_label(code, page, sheet=sheet, dpi=dpi)
            on = None if tube_diameter is None else axis or _long_side(code)
            label = f"page {number + 1}, code {count}"
            subjects.append(replace(subject, label=label, tube_diameter=tube_diameter, axis=on))
    return tuple(subjects), tuple(problems)


def _round_or_on_label(code: PrintedCode, page: NDArray[np.uint8], *, sheet: Sheet | None, dpi: int) -> Subject:
    """Cut out the label that a symbol lies on, or what is round the symbol; its name and its tube are left open."""
    slot = _slot_of(code, sheet, dpi)
    left, top, size = _round_code(code, page) if slot is None or sheet is None else _label_box(sheet, slot, dpi)
    return Subject(
        label="",
        picture=_cut(page, left, top, size),
        dpi=dpi,
        code=replace(code, left=code.left - left, top=code.top - top),
        tube_diameter=None,
        axis=None,
        sheet=None if slot is None else sheet,
    )


def _slot_of(code: PrintedCode, sheet: Sheet | None, dpi: int) -> int | None:
    """Return the label of a sheet that a symbol's middle lies on; None off all labels."""
    if sheet is None:
        return None
    box = extent_of(code)
    x, y = (box.left + box.width / 2) * dot_size(dpi), (box.top + box.height / 2) * dot_size(dpi)
    for slot in range(sheet.slots):
        left, top = sheet.corner(slot)
        if left <= x <= left + sheet.label_width and top <= y <= top + sheet.label_height:
            return slot
    return None


def _label_box(sheet: Sheet, slot: int, dpi: int) -> tuple[int, int, tuple[int, int]]:
    left, top = sheet.corner(slot)
    return nearest_dots(left, dpi), nearest_dots(top, dpi), _label_size(sheet, dpi)


def _round_code(code: PrintedCode, page: NDArray[np.uint8]) -> tuple[int, int, tuple[int, int]]:
    """Return the part of a page round a symbol: its quiet zone and as much again, within the page."""
    box = extent_of(code)
    margin = (_MARGIN_FACTOR * REQUIRED[code.symbology][0] + _MARGIN_MODULES) * code.x
    left, top = max(0, math.floor(box.left - margin)), max(0, math.floor(box.top - margin))
    right, bottom = (min(size, math.ceil(edge + margin)) for size, edge in _far_sides(page, box))
    return left, top, (right - left, bottom - top)


def _far_sides(page: NDArray[np.uint8], box: Extent) -> tuple[tuple[int, float], tuple[int, float]]:
    return (page.shape[1], box.right), (page.shape[0], box.bottom)


def _long_side(code: PrintedCode) -> TubeAxis:
    """Return the side of the page along which a symbol is longer, of a linear code that of its modules."""
    box = extent_of(code)
    if is_linear(code):
        return TubeAxis.WIDTH if runs_across(code) else TubeAxis.HEIGHT
    return TubeAxis.WIDTH if box.width >= box.height else TubeAxis.HEIGHT


def _label_size(sheet: Sheet, dpi: int) -> tuple[int, int]:
    return nearest_dots(sheet.label_width, dpi), nearest_dots(sheet.label_height, dpi)


def _tube(layout: Layout, turns: int, diameter: Mm | None) -> tuple[Mm | None, TubeAxis | None]:
    """Return diameter and axis in the picture's own frame, in which the layout may lie turned."""
    if layout.tube is None:
        return None, None
    axis = layout.tube.axis
    return diameter or layout.tube.diameter, _OTHER_SIDE[axis] if turns % 2 else axis


def _corner(spot: Spot, dpi: int) -> tuple[int, int]:
    return nearest_dots(spot.label_left, dpi), nearest_dots(spot.label_top, dpi)


def _name(label: PlacedLabel, content: LabelContent | None) -> str:
    place = f"page {label.page + 1}, row {label.row + 1}, column {label.column + 1}"
    return (content.identity.serial if content else None) or place


def _cut(page: NDArray[np.uint8], left: int, top: int, size: tuple[int, int]) -> NDArray[np.uint8]:
    """Copy a label out of its page; what hangs over the page's edge is bare paper."""
    width, height = size
    picture = np.full((height, width), _PAPER, dtype=np.uint8)
    part = page[max(0, top) : max(0, top + height), max(0, left) : max(0, left + width)]
    down, across = max(0, -top), max(0, -left)
    picture[down : down + part.shape[0], across : across + part.shape[1]] = part
    return picture


def _code(label: PlacedLabel, *, left: int, top: int) -> PrintedCode:
    """Describe a placed symbol in the picture of its label."""
    kind, modules, x = symbology_of(label), label.modules, float(label.x)
    y = x
    if kind is Symbology.CODE_128:
        upright = bars_stand_upright(modules)
        y = x * modules.shape[0 if upright else 1]
        modules = modules[:1] if upright else modules[:, :1]
    return PrintedCode(
        symbology=kind,
        symbology_identifier=label.symbology_identifier,
        version=label.symbol.version,
        text=label.payload.text,
        modules=modules,
        left=float(label.left - left),
        top=float(label.top - top),
        x=x,
        y=y,
    )
