"""The order of all this: strengths of sharpening, cores and fields in turn until a symbol says something."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np

from tracelabels.scanning.sampling.deciding import Decided, around, decide, glared
from tracelabels.scanning.sampling.erasing import corrections
from tracelabels.scanning.sampling.fixed_cells import FixedCells, SymbolShape, fixed_cells
from tracelabels.scanning.sampling.ideal import find_said
from tracelabels.scanning.sampling.levels import core_pixels, module_levels
from tracelabels.scanning.sampling.light_fields import light_fields
from tracelabels.scanning.sampling.sharpening import Blur, Patch, find_patch, spectrum_of
from tracelabels.symbols import DataMatrixShape, RawReading, Symbology

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tracelabels.scanning.sampling.geometry import ModuleMap

_BELLS: Final = tuple(Blur(bell=bell) for bell in (0.0, 0.35, 0.5, 0.6, 0.7, 0.8))
_STREAKS: Final = tuple(Blur(bell=0.2, streak=long, angle=turn) for long in (1.5, 2.0) for turn in range(0, 180, 30))
"""Tried after the bells: a hand that moved is rarer."""
_CORES: Final = (0.6, 0.25)
"""Of a module: sides of the part that is looked at; the narrow one for prints that have spread."""
_CORRECTED_VIEWS: Final = 12
"""Views, of those with the best agreement, in which codewords are held to be missing: it is slow."""
_LEAST_AGREEMENT: Final = 0.75
"""Of the fixed modules: below it the map or the sharpening is wrong. Random modules agree by about half."""


def read_sampled(
    grey: "NDArray[np.uint8]",
    shape: SymbolShape,
    place: "ModuleMap",
    *,
    accepts: Callable[[RawReading], bool],
) -> RawReading | None:
    """Read a symbol whose shape and place are known; None if it cannot be read.

    Args:
        grey: the picture.
        shape: the symbol's kind and version.
        place: from modules to pixels of the picture.
        accepts: whether a reading may be believed; the guards of scanning. What they refuse does not end the search.

    Returns:
        The reading, its corners in the picture, its unused error correction counted with what was missing.
    """
    cells = fixed_cells(shape)
    patch = find_patch(grey, cells.rows, cells.columns, place)
    if patch is None:
        return None
    corners = _corners(cells, place)
    for said in _readings(patch, shape, cells, place):
        reading = replace(said, corners=corners)
        if accepts(reading):
            return reading
    return None


def _corners(cells: FixedCells, place: "ModuleMap") -> tuple[tuple[int, int], ...]:
    outline = [(0, 0), (cells.columns, 0), (cells.columns, cells.rows), (0, cells.rows)]
    return tuple((round(x), round(y)) for x, y in place(np.array(outline, dtype=np.float64)).tolist())


def _readings(patch: Patch, shape: SymbolShape, cells: FixedCells, place: "ModuleMap") -> Iterator[RawReading]:
    """Yield what the symbol may say: first without missing codewords in every view, then with them."""
    plain = module_levels(
        patch.grey, core_pixels(patch, cells.rows, cells.columns, place, core=_CORES[0]), *_size(cells)
    )
    hidden = glared(plain, cells)
    views = []
    for view in _views(patch, cells, place, ~hidden):
        views.append(view)
        said = find_said(view.dark, shape)
        if said is not None:
            yield said
    if shape.symbology is Symbology.DATA_MATRIX:
        for view in sorted(views, key=lambda view: -view.agreement)[:_CORRECTED_VIEWS]:
            yield from _corrected(view, hidden[1:-1, 1:-1], shape)


def _size(cells: FixedCells) -> tuple[int, int]:
    return cells.rows, cells.columns


def _views(patch: Patch, cells: FixedCells, place: "ModuleMap", seen: "NDArray[np.bool_]") -> Iterator[Decided]:
    """Yield the modules as every strength, core and field shows them, each view once."""
    known, fields = set(), light_fields(cells, seen)
    pixels = [core_pixels(patch, *_size(cells), place, core=core) for core in _CORES]
    for blurs, cores in ((_BELLS, pixels), (_STREAKS, pixels[:1])):
        spectrum = spectrum_of(patch, blurs)
        for blur in blurs:
            grey = spectrum.without(blur) if blur.bell else patch.grey
            all_levels = [module_levels(grey, core, *_size(cells)) for core in cores]
            for levels, field in ((one, field) for one in all_levels for field in fields.seen_in(one)):
                view = decide(levels, field, cells)
                mark = view.dark.tobytes()
                if view.agreement >= _LEAST_AGREEMENT and mark not in known:
                    known.add(mark)
                    yield view


def _corrected(view: Decided, hidden: "NDArray[np.bool_]", shape: SymbolShape) -> Iterator[RawReading]:
    choices = (hidden, around(hidden, view.dark))
    for corrected in corrections(view.dark, view.confidence, choices, DataMatrixShape(shape.version)):
        said = find_said(corrected.modules, shape)
        if said is not None:
            yield replace(said, unused_error_correction=corrected.unused)
