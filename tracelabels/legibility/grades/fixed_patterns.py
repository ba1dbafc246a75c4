"""The fixed patterns of a symbol, cut into the segments that are graded one by one.

Data Matrix (ISO/IEC 16022:2006 annex M): the two solid sides L1 (left) and L2 (bottom) and the quiet zone beside each,
and the clock tracks with the bars inside larger symbols. QR (ISO/IEC 18004, from memory): the three corners, each a
finder with separator and quiet zone, the timing patterns, the alignment pattern.

All places are in the matrix with its quiet zone around it.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from tracelabels.legibility.grades.scale import (
    QR_ALIGNMENT_DAMAGE,
    QR_CORNER_DAMAGE,
    QR_TIMING_DAMAGE,
    SOLID_DAMAGE,
    GradeMethod,
    clock_track_grade,
)
from tracelabels.symbols import DataMatrixShape, Symbology
from tracelabels.symbols.codewords import data_matrix_placement, qr_layout

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

_QR_QUIET: Final = 4


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Segment:
    """A part of the fixed pattern."""

    name: str
    """What people call it."""
    modules: "NDArray[np.bool_]"
    """Which modules belong to it, in the matrix with its quiet zone."""
    counted: bool
    """Whether damage is a number of modules; otherwise it is a share of the segment."""
    grade: "Callable[[float, GradeMethod], float]"
    """Grade of that number or share."""

    def damage(self, damaged: "NDArray[np.bool_]") -> float:
        """Return the number or share that is damaged of its own modules, shape (n,)."""
        return float(damaged.sum()) if self.counted else float(damaged.mean())


def segments(symbology: Symbology, shape: tuple[int, int], quiet: int) -> tuple[Segment, ...]:
    """Return the segments of a symbol.

    Args:
        symbology: Data Matrix or QR.
        shape: rows and columns without quiet zone.
        quiet: modules of quiet zone around the matrix.
    """
    if symbology is Symbology.DATA_MATRIX:
        return _data_matrix(DataMatrixShape(f"{shape[0]}x{shape[1]}"), quiet)
    return _qr((shape[0] - 17) // 4, quiet)


def _blank(rows: int, columns: int, quiet: int) -> "NDArray[np.bool_]":
    return np.zeros((rows + 2 * quiet, columns + 2 * quiet), dtype=bool)


def _solid(name: str, modules: "NDArray[np.bool_]") -> Segment:
    return Segment(name=name, modules=modules, counted=False, grade=SOLID_DAMAGE.grade)


def _track(name: str, modules: "NDArray[np.bool_]") -> Segment:
    return Segment(name=name, modules=modules, counted=False, grade=clock_track_grade)


def _data_matrix(shape: DataMatrixShape, quiet: int) -> tuple[Segment, ...]:
    rows, columns, q = shape.rows, shape.columns, quiet
    left, bottom, top, right, left_quiet, bottom_quiet, inner_solid, inner_track = (
        _blank(rows, columns, q) for _ in range(8)
    )
    inside = (slice(q, q + rows), slice(q, q + columns))
    left[q : q + rows, q] = True
    bottom[q + rows - 1, q : q + columns] = True
    top[q, q : q + columns] = True
    right[q : q + rows, q + columns - 1] = True
    # One module of quiet zone is what the standard asks for; it includes the corner beside the solid sides.
    left_quiet[q : q + rows + 1, q - 1] = True
    bottom_quiet[q + rows, q - 1 : q + columns] = True
    row_in, column_in = data_matrix_placement.in_region(shape)
    height, width = data_matrix_placement.region_size(shape)
    inner_solid[inside] = (column_in == 0)[None, :] | (row_in == height - 1)[:, None]
    inner_track[inside] = (column_in == width - 1)[None, :] | (row_in == 0)[:, None]
    inner_solid &= ~(left | bottom)
    inner_track &= ~(top | right | left | bottom | inner_solid)
    inner_solid &= ~(top | right)
    parts = (
        _solid("L1 (left side)", left),
        _solid("L2 (bottom side)", bottom),
        _solid("quiet zone of L1", left_quiet),
        _solid("quiet zone of L2", bottom_quiet),
        _track("clock track, top", top),
        _track("clock track, right", right),
        _solid("inner bars", inner_solid),
        _track("inner clock tracks", inner_track),
    )
    return tuple(part for part in parts if part.modules.any())


def _qr(version: int, quiet: int) -> tuple[Segment, ...]:
    side, q = qr_layout.side(version), quiet
    parts = []
    for name, (rows, columns) in zip(
        ("top left corner", "top right corner", "bottom left corner"), qr_layout.finder_boxes(version), strict=True
    ):
        corner = _blank(side, side, q)
        corner[_with_quiet(rows, side, q), _with_quiet(columns, side, q)] = True
        parts.append(Segment(name=name, modules=corner, counted=True, grade=QR_CORNER_DAMAGE.grade))
    for name, (rows, columns) in zip(
        ("timing, left to right", "timing, top to bottom"), qr_layout.timing_lines(version), strict=True
    ):
        timing = _blank(side, side, q)
        timing[q : q + side, q : q + side][rows, columns] = True
        parts.append(Segment(name=name, modules=timing, counted=False, grade=QR_TIMING_DAMAGE.grade))
    alignment = qr_layout.alignment_box(version)
    if alignment is not None:
        place = _blank(side, side, q)
        place[q : q + side, q : q + side][alignment] = True
        parts.append(Segment(name="alignment pattern", modules=place, counted=False, grade=QR_ALIGNMENT_DAMAGE.grade))
    return tuple(parts)


def _with_quiet(part: slice, side: int, quiet: int) -> slice:
    """Return a finder's rows or columns in the matrix with quiet zone, reaching out to its edge."""
    margin = min(quiet, _QR_QUIET)
    if part.start == 0:
        return slice(quiet - margin, quiet + part.stop)
    return slice(quiet + part.start, quiet + side + margin)
