"""What modules look like at points of them: against the fixed pattern itself, and by hand."""

import numpy as np
import pytest

from tracelabels.scanning.locating.pattern_points import fixed_points, seen_points
from tracelabels.scanning.sampling import SymbolShape
from tracelabels.scanning.sampling.fixed_cells import fixed_cells
from tracelabels.symbols import Symbology

SHAPE = SymbolShape(symbology=Symbology.DATA_MATRIX, version="12x36")
CELLS = fixed_cells(SHAPE)
HARD = 0.02  # modules: nothing of a neighbour is seen at a point


def modules_of(points):
    """Return in which module, right and down in the ring's own count, each point lies: from its terms u and v."""
    u, v = points.places.powers[1:3]
    right, down = (u + 1) / 2 * CELLS.columns + 1, (v + 1) / 2 * CELLS.rows + 1
    return np.floor(right).astype(int), np.floor(down).astype(int)


def test_fixed_points_lie_in_fixed_modules_four_each_and_look_like_them():
    points = fixed_points(SHAPE, softened=HARD, spread=0.0)
    right, down = modules_of(points)
    counts = np.zeros(CELLS.known.shape, int)
    np.add.at(counts, (down, right), 1)
    assert (counts == 4 * CELLS.known).all()
    assert (points.levels == np.where(CELLS.dark[down, right], -1, 1)).all()
    assert np.unique(points.weights).tolist() == [1.0, 2.5]


def test_seen_points_lie_in_all_modules_and_count_by_how_surely_they_were_seen():
    rng = np.random.default_rng(8)
    dark, sureness = rng.random(CELLS.dark.shape) < 0.5, rng.uniform(0.1, 1, CELLS.dark.shape)
    points = seen_points(SHAPE, dark, sureness, softened=HARD, spread=0.0)
    right, down = modules_of(points)
    assert (points.levels == np.where(dark[down, right], -1, 1)).all()
    assert points.weights == pytest.approx(sureness[down, right])
    assert len(points.levels) == 4 * dark.size


def test_a_spread_print_is_darker_beside_dark_modules_only():
    dark = np.zeros(CELLS.dark.shape, bool)
    dark[6, 10] = True
    sure = np.ones(dark.shape)
    thin, thick = (seen_points(SHAPE, dark, sure, softened=HARD, spread=spread) for spread in (0.0, 0.34))
    right, down = modules_of(thin)
    changed = thick.levels < thin.levels
    # Points lie a quarter of a module from a module's edge: a spread of a third reaches one row of them all round.
    assert changed.sum() == 4 * 2 + 4
    assert (np.maximum(np.abs(right - 10), np.abs(down - 6))[changed] == 1).all()
