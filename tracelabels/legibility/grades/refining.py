"""Refining a grid: from four rough corners to the lines that the print truly follows.

Which modules are dark is known, so every change between neighbours is an edge whose place can be measured and whose
direction (light to dark or back) tells it from the next one. The edges along rows move the grid sideways, those along
columns up and down. A smooth field (a polynomial in both directions) comes first, one degree more each time, so that a
bent symbol is followed and not lost; at last every line may differ from the smooth field by itself, as after a slip of
the paper. Clock tracks and finders are edges like all others.

A line of which too few edges were found stays where the smooth field puts it.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from tracelabels.legibility.grades.grid import Grid, levels_at

if TYPE_CHECKING:
    from numpy.typing import NDArray

_DEGREES: Final = (1, 1, 2, 3, 3, 3)
_REACH: Final = 0.75
"""An edge is looked for so many modules to either side. Where a module is missing, the edge of its neighbour, a whole
module away, must not be taken for its own."""
_FEWEST_STEPS: Final = 8
_MOST_STEPS: Final = 40
"""Samples a module along the search: one a pixel within these bounds; the edge of a clean drawing is no wider."""
_BESIDE: Final = (-0.3, -0.15, 0.0, 0.15, 0.3)
"""Parallel searches that are averaged, in modules from the middle of the row."""
_LEAST_CONTRAST: Final = 0.3
"""Share of the median contrast below which an edge is not believed."""
_OUTLIER: Final = 0.25
"""An edge farther from the field, in modules, is no measurement of the grid but a defect."""
_LARGEST_SLIP: Final = 0.5
"""A single line is moved by at most so many modules; what lies farther is the edge of something else."""
_FEWEST_EDGES: Final = 4
"""A single line is moved only if so many of its edges, and half of them, were found."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Edges:
    """Measured edges of one direction."""

    line: "NDArray[np.intp]"
    """The line between modules that each lies on."""
    middle: "NDArray[np.float64]"
    """Where along the line, modules."""
    sign: "NDArray[np.float64]"
    """1 where dark comes before light, else -1."""
    shift: "NDArray[np.float64]"
    """How far from the grid's line the edge was found, modules; not a number where it was not found."""


def refined(image: "NDArray[np.uint8]", grid: Grid, modules: "NDArray[np.bool_]") -> Grid:
    """Return the grid that the print follows.

    Args:
        image: grey picture, shape (height, width).
        grid: a rough grid, nowhere off by three quarters of a module.
        modules: the symbol that should be there, True is dark, shape (rows, columns).
    """
    for degree in _DEGREES:
        grid = _moved_smoothly(image, grid, modules, degree)
    return _moved_line_by_line(image, grid, modules)


def _moved_smoothly(image: "NDArray[np.uint8]", grid: Grid, modules: "NDArray[np.bool_]", degree: int) -> Grid:
    fields, growth = [], []
    u, v = _lattice_places(grid)
    for across in (True, False):
        edges = _measured(image, grid, modules, across=across)
        length, breadth = (grid.columns, grid.rows) if across else (grid.rows, grid.columns)
        weights, grown = _fitted(edges, length, breadth, degree)
        along, beside = (u, v) if across else (v, u)
        field = _terms(along.ravel() / length, beside.ravel() / breadth, degree) @ weights
        fields.append(field.reshape(u.shape))
        growth.append(2.0 * grown)
    return Grid(lattice=grid.at(u + fields[0], v + fields[1]), growth=(growth[0], growth[1]))


def _moved_line_by_line(image: "NDArray[np.uint8]", grid: Grid, modules: "NDArray[np.bool_]") -> Grid:
    u, v = _lattice_places(grid)
    right = _line_shifts(_measured(image, grid, modules, across=True), grid.columns, grid.growth[0])
    down = _line_shifts(_measured(image, grid, modules, across=False), grid.rows, grid.growth[1])
    return Grid(lattice=grid.at(u + right[None, :], v + down[:, None]), growth=grid.growth)


def _lattice_places(grid: Grid) -> "tuple[NDArray[np.float64], NDArray[np.float64]]":
    u, v = np.meshgrid(np.arange(grid.columns + 1.0), np.arange(grid.rows + 1.0))
    return u, v


def _line_shifts(edges: _Edges, lines: int, growth: float) -> "NDArray[np.float64]":
    """Return the median shift of each line once print growth is taken out."""
    left = edges.shift - edges.sign * growth / 2.0
    shifts = np.zeros(lines + 1)
    for line in range(lines + 1):
        here = left[edges.line == line]
        found = here[np.abs(here) <= _LARGEST_SLIP]
        if len(found) >= max(_FEWEST_EDGES, len(here) / 2.0):
            shifts[line] = np.median(found)
    return shifts


def _terms(along: "NDArray[np.float64]", beside: "NDArray[np.float64]", degree: int) -> "NDArray[np.float64]":
    """Return the terms of a polynomial in two variables, each from 0 to 1, shape (n, terms)."""
    a, b = 2.0 * along - 1.0, 2.0 * beside - 1.0
    return np.stack([a**i * b**j for i in range(degree + 1) for j in range(degree + 1 - i)], axis=-1)


def _fitted(edges: _Edges, length: int, breadth: int, degree: int) -> "tuple[NDArray[np.float64], float]":
    """Return the weights of the polynomial and the growth of one edge, leaving out what lies far off."""
    terms = _terms(edges.line / length, edges.middle / breadth, degree)
    terms = np.column_stack([terms, edges.sign])
    kept = np.isfinite(edges.shift)
    weights: NDArray[np.float64] = np.zeros(terms.shape[1])
    limit = 2.0 * _REACH
    for _ in range(4):
        if kept.sum() < 2 * terms.shape[1]:
            return np.zeros(terms.shape[1] - 1), 0.0
        weights = np.asarray(np.linalg.lstsq(terms[kept], edges.shift[kept], rcond=None)[0], dtype=np.float64)
        off = np.abs(edges.shift - terms @ weights)
        limit = max(_OUTLIER, 3.0 * float(np.median(off[kept])))
        kept = np.isfinite(edges.shift) & (off <= limit)
    return weights[:-1], float(weights[-1])


def _measured(image: "NDArray[np.uint8]", grid: Grid, modules: "NDArray[np.bool_]", *, across: bool) -> _Edges:
    """Measure all edges along the rows (across) or along the columns."""
    dark = np.pad(modules if across else modules.T, ((0, 0), (1, 1)))
    band, line = np.nonzero(dark[:, :-1] != dark[:, 1:])
    sign = np.where(dark[band, line], 1.0, -1.0)
    dense = int(np.clip(np.ceil(max(grid.pitch)), _FEWEST_STEPS, _MOST_STEPS))
    steps = np.linspace(-_REACH, _REACH, int(2 * _REACH * dense) + 1)
    along = np.broadcast_to(line[:, None, None] + steps[None, None, :], (len(line), len(_BESIDE), len(steps)))
    beside = np.broadcast_to((band[:, None] + 0.5 + np.array(_BESIDE)[None, :])[:, :, None], along.shape)
    places = grid.at(along, beside) if across else grid.at(beside, along)
    profile = levels_at(image, places).mean(axis=1) * sign[:, None]
    return _Edges(line=line, middle=(band + 0.5).astype(np.float64), sign=sign, shift=_crossings(profile, steps))


def _crossings(profiles: "NDArray[np.float64]", steps: "NDArray[np.float64]") -> "NDArray[np.float64]":
    """Return where each profile, rising where it should, crosses the middle between its ends nearest to the line."""
    contrast = profiles.max(axis=1) - profiles.min(axis=1)
    middle = (profiles.max(axis=1) + profiles.min(axis=1)) / 2.0
    above = profiles - middle[:, None]
    rising = (above[:, :-1] < 0.0) & (above[:, 1:] >= 0.0)
    rise = np.where(rising, above[:, 1:] - above[:, :-1], 1.0)
    at = steps[:-1] - np.where(rising, above[:, :-1] / rise, 0.0) * (steps[1] - steps[0])
    nearest = np.argmin(np.where(rising, np.abs(at), np.inf), axis=1)
    found = at[np.arange(len(at)), nearest]
    believed = rising.any(axis=1) & (contrast > _LEAST_CONTRAST * np.median(contrast))
    return np.where(believed, found, np.nan)
