"""Axial and grid non-uniformity of a measured grid (ISO/IEC 15415:2011)."""

import numpy as np

from tracelabels.legibility.grades.grid import Grid


def axial_nonuniformity(across: float, down: float) -> float:
    """Return |Xavg - Yavg| / ((Xavg + Yavg) / 2).

    >>> round(axial_nonuniformity(0.338, 0.360), 3)
    0.063
    """
    return abs(across - down) / ((across + down) / 2.0)


def grid_nonuniformity(grid: Grid) -> float:
    """Return the largest displacement of an intersection from its place in an even grid, over X.

    X is the larger of the two average module sizes: a curve or a lean only ever shortens one of them, so that the
    larger one is the printed module.
    """
    apart = np.linalg.norm(grid.lattice - grid.even(), axis=-1)
    return float(apart.max()) / max(grid.pitch)
