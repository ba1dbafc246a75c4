"""The symbols of any PDF's page: found, read and measured in printer dots, whoever drew them.

A symbol is found on the page at the printer's resolution and finer ones, and measured in a picture of that symbol
alone at some 3,600 dpi: renderers move the edges of rectangles to whole pixels, which at the printer's own resolution
would hide where they were meant to be.
"""

import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tracelabels.legibility.bar_fit import find_bars
from tracelabels.legibility.grid_fit import FittedGrid, Span, find_box, find_grid, ink_of
from tracelabels.legibility.recognition import find_size, find_version, says
from tracelabels.legibility.subject import PrintedCode
from tracelabels.lengths import dot_size
from tracelabels.paper import rasterise_boxes, rasterise_page
from tracelabels.symbols import RawReading, Symbology, read_symbols

FINE_DPI: Final = 3600
"""Resolution of measuring, or a little below it: an edge moved to a whole pixel is then off by 3.5 um at most."""

FINDING_DPI: Final = 400
"""Least resolution of finding: modules of 0.2 mm have 3 pixels then."""

MOST_FINDING_DPI: Final = 850
"""Finer pages cost more than they find."""

_MARGIN: Final = 4
"""Pixels of the finding picture round a symbol that are measured with it: the reader's corners are whole pixels."""

_MARGIN_SHARE: Final = 0.1
_ASKEW: Final = math.radians(2.0)
_FIRST_LINE: Final = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class _Found:
    """A symbol as it was found."""

    reading: RawReading
    """What the reader said, its corners in pixels of the finding picture."""
    scale: int
    """Pixels of the finding picture a printer dot."""

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Return left, top, right and bottom of the corners in printer dots."""
        across = [x / self.scale for x, _ in self.reading.corners]
        down = [y / self.scale for _, y in self.reading.corners]
        return min(across), min(down), max(across), max(down)

    def lies_on(self, other: "_Found") -> bool:
        """Say whether this symbol's middle lies in another's box."""
        left, top, right, bottom = self.box
        x, y = (left + right) / 2, (top + bottom) / 2
        return other.box[0] <= x <= other.box[2] and other.box[1] <= y <= other.box[3]

    @property
    def angle(self) -> float:
        """Return by how much the symbol stands askew of the page, in radians up to an eighth of a turn."""
        (x0, y0), (x1, y1) = self.reading.corners[:2]
        turned = math.atan2(y1 - y0, x1 - x0)
        return abs(turned - round(turned / (math.pi / 2)) * math.pi / 2)

    @property
    def lies_down(self) -> bool:
        """Say whether the symbol's own rows run down the page."""
        (x0, y0), (x1, y1) = self.reading.corners[:2]
        return abs(y1 - y0) > abs(x1 - x0)


def codes_of_page(
    pdf: bytes, page: NDArray[np.uint8], *, index: int, dpi: int
) -> tuple[tuple[PrintedCode, ...], tuple[str, ...]]:
    """Find and measure the symbols of a page, row by row from the top left.

    Args:
        pdf: The document.
        page: The page, rasterised at the printer's resolution.
        index: The page, counted from 0.
        dpi: The printer's resolution.

    Returns:
        (The symbols in printer dots from the page's top left, one sentence for each that could not be measured and for
        a page without any.)
    """
    found = _find(pdf, page, index, dpi)
    if not found:
        return (), (f"page {index + 1}: no code was read on it",)
    good, problems = [], []
    scale = max(1, round(FINE_DPI / dpi))
    boxes = [_fine_box(one, scale) for one in found]
    pictures = rasterise_boxes(pdf, index=index, dpi=dpi * scale, boxes=boxes)
    for one, box, picture in zip(found, boxes, pictures, strict=True):
        code = _measure(one, picture, scale, corner=box[:2])
        if isinstance(code, str):
            problems.append(f"page {index + 1}, {_place(one, dpi)}: {code}")
        else:
            good.append(code)
    return tuple(good), tuple(problems)


def _find(pdf: bytes, page: NDArray[np.uint8], index: int, dpi: int) -> list[_Found]:
    """Read a page as it will be printed and finer, for what one overlooks another finds; the finest if nothing was."""
    found: list[_Found] = []
    enough = max(1, math.ceil(FINDING_DPI / dpi))
    finest = max(enough, MOST_FINDING_DPI // dpi)
    for scale in sorted({1, enough, finest}):
        if found and scale > enough:
            break
        seen = page if scale == 1 else rasterise_page(pdf, index=index, dpi=dpi * scale)
        for reading in read_symbols(seen):
            one = _Found(reading=reading, scale=scale)
            if not any(one.lies_on(other) for other in found):
                found.append(one)
    return _in_order(found)


def _in_order(found: list[_Found]) -> list[_Found]:
    """Sort row by row: what overlaps the first of a row by half its height stands in that row."""
    rest = sorted(found, key=lambda one: one.box[1])
    ordered: list[_Found] = []
    while rest:
        _, top, _, bottom = rest[0].box
        limit = top + _FIRST_LINE * (bottom - top)
        row = [one for one in rest if one.box[1] <= limit]
        ordered += sorted(row, key=lambda one: one.box[0])
        rest = [one for one in rest if one.box[1] > limit]
    return ordered


def _fine_box(one: _Found, scale: int) -> tuple[int, int, int, int]:
    left, top, right, bottom = one.box
    margin = _margin(one)
    x, y = math.floor((left - margin) * scale), math.floor((top - margin) * scale)
    return x, y, math.ceil((right + margin) * scale) - x, math.ceil((bottom + margin) * scale) - y


def _margin(one: _Found) -> float:
    """Return the dots round a symbol that are looked at: its quiet zone must show where it ends."""
    left, top, right, bottom = one.box
    if one.reading.symbology is Symbology.CODE_128:
        return _MARGIN / one.scale
    return max(_MARGIN / one.scale, _MARGIN_SHARE * min(right - left, bottom - top))


def _place(one: _Found, dpi: int) -> str:
    left, top, _, _ = one.box
    dot = dot_size(dpi)
    return f"{left * dot:.1f} mm from the left and {top * dot:.1f} mm from the top"


def _measure(one: _Found, picture: NDArray[np.uint8], scale: int, *, corner: tuple[int, int]) -> PrintedCode | str:
    """Return the symbol in printer dots of the page, or what stands against it."""
    reading = one.reading
    if reading.symbology is None:
        return f"a code of the kind {reading.symbology_name} is not checked"
    if one.angle > _ASKEW:
        return f"the code stands askew by {math.degrees(one.angle):.0f} degrees"
    grid = _grid(one, picture, scale)
    version = None if grid is None else _version(reading, grid.modules)
    if grid is None or version is None:
        return "the code was read, but its modules lie on no even grid"
    x, y = corner
    return PrintedCode(
        symbology=reading.symbology,
        symbology_identifier=reading.symbology_identifier,
        version=version,
        text=reading.text,
        modules=grid.modules,
        left=(grid.left + x) / scale,
        top=(grid.top + y) / scale,
        x=grid.x / scale,
        y=grid.y / scale,
    )


def _version(reading: RawReading, modules: NDArray[np.bool_]) -> str | None:
    if reading.symbology is Symbology.CODE_128:
        return "128" if says(modules, reading) else None
    return find_version(reading, modules)


def _grid(one: _Found, picture: NDArray[np.uint8], scale: int) -> FittedGrid | None:
    left, top, right, bottom = one.box
    margin = _margin(one)
    start = margin * scale
    guess = (
        Span(start=start, end=start + (right - left) * scale),
        Span(start=start, end=start + (bottom - top) * scale),
    )
    ink = ink_of(picture)
    if one.reading.symbology is not Symbology.CODE_128:
        box = find_box(ink, guess, slack=start * 0.75)
        size = find_size(one.reading)
        if box is None or size is None:
            return None
        rows, columns = size[::-1] if one.lies_down else size
        return find_grid(ink, box, rows, columns)
    if not one.lies_down:
        return find_bars(ink, guess[1])
    grid = find_bars(ink.T, guess[0])
    return None if grid is None else replace(grid, left=grid.top, top=grid.left, modules=grid.modules.T)
