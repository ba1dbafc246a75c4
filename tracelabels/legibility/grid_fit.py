"""The grid of a symbol in a clean picture: left, top and module size to a small part of a pixel.

An edge between a dark and a light module is found from the ink between the two modules' middles: so much ink, so far
the edge. All edges of a direction are fitted by least squares to ``origin + number * module ± growth``; the growth
takes up what a renderer or a printer adds to dark modules on both sides, so that it does not widen the grid. A symbol
that leans is refused.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

_PASSES: Final = 2
_STRIDE: Final = 5
_DARK: Final = 0.5
_LEAST_EDGES: Final = 3
_LARGEST_SPREAD: Final = 0.2
_LARGEST_LEAN: Final = 0.25

Ink = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FittedGrid:
    """A symbol's grid in pixels of the picture that it was measured in."""

    left: float
    """Left edge."""
    top: float
    """Top edge."""
    x: float
    """Width of a module."""
    y: float
    """Height of a module; of a linear symbol the length of its bars."""
    modules: NDArray[np.bool_]
    """What was sampled at the modules' middles, True is dark."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """A symbol's reach in one direction, as far as known before it is measured."""

    start: float
    """First edge."""
    end: float
    """Last edge."""

    def pitch(self, count: int) -> float:
        """Return the size of one of so many modules."""
        return (self.end - self.start) / count

    def middles(self, count: int) -> NDArray[np.intp]:
        """Return the pixel in the middle of each of so many modules."""
        return (self.start + (np.arange(count) + 0.5) * self.pitch(count)).astype(np.intp)


def ink_of(picture: NDArray[np.uint8]) -> Ink:
    """Return how dark each pixel is: 0 as the lightest of the picture, 1 as the darkest."""
    dark, light = np.percentile(picture[::_STRIDE, ::_STRIDE], (2, 98))
    levels = np.clip((light - np.arange(256.0)) / max(1.0, light - dark), 0.0, 1.0)
    return np.asarray(levels[picture], dtype=np.float64)


def find_box(ink: Ink, guess: tuple[Span, Span], slack: float) -> tuple[Span, Span] | None:
    """Find the box of ink next to a guess (across, down), each edge within a slack of it; None if there is no ink."""
    across, down = guess
    rows = _inside(down, ink.shape[0])
    columns = _inside(across, ink.shape[1])
    wide = _reach(ink[rows].max(axis=0) > _DARK, across, slack)
    high = _reach(ink[:, columns].max(axis=1) > _DARK, down, slack)
    return None if wide is None or high is None else (wide, high)


def _inside(span: Span, size: int) -> slice:
    return slice(max(0, round(span.start)), min(size, round(span.end)))


def _reach(dark: NDArray[np.bool_], span: Span, slack: float) -> Span | None:
    """Walk from within each edge outwards to the first light line."""
    first = _walk(dark, round(span.start + slack), -1, round(2 * slack))
    last = _walk(dark, round(span.end - slack), 1, round(2 * slack))
    return None if first is None or last is None else Span(start=float(first), end=float(last + 1))


def _walk(dark: NDArray[np.bool_], start: int, step: int, most: int) -> int | None:
    place = min(max(start, 0), dark.size - 1)
    while not dark[place]:  # the guess may lie outside the symbol: come in first
        place -= step
        if abs(place - start) > most or not 0 <= place < dark.size:
            return None
    for _ in range(most):
        if not 0 <= place + step < dark.size or not dark[place + step]:
            break
        place += step
    return place


def find_grid(ink: Ink, box: tuple[Span, Span], rows: int, columns: int) -> FittedGrid | None:
    """Measure a matrix symbol.

    Args:
        ink: The picture as :func:`ink_of` returns it, shape (height, width).
        box: The symbol's box, right within a third of a module.
        rows: Modules from top to bottom.
        columns: Modules from left to right.

    Returns:
        The grid, or None if the edges lie on no even grid.
    """
    across, down = box
    for _ in range(_PASSES):
        modules = ink[np.ix_(down.middles(rows), across.middles(columns))] > _DARK
        wide = find_span(_lines(ink, down, rows), modules, across)
        high = find_span(_lines(ink.T, across, columns), modules.T, down)
        if wide is None or high is None:
            return None
        across, down = wide, high
    return FittedGrid(left=across.start, top=down.start, x=across.pitch(columns), y=down.pitch(rows), modules=modules)


def _lines(ink: Ink, span: Span, count: int) -> Ink:
    """Return the mean ink along the middle half of each row of modules, shape (count, width)."""
    pitch = span.pitch(count)
    starts = span.start + np.arange(count) * pitch
    first = np.ceil(starts + pitch / 4).astype(int)
    last = np.maximum(first + 1, np.floor(starts + 3 * pitch / 4).astype(int))
    return np.stack([ink[a:b].mean(axis=0) for a, b in zip(first, last, strict=True)])


def find_span(lines: Ink, modules: NDArray[np.bool_], span: Span) -> Span | None:
    """Fit the edges along lines of ink; None if they are too few or too far off an even, upright grid.

    Args:
        lines: Ink along the middle of each row of modules, shape (rows, width).
        modules: The matrix, shape (rows, columns).
        span: Where the columns lie, right within a third of a module.
    """
    count = modules.shape[1]
    pitch = span.pitch(count)
    framed = np.pad(modules, ((0, 0), (1, 1)))
    row, number = np.nonzero(framed[:, 1:] != framed[:, :-1])
    if number.size < _LEAST_EDGES:
        return None
    dark_before = framed[row, number]
    about = np.asarray(span.start + number * pitch, dtype=np.float64)
    edges = _edges(lines, row, about, dark_before, pitch)
    sign = np.where(dark_before, 1.0, -1.0)
    rows = row - (len(modules) - 1) / 2
    terms = np.column_stack([np.ones(number.size), number, sign, rows])
    start, module, _, lean = np.linalg.lstsq(terms, edges, rcond=None)[0]
    spread = float(np.sqrt(np.mean((terms[:, :2] @ (start, module) - edges) ** 2)))
    if not (spread < _LARGEST_SPREAD * pitch and abs(lean) * len(modules) < _LARGEST_LEAN * pitch):
        return None
    return Span(start=float(start), end=float(start + count * module))


def _edges(
    lines: Ink, row: NDArray[np.intp], about: NDArray[np.float64], dark_before: NDArray[np.bool_], pitch: float
) -> NDArray[np.float64]:
    """Return where each edge lies, from the ink between the middles of the two modules that it parts."""
    total = np.pad(np.cumsum(lines, axis=1), ((0, 0), (1, 0)))
    before, after = about - pitch / 2, about + pitch / 2
    area = _total_at(total, row, after) - _total_at(total, row, before)
    return np.where(dark_before, before + area, after - area)


def _total_at(total: Ink, row: NDArray[np.intp], place: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the ink of a row up to a place between pixels."""
    held = np.clip(place, 0.0, total.shape[1] - 1.0)
    whole = np.minimum(held.astype(np.intp), total.shape[1] - 2)
    lower, upper = total[row, whole], total[row, whole + 1]
    return np.asarray(lower + (held - whole) * (upper - lower))
