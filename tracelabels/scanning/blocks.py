"""A patch cut at its gaps: a code and the words beside it are one patch of edges, with stock between them.

Every row and every column of a matrix code has dark modules (its finder and its clock track), so no gap runs through
it, while its quiet zone is one. What is cut at all gaps, along both axes in turn, leaves the code whole and the words
in letters. Bars are kept whole as soon as the words above and below them are cut off.
"""

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final, TypeAlias

import cv2
import numpy as np

from tracelabels.scanning.places import Place
from tracelabels.scanning.runs import runs_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

_Box: TypeAlias = tuple[int, int, int, int]
"""Left, top, right and bottom in pixels."""

_MARK: Final = 0.4
"""Of the patch's shorter side: wider than any dark mark of a code (the finder of a QR code takes 7 of 25 modules)."""

_LEAST_SIDE: Final = 24
"""Pixels of a block's shorter side: the smallest patch."""

_LEAST_GAP: Final = 3
"""Pixels: two modules of a quiet zone where modules are as small as can be read."""

_EMPTY: Final = 0.02
"""Share of marks in a row or column that is a gap: noise."""

_ALIKE: Final = 0.9
"""Share of pixels that are the same a quarter of the height further on: nearly all within bars, else half."""

_CHANGES: Final = 15
"""Between dark and light across bars, in most lines: three quarters of the shortest Code 128 change 18 times."""


def cut_at_gaps(place: Place, upright: "NDArray[np.uint8]") -> tuple[Place, ...]:
    """Return the blocks of a patch that gaps lie around, without those that are too small for a code.

    Args:
        place: the patch.
        upright: its grey levels, turned upright, without a margin.
    """
    return tuple(place.part(box) for box in _blocks(_marks(upright), 0, 0))


def _marks(upright: "NDArray[np.uint8]") -> "NDArray[np.bool_]":
    """Return which pixels are much darker than the stock around them; wide dark ground is no mark."""
    width = round(_MARK * min(upright.shape)) | 1
    calm = np.asarray(cv2.GaussianBlur(upright, (0, 0), 0.8), dtype=np.uint8)
    square = np.ones((width, width), dtype=np.uint8)
    framed = cv2.copyMakeBorder(calm, width, width, width, width, cv2.BORDER_REPLICATE)
    darker = cv2.morphologyEx(framed, cv2.MORPH_BLACKHAT, square)[width:-width, width:-width]
    darker = np.ascontiguousarray(darker, dtype=np.uint8)
    return np.asarray(cv2.threshold(darker, 0, 1, cv2.THRESH_BINARY + cv2.THRESH_OTSU)[1] > 0, dtype=np.bool_)


def _blocks(marks: "NDArray[np.bool_]", left: int, top: int) -> Iterator[_Box]:
    """Yield what cannot be cut further."""
    height, width = marks.shape
    if min(height, width) < _LEAST_SIDE:
        return
    rows = [(0, start, width, end) for start, end in _runs(marks.mean(axis=1) > _EMPTY)]
    columns = [(start, 0, end, height) for start, end in _runs(marks.mean(axis=0) > _EMPTY)]
    if not rows or not columns:
        return
    whole = [(0, 0, width, height)]
    if (rows == columns == whole) or _are_bars(marks):
        yield left + columns[0][0], top + rows[0][1], left + columns[-1][2], top + rows[-1][3]
        return
    holds_bars = any(_are_bars(marks[:, start:end]) for start, _, end, _ in columns)
    for x, y, right, bottom in columns if rows == whole or (holds_bars and columns != whole) else rows:
        yield from _blocks(marks[y:bottom, x:right], left + x, top + y)


def _are_bars(marks: "NDArray[np.bool_]") -> bool:
    """Say whether most lines along one axis are nearly the same, and change often."""
    if min(marks.shape) < _LEAST_SIDE:
        return False
    for lines in (marks, marks.T):
        changes = (lines[:, 1:] != lines[:, :-1]).sum(axis=1)
        apart = len(lines) // 4
        alike = (lines[apart:] == lines[:-apart]).mean()
        if alike > _ALIKE and np.median(changes) > _CHANGES:
            return True
    return False


def _runs(filled: "NDArray[np.bool_]") -> list[tuple[int, int]]:
    """Return the starts and ends of runs of filled lines; gaps that are too narrow are filled."""
    runs: list[tuple[int, int]] = []
    for start, end in runs_of(filled).tolist():
        if runs and start - runs[-1][1] < _LEAST_GAP:
            runs[-1] = (runs[-1][0], end)
        else:
            runs.append((start, end))
    return runs
