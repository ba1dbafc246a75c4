"""Labels to the bytes of a PDF, with a list of where each code went and what it must say. No file is written here."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final, Protocol

import numpy as np
from numpy.typing import NDArray

from tracelabels.errors import LabelError, TracelabelsError
from tracelabels.identifiers import compose_label
from tracelabels.labels.composing import Composer, Composition
from tracelabels.labels.content import ContentField, LabelContent, LotKind
from tracelabels.labels.grid import Spot, spots_of
from tracelabels.labels.layouts import Layout
from tracelabels.labels.matching import require_fit
from tracelabels.labels.placed import PlacedLabel, PrintedSymbol
from tracelabels.labels.printers import Printer
from tracelabels.labels.sheets import Sheet
from tracelabels.labels.symbol_choice import SymbolChooser
from tracelabels.lengths import Dots, Mm, dots_as_mm
from tracelabels.paper import Fragment, Paper

OUTLINE: Final = Mm(0.1)
"""Thickness of a label's outline."""

MOST_COPIES: Final = 1000
_MOST_KEPT: Final = 512


@dataclass(frozen=True, slots=True, kw_only=True)
class Typeset:
    """A run of labels, set.

    Attributes:
        pdf: The bytes of the PDF.
        placed: Where each label went, in the order of printing.
        pages: How many pages the PDF has.
        dpi: Resolution for which the symbols were placed.
        warnings: Sentences about limits that are not kept, each once.
    """

    pdf: bytes
    placed: Sequence[PlacedLabel]
    pages: int
    dpi: int
    warnings: tuple[str, ...]


def typeset(
    contents: Iterable[LabelContent],
    *,
    layout: Layout,
    sheet: Sheet,
    printer: Printer,
    skip: int = 0,
    copies: int = 1,
    outlines: bool = False,
    title: str = "Labels",
) -> Typeset:
    """Set labels on a sheet, row by row from the top left.

    The same input gives the same bytes.

    Args:
        contents: What the labels say, taken one by one, so that a long run need not be held in memory.
        layout: What goes where.
        sheet: The adhesive sheet or roll.
        printer: Resolution and corrections.
        skip: Labels of the first page that are gone already.
        copies: How often each label is printed; each copy says which one it is.
        outlines: Whether the edge of each label is drawn.
        title: Title of the PDF.

    Raises:
        LabelError: If layout and sheet do not go together, or a label cannot be set whole and legibly; it is named.
        NoRoomError: If a code does not fit; what would is named.
        IdentifierError: If a code's facts break a rule.
    """
    _require_counts(sheet, layout, skip, copies)
    paper = Paper(width=sheet.page_width, height=sheet.page_height, dpi=printer.dpi, title=title)
    run = LabelRun(paper, layout=layout, sheet=sheet, printer=printer, skip=skip, outlines=outlines)
    _add_all(run, contents, copies)
    return Typeset(
        pdf=paper.finish(), placed=tuple(run.placed), pages=run.pages, dpi=printer.dpi, warnings=run.warnings
    )


def _add_all(run: "LabelRun", contents: Iterable[LabelContent], copies: int) -> None:
    index = -1
    for index, content in enumerate(contents):
        try:
            run.add(content, index=index, copies=copies)
        except TracelabelsError as problem:
            raise _named(problem, index, content) from problem
    if index < 0:
        raise LabelError(given="no labels", expected="at least one", remedy="add a row to the list")


class Canvas(Protocol):
    """What a run draws on: a :class:`tracelabels.paper.Paper`, or a recorder."""

    def begin_page(self) -> None:
        """Begin the next page."""

    def fragment(self) -> Fragment:
        """Return an empty piece of drawing."""

    def stamp(self, fragment: Fragment, *, left: Mm, top: Mm, quarter_turns: int = 0) -> None:
        """Draw a piece at a place."""

    def symbol(self, modules: NDArray[np.bool_], *, left: Dots, top: Dots, x: Dots) -> None:
        """Draw a symbol on whole dots."""


class LabelRun:
    """One layout on one sheet, label after label."""

    def __init__(
        self, paper: Canvas, *, layout: Layout, sheet: Sheet, printer: Printer, skip: int = 0, outlines: bool = False
    ) -> None:
        """Prepare what is the same for all labels.

        Raises:
            LabelError: If layout and sheet do not go together, or the corrections push labels off the page.
        """
        self._paper = paper
        self._layout = layout
        self._sheet = sheet
        self._dpi = printer.dpi
        self._turns = require_fit(layout, sheet)
        self._spots = spots_of(sheet, layout, printer=printer, quarter_turns=self._turns)
        self._composer = Composer(layout)
        self._chooser = SymbolChooser(layout, dpi=printer.dpi, quarter_turns=self._turns)
        self._shared: dict[tuple[tuple[str | None, ...], LotKind], Fragment] = {}
        self._inner: dict[tuple[int, int, int], tuple[int, int]] = {}
        self._outline = self._drawn_outline() if outlines else None
        self._next = skip
        self.placed: list[PlacedLabel] = []
        self.pages = 0

    @property
    def warnings(self) -> tuple[str, ...]:
        """Return the sentences about limits that are not kept, each once."""
        return self._chooser.warnings

    def add(self, content: LabelContent, *, index: int, copies: int = 1) -> None:
        """Set one label, as often as there are copies.

        Raises:
            TracelabelsError: If it cannot be set.
        """
        drawn = self._chooser.write(compose_label(content.identity, content.mode))
        for copy in range(1, copies + 1):
            composition = self._composer.compose(content, copy=copy, copies=copies)
            shared = self._shared_fragment(composition)
            single = self._paper.fragment()
            self._composer.draw_single(single, composition)
            slot, spot = self._next_spot()
            self._stamp(shared, spot)
            self._stamp(single, spot)
            inner_left, inner_top = self._inner_place(drawn.printed)
            left, top = Dots(spot.left + inner_left), Dots(spot.top + inner_top)
            self._paper.symbol(drawn.modules, left=left, top=top, x=drawn.printed.x)
            self.placed.append(
                PlacedLabel(
                    page=self.pages - 1,
                    slot=slot,
                    columns=self._sheet.columns,
                    index=index,
                    copy=copy,
                    left=left,
                    top=top,
                    symbol=drawn.printed,
                )
            )

    def _next_spot(self) -> tuple[int, Spot]:
        slot = self._next % self._sheet.slots
        if slot == 0 or not self.pages:
            self._paper.begin_page()
            self.pages += 1
        self._next += 1
        spot = self._spots[slot]
        if self._outline is not None:
            self._paper.stamp(self._outline, left=spot.label_left, top=spot.label_top)
        return slot, spot

    def _stamp(self, fragment: Fragment, spot: Spot) -> None:
        left, top = dots_as_mm(spot.left, self._dpi), dots_as_mm(spot.top, self._dpi)
        if self._turns:  # turned about its own top left, which comes to lie at the bottom left
            top = Mm(top + self._layout.width)
        self._paper.stamp(fragment, left=left, top=top, quarter_turns=self._turns)

    def _shared_fragment(self, composition: Composition) -> Fragment:
        key = (composition.recurring, composition.lot_kind)
        fragment = self._shared.get(key)
        if fragment is None:
            if len(self._shared) >= _MOST_KEPT:
                self._shared.clear()
            fragment = self._paper.fragment()
            self._composer.draw_recurring(fragment, composition)
            self._shared[key] = fragment
        return fragment

    def _inner_place(self, symbol: PrintedSymbol) -> tuple[int, int]:
        """Return where a symbol lies within the frame as it is turned, in dots: in the middle of its space."""
        key = (symbol.columns, symbol.rows, symbol.x)
        place = self._inner.get(key)
        if place is None:
            space, layout = self._layout.symbol, self._layout
            centre = (space.left + space.width / 2, space.top + space.height / 2)
            if self._turns:
                centre = (centre[1], layout.width - centre[0])
            dot = dots_as_mm(1, self._dpi)
            place = self._inner[key] = (
                round(centre[0] / dot - symbol.columns * symbol.x / 2),
                round(centre[1] / dot - symbol.rows * symbol.x / 2),
            )
        return place

    def _drawn_outline(self) -> Fragment:
        sheet, fragment = self._sheet, self._paper.fragment()
        fragment.rectangle(
            left=Mm(0.0),
            top=Mm(0.0),
            width=sheet.label_width,
            height=sheet.label_height,
            radius=sheet.corner_radius,
            thickness=OUTLINE,
        )
        return fragment


def _require_counts(sheet: Sheet, layout: Layout, skip: int, copies: int) -> None:
    if not 0 <= skip < sheet.slots:
        raise LabelError(
            given=f"{skip} labels to skip on {sheet.name}",
            expected=f"a number from 0 to {sheet.slots - 1}, as a page has {sheet.slots} labels",
            remedy="count the labels that are gone from the top left, row by row",
        )
    if not 1 <= copies <= MOST_COPIES:
        raise LabelError(
            given=f"{copies} copies", expected=f"a number from 1 to {MOST_COPIES}", remedy="change the number"
        )
    if copies > 1 and layout.find_field(ContentField.COPY) is None:
        raise LabelError(
            given=f"{copies} copies in layout {layout.name}, which has no place for 'copy'",
            expected="a layout that shows which copy a label is",
            remedy="add a field with show = 'copy' to the layout, or print one copy",
        )


def _named(problem: TracelabelsError, index: int, content: LabelContent) -> TracelabelsError:
    """Return the same error with the label named first."""
    serial = f" (serial {content.identity.serial})" if content.identity.serial else ""
    return type(problem)(
        given=f"label {index + 1}{serial}: {problem.given}", expected=problem.expected, remedy=problem.remedy
    )
