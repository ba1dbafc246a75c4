"""Maps moved about: shape and turn are found, and no search makes a map agree less."""

import numpy as np
import pytest

from tracelabels.scanning.locating import LOCATED_SHAPES
from tracelabels.scanning.locating.agreement import agreements
from tracelabels.scanning.locating.searching import (
    _closer,
    _with_expected,
    _with_settled,
    _with_slipped,
    find_starts,
    narrowed,
)
from tracelabels.scanning.locating.starting import Start, rough_starts
from tracelabels.scanning.locating.surface import NODES, as_module_map, node_powers, slipped, with_ends_moved
from tracelabels.scanning.locating.window import Window, window_around
from tracelabels.scanning.sampling.fixed_cells import fixed_cells
from tracelabels.scanning.sampling.sharpening import Blur

NODES_POWERS = node_powers()


def shape_of(shot):
    from envelope_pictures import shape_of

    return shape_of(shot.symbol)


@pytest.mark.parametrize("kind", ["DM18", "DM12x36", "QR2", "MQR4"])
def test_the_right_shape_and_turn_agree_best(shot, outline_of, modules_off, kind):
    one = shot(kind, "tilt 30", 1)
    outline = outline_of(one.view, off=0.5, seed=1)
    window = window_around(one.grey, outline)
    starts = find_starts(window, rough_starts(window, window.nodes_here(outline.nodes), LOCATED_SHAPES))
    assert starts[0].shape == shape_of(one)
    leads = [start.lead for start in starts]
    assert leads == sorted(leads, reverse=True)
    cells = fixed_cells(starts[0].shape)
    place = as_module_map(window.surface_in_picture(starts[0].surfaces[0]), cells)
    median, _ = modules_off(place, one.view)
    assert median < 0.5  # a wrong quarter turn is off by half a symbol


def test_nothing_starts_where_nothing_is():
    window = Window(even=np.full((150, 150), 100, np.float32), scale=(1.0, 1.0), corner=(0.0, 0.0))
    assert rough_starts(window, NODES * 45 + 75, LOCATED_SHAPES) == ()
    assert find_starts(window, ()) == ()


def test_a_search_comes_nearer_and_never_loses_the_best(shot, outline_of, true_surface):
    one = shot("DM18", "usual", 2)
    shape = shape_of(one)
    window = window_around(one.grey, outline_of(one.view, off=0.0, seed=0))
    levels = window.view(softened=1.25, undone=Blur(bell=2.5)).levels
    truth = true_surface(one.view, window)
    away = with_ends_moved(truth, fixed_cells(shape), modules=0.6)
    start = Start(shape=shape, expected=truth, surfaces=away, score=0.0)

    def scored(surfaces):
        return start.scores(levels, surfaces)

    found = scored(narrowed(levels, away, start))
    assert found[0] > scored(away).max()
    assert found.tolist() == sorted(found, reverse=True)
    with_truth = narrowed(levels, np.concatenate([away, truth[np.newaxis]]), start)
    assert scored(with_truth)[0] >= scored(truth[np.newaxis])[0]
    assert len(with_truth) == 6


def test_a_map_that_strays_is_worth_less_than_one_that_agrees_as_well_nearby(shot, outline_of, true_surface):
    one = shot("DM18", "usual", 2)
    shape = shape_of(one)
    window = window_around(one.grey, outline_of(one.view, off=0.0, seed=0))
    levels = window.view(softened=1.25).levels
    truth = true_surface(one.view, window)
    away = with_ends_moved(truth, fixed_cells(shape), modules=1.0)[
        0
    ]  # two modules' corner: half of the bound is reached
    near, far = (
        Start(shape=shape, expected=expected, surfaces=away[np.newaxis], score=0.0).scores(levels, truth[np.newaxis])[0]
        for expected in (truth, away)
    )
    assert near == pytest.approx(agreements(levels, truth[np.newaxis], shape)[0])
    assert 0.003 < near - far < 0.1


def test_a_map_whose_middle_slipped_by_a_period_is_put_right(shot, outline_of, true_surface):
    one = shot("DM18", "blur 0.5", 1)
    shape = shape_of(one)
    window = window_around(one.grey, outline_of(one.view, off=0.0, seed=0))
    truth = true_surface(one.view, window)
    for astray in slipped(truth, fixed_cells(shape), modules=2.0)[-4:]:
        start = Start(shape=shape, expected=truth, surfaces=astray[np.newaxis], score=0.0)
        left = _closer(window, start, start.surfaces, [])
        righted = _closer(window, start, _with_slipped(window, start), [])
        assert np.abs(righted.surfaces[0] - truth).max() < 1e-9
        assert left.score < righted.score - 0.05


def test_a_slipped_map_that_is_off_besides_is_put_right_by_settling(shot, outline_of, true_surface):
    one = shot("DM20", "usual", 1)
    cells = fixed_cells(shape_of(one))
    window = window_around(one.grey, outline_of(one.view, off=0.0, seed=0))
    truth = true_surface(one.view, window)
    off = with_ends_moved(truth, cells, modules=0.4)[3]
    for astray in slipped(off, cells, modules=2.0)[-4:]:
        start = Start(shape=shape_of(one), expected=truth, surfaces=astray[np.newaxis], score=0.0)
        slid, settled = (
            _closer(window, start, widened(window, start), []).surfaces[0] for widened in (_with_slipped, _with_settled)
        )
        away_slid, away = (np.abs(NODES_POWERS @ (surface - truth)).max() for surface in (slid, settled))
        assert away < 0.6 * away_slid
        assert away < 5 / 3  # pixels: a third of a module


def test_the_expected_map_is_looked_at_besides(shot, outline_of, true_surface):
    one = shot("DM18", "usual", 2)
    window = window_around(one.grey, outline_of(one.view, off=0.0, seed=0))
    truth = true_surface(one.view, window)
    far = with_ends_moved(truth, fixed_cells(shape_of(one)), modules=3.0)[:1]
    start = Start(shape=shape_of(one), expected=truth, surfaces=far, score=0.0)
    assert np.array_equal(_closer(window, start, _with_expected(window, start), []).surfaces[0], truth)
