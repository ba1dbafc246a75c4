"""Maps moved about: shape and turn are found, and no search makes a map agree less."""

import numpy as np
import pytest

from tracelabels.scanning.locating import LOCATED_SHAPES
from tracelabels.scanning.locating.agreement import agreements
from tracelabels.scanning.locating.searching import find_starts, narrowed
from tracelabels.scanning.locating.surface import NODES, as_module_map, with_ends_moved
from tracelabels.scanning.locating.window import Window, window_around
from tracelabels.scanning.sampling.fixed_cells import fixed_cells


def shape_of(shot):
    from envelope_pictures import shape_of

    return shape_of(shot.symbol)


@pytest.mark.parametrize("kind", ["DM18", "DM12x36", "QR2", "MQR4"])
def test_the_right_shape_and_turn_agree_best(shot, outline_of, modules_off, kind):
    one = shot(kind, "tilt 30", 1)
    outline = outline_of(one.view, off=0.5, seed=1)
    window = window_around(one.grey, outline)
    starts = find_starts(window, window.nodes_here(outline.nodes), LOCATED_SHAPES)
    assert starts[0].shape == shape_of(one)
    agreed = [start.agreement for start in starts]
    assert agreed == sorted(agreed, reverse=True)
    cells = fixed_cells(starts[0].shape)
    place = as_module_map(window.surface_in_picture(starts[0].surfaces[0]), cells)
    median, _ = modules_off(place, one.view)
    assert median < 0.5  # a wrong quarter turn is off by half a symbol


def test_nothing_starts_where_nothing_is():
    window = Window(even=np.full((150, 150), 100, np.float32), scale=(1.0, 1.0), corner=(0.0, 0.0))
    assert find_starts(window, NODES * 45 + 75, LOCATED_SHAPES) == ()


def test_a_search_comes_nearer_and_never_loses_the_best(shot, outline_of, true_surface):
    one = shot("DM18", "usual", 2)
    shape = shape_of(one)
    window = window_around(one.grey, outline_of(one.view, off=0.0, seed=0))
    levels = window.view(softened=1.25, sharpened_by=2.5).levels
    truth = true_surface(one.view, window)
    away = with_ends_moved(truth, fixed_cells(shape), modules=0.6)
    before = agreements(levels, away, shape)
    surfaces, agreed = narrowed(levels, away, shape)
    assert agreed[0] > before.max()
    assert agreements(levels, surfaces, shape) == pytest.approx(agreed, abs=1e-6)
    with_truth, agreed_there = narrowed(levels, np.concatenate([away, truth[np.newaxis]]), shape)
    assert agreed_there[0] >= agreements(levels, truth[np.newaxis], shape)[0]
    assert len(with_truth) == 6
