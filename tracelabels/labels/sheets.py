"""Sheets and rolls of adhesive labels: geometry only, from TOML files that a practice can edit and add to.

A sheet is named by its geometry: ``a4-5x13-38.1x21.2`` has 5 columns and 13 rows of labels of 38.1 x 21.2 mm.
"""

from dataclasses import dataclass
from pathlib import Path
from typing import Final

from tracelabels.lengths import Mm
from tracelabels.templates import Table, read_table

TOLERANCE: Final = Mm(0.01)
"""Sizes are given to a hundredth of a millimetre; less than that is a rounding error, not an overlap."""

_PAGE_LIMIT: Final = 1200.0  # an A0 sheet is 1189 mm long
_TOP_KEYS: Final = ("title", "page", "grid", "roll", "label")
_PAGE_KEYS: Final = ("width", "height")
_GRID_KEYS: Final = ("left", "top", "pitch_x", "pitch_y", "columns", "rows")
_ROLL_KEYS: Final = ("width", "across", "left", "pitch_x", "gap")
_LABEL_KEYS: Final = ("width", "height", "corner_radius", "round", "diameter")


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """The geometry of a page of labels, or of one row of labels on a roll; measured from the page's top left.

    Attributes:
        name: The file's name without its ending.
        title: What it is, in words.
        page_width: Width of the page or of the roll.
        page_height: Height of the page; of a roll, the height of one label.
        left: From the page's left edge to the first label.
        top: From the page's top edge to the first label.
        pitch_x: From a label's left edge to the left edge of its right neighbour.
        pitch_y: From a label's top edge to the top edge of the one below.
        columns: Labels side by side.
        rows: Labels one below the other on a page.
        label_width: Width of a label.
        label_height: Height of a label.
        corner_radius: Radius of a label's corners.
        is_round: Whether labels are discs.
        is_roll: Whether it is a roll, each row of which is a page of its own.
    """

    name: str
    title: str
    page_width: Mm
    page_height: Mm
    left: Mm
    top: Mm
    pitch_x: Mm
    pitch_y: Mm
    columns: int
    rows: int
    label_width: Mm
    label_height: Mm
    corner_radius: Mm
    is_round: bool
    is_roll: bool

    @property
    def slots(self) -> int:
        """Return how many labels a page has."""
        return self.columns * self.rows

    def corner(self, slot: int) -> tuple[Mm, Mm]:
        """Return left and top of the label in a place, counted row by row from 0."""
        row, column = divmod(slot, self.columns)
        return Mm(self.left + column * self.pitch_x), Mm(self.top + row * self.pitch_y)


def load_sheet(path: Path) -> Sheet:
    """Read and check a sheet file.

    Raises:
        TemplateError: If the file is wrong, or its labels leave the page or overlap each other.
    """
    return as_sheet(read_table(path), name=path.name.removesuffix(".toml"))


def as_sheet(table: Table, *, name: str) -> Sheet:
    """Turn the table of a sheet file into a checked sheet.

    Raises:
        TemplateError: See :func:`load_sheet`.
    """
    table.allow(_TOP_KEYS)
    if ("roll" in table) == ("grid" in table):
        table.refuse_whole(
            "tables [grid] and [roll] both stand here" if "roll" in table else "there is neither [grid] nor [roll]",
            expected="[page] and [grid] for a sheet, or [roll] for a roll",
            remedy="keep or add the one that it is",
        )
    sheet = _roll(table, name) if "roll" in table else _page(table, name)
    _require_apart(table, sheet)
    _require_on_page(table, sheet)
    return sheet


def _page(table: Table, name: str) -> Sheet:
    page, grid = table.table("page"), table.table("grid")
    page.allow(_PAGE_KEYS)
    grid.allow(_GRID_KEYS)
    width, height, radius, is_round = _label(table.table("label"))
    return Sheet(
        name=name,
        title=table.text("title"),
        page_width=Mm(page.number("width", least=10, greatest=_PAGE_LIMIT)),
        page_height=Mm(page.number("height", least=10, greatest=_PAGE_LIMIT)),
        left=Mm(grid.number("left", least=0, greatest=_PAGE_LIMIT)),
        top=Mm(grid.number("top", least=0, greatest=_PAGE_LIMIT)),
        pitch_x=Mm(grid.number("pitch_x", least=1, greatest=_PAGE_LIMIT)),
        pitch_y=Mm(grid.number("pitch_y", least=1, greatest=_PAGE_LIMIT)),
        columns=grid.whole("columns", least=1, greatest=200),
        rows=grid.whole("rows", least=1, greatest=200),
        label_width=width,
        label_height=height,
        corner_radius=radius,
        is_round=is_round,
        is_roll=False,
    )


def _roll(table: Table, name: str) -> Sheet:
    if "page" in table:
        table.refuse_whole("a roll has no [page]", expected="[roll] with its width", remedy="remove [page]")
    roll = table.table("roll")
    roll.allow(_ROLL_KEYS)
    width, height, radius, is_round = _label(table.table("label"))
    across = roll.whole("across", least=1, greatest=20, default=1)
    roll_width = roll.number("width", least=5, greatest=300)
    pitch_x = roll.number("pitch_x", least=1, greatest=300, default=width)
    middle = max(0.0, (roll_width - (across - 1) * pitch_x - width) / 2)
    gap = roll.number("gap", least=0, greatest=50)
    return Sheet(
        name=name,
        title=table.text("title"),
        page_width=Mm(roll_width),
        page_height=height,
        left=Mm(roll.number("left", least=0, greatest=300, default=middle)),
        top=Mm(0.0),
        pitch_x=Mm(pitch_x),
        pitch_y=Mm(height + gap),
        columns=across,
        rows=1,
        label_width=width,
        label_height=height,
        corner_radius=radius,
        is_round=is_round,
        is_roll=True,
    )


def _label(label: Table) -> tuple[Mm, Mm, Mm, bool]:
    label.allow(_LABEL_KEYS)
    if label.flag("round", default=False):
        for key in ("width", "height", "corner_radius"):
            if key in label:
                label.refuse_whole(
                    f"'{key}' stands beside round = true", expected="a diameter alone", remedy=f"remove '{key}'"
                )
        diameter = Mm(label.number("diameter", least=3, greatest=_PAGE_LIMIT))
        return diameter, diameter, Mm(diameter / 2), True
    if "diameter" in label:
        label.refuse_whole(
            "'diameter' stands without round = true", expected="width and height", remedy="add round = true"
        )
    width = Mm(label.number("width", least=3, greatest=_PAGE_LIMIT))
    height = Mm(label.number("height", least=3, greatest=_PAGE_LIMIT))
    radius = Mm(label.number("corner_radius", least=0, greatest=min(width, height) / 2, default=0.0))
    return width, height, radius, False


def _require_apart(table: Table, sheet: Sheet) -> None:
    sides = (
        ("columns", sheet.columns, "pitch_x", sheet.pitch_x, "width", sheet.label_width),
        ("rows", sheet.rows, "pitch_y", sheet.pitch_y, "height", sheet.label_height),
    )
    for many, count, pitch_key, pitch, side, size in sides:
        if count > 1 and pitch < size - TOLERANCE:
            table.refuse_whole(
                f"{count} {many} of labels overlap: {pitch_key} is {pitch:g} mm, a label's {side} is {size:g} mm",
                expected=f"a {pitch_key} of at least {size:g} mm",
                remedy=f"measure {pitch_key} from one label's edge to the same edge of the next",
            )


def _require_on_page(table: Table, sheet: Sheet) -> None:
    sides = (
        ("left", sheet.left, "columns", sheet.columns, sheet.pitch_x, sheet.label_width, sheet.page_width, "wide"),
        ("top", sheet.top, "rows", sheet.rows, sheet.pitch_y, sheet.label_height, sheet.page_height, "high"),
    )
    for margin, start, many, count, pitch, size, page, adjective in sides:
        end = start + (count - 1) * pitch + size
        if end > page + TOLERANCE:
            sum_ = f"{margin} {start:g} + {count - 1} x pitch {pitch:g} + label {size:g} = {end:.2f} mm"
            table.refuse_whole(
                f"labels leave the page: {sum_} on a page {page:g} mm {adjective}",
                expected=f"{count} {many} that end within {page:g} mm",
                remedy=f"correct {margin}, pitch, label size or {many}",
            )
