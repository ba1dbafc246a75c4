"""Where the labels of a sheet come to lie on the page, in whole printer dots."""

from dataclasses import dataclass

from tracelabels.errors import LabelError
from tracelabels.labels.layouts import Layout
from tracelabels.labels.printers import Printer
from tracelabels.labels.sheets import Sheet
from tracelabels.lengths import Dots, Mm, dots_as_mm, nearest_dots


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """The place of one label on the page.

    Attributes:
        left: Left edge of the layout's frame, in dots from the page's left edge.
        top: Top edge of the frame, in dots from the page's top edge.
        label_left: Left edge of the label itself, in millimetres.
        label_top: Top edge of the label itself.
    """

    left: Dots
    top: Dots
    label_left: Mm
    label_top: Mm


def frame_size(layout: Layout, quarter_turns: int) -> tuple[Mm, Mm]:
    """Return width and height of a layout's frame as it lies on the sheet."""
    return (layout.height, layout.width) if quarter_turns % 2 else (layout.width, layout.height)


def spots_of(sheet: Sheet, layout: Layout, *, printer: Printer, quarter_turns: int) -> tuple[Spot, ...]:
    """Return the place of each label of a page; the frame of the layout lies in the middle of the label.

    The offset moves everything by the same whole dots. The scale changes the distances between labels, never a symbol.

    Raises:
        LabelError: If the corrections push a label off the page.
    """
    dpi = printer.dpi
    width, height = frame_size(layout, quarter_turns)
    shift_x, shift_y = nearest_dots(printer.offset_x, dpi), nearest_dots(printer.offset_y, dpi)
    inner_x = nearest_dots(Mm((sheet.label_width - width) / 2), dpi)
    inner_y = nearest_dots(Mm((sheet.label_height - height) / 2), dpi)
    spots = []
    for slot in range(sheet.slots):
        x, y = sheet.corner(slot)
        label_left = nearest_dots(Mm(x * printer.scale_x), dpi) + shift_x
        label_top = nearest_dots(Mm(y * printer.scale_y), dpi) + shift_y
        spot = Spot(
            left=Dots(label_left + inner_x),
            top=Dots(label_top + inner_y),
            label_left=dots_as_mm(label_left, dpi),
            label_top=dots_as_mm(label_top, dpi),
        )
        spots.append(spot)
    _require_on_page(spots, sheet, dots_as_mm(1, dpi), (width, height), dpi)
    return tuple(spots)


def _require_on_page(spots: list[Spot], sheet: Sheet, slack: Mm, size: tuple[Mm, Mm], dpi: int) -> None:
    first, last = spots[0], spots[-1]
    right = dots_as_mm(last.left, dpi) + size[0]
    bottom = dots_as_mm(last.top, dpi) + size[1]
    over = max(
        -dots_as_mm(first.left, dpi), -dots_as_mm(first.top, dpi), right - sheet.page_width, bottom - sheet.page_height
    )
    if over > slack:
        raise LabelError(
            given=f"printer corrections that push labels of {sheet.name} {over:.2f} mm off the page",
            expected="every label on the page",
            remedy="measure offset and scale again on the alignment page",
        )
