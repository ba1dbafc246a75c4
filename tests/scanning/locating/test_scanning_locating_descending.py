"""Maps settled by least squares on photographs whose true map is known."""

import numpy as np
import pytest

from tracelabels.scanning.locating.agreement import sampled_together
from tracelabels.scanning.locating.descending import _curvature_and_pull, settle
from tracelabels.scanning.locating.pattern_points import fixed_points, seen_points
from tracelabels.scanning.locating.surface import THIRD, as_module_map, module_side, with_ends_moved
from tracelabels.scanning.locating.window import window_around
from tracelabels.scanning.sampling.fixed_cells import fixed_cells
from tracelabels.scanning.sampling.geometry import RING


@pytest.fixture(params=["DM18", "DM12x36", "QR2", "MQR4"])
def case(request, shot, outline_of, true_surface):
    """A photograph: shot, shape, window, true surface, a module's side, the window seen as maps are settled."""
    from envelope_pictures import shape_of

    one = shot(request.param, "tilt 30", 0)
    shape = shape_of(one.symbol)
    window = window_around(one.grey, outline_of(one.view, off=0.0, seed=0))
    truth = true_surface(one.view, window)
    side = module_side(truth, fixed_cells(shape))
    return one, shape, window, truth, side, window.view(softened=0.2 * side)


def off(modules_off, case, surface):
    one, shape, window, *_ = case
    return modules_off(as_module_map(window.surface_in_picture(surface), fixed_cells(shape)), one.view)


def all_points(case):
    """Points of the symbol's true modules, all surely seen."""
    one, shape, *_ = case
    dark = np.pad(one.symbol.modules, RING)
    return seen_points(shape, dark, np.ones(dark.shape), softened=0.3, spread=0.0)


def test_on_all_its_modules_a_map_that_is_half_a_module_off_settles_on_the_truth(case, modules_off):
    _, shape, _, truth, side, slopes = case
    away = with_ends_moved(truth, fixed_cells(shape), modules=0.5)
    settled = settle(slopes, away, all_points(case), side=side, rounds=8, stiff=False)
    for surface, start in zip(settled.surfaces, away, strict=True):
        assert off(modules_off, case, start)[1] > 0.4
        assert off(modules_off, case, surface)[1] < 0.15


def test_on_the_fixed_pattern_most_ends_settle_near_the_truth(case, modules_off):
    _, shape, _, truth, side, slopes = case
    away = with_ends_moved(truth, fixed_cells(shape), modules=0.4)
    points = fixed_points(shape, softened=0.3, spread=0.0)
    settled = settle(slopes, away, points, side=side, rounds=8, stiff=True, outline=truth)
    medians = [off(modules_off, case, surface)[0] for surface in settled.surfaces]
    assert np.median(medians) < 0.15


def test_the_fit_is_a_correlation_and_settling_makes_it_no_worse(case):
    _, shape, _, truth, side, slopes = case
    away = with_ends_moved(truth, fixed_cells(shape), modules=0.5)
    before = settle(slopes, away, all_points(case), side=side, rounds=0, stiff=False)
    after = settle(slopes, away, all_points(case), side=side, rounds=4, stiff=False)
    assert (before.surfaces == away).all(), "no round, no step"
    assert (after.fits >= before.fits).all()
    assert after.fits.max() <= 1
    assert after.fits.min() > 0.9


def test_a_stiff_map_takes_less_of_the_third_order(case):
    _, _, _, truth, side, slopes = case
    flat = truth.copy()
    flat[list(THIRD)] = 0.0
    third = [
        np.abs(settle(slopes, flat[np.newaxis], all_points(case), side=side, rounds=1, stiff=stiff).surfaces[0, THIRD])
        for stiff in (True, False)
    ]
    assert third[0].sum() < third[1].sum()


def test_no_step_is_longer_than_a_module(case):
    _, shape, _, truth, side, slopes = case
    (away,) = with_ends_moved(truth, fixed_cells(shape), modules=3.0)[:1]
    settled = settle(slopes, away[np.newaxis], all_points(case), side=side, rounds=1, stiff=False)
    assert np.abs(settled.surfaces[0] - away).sum(axis=0).max() <= 1.0 * side + 1e-6


def test_the_normal_equations_are_those_of_weighted_least_squares(case):
    """Against numpy's own least squares: a point that is off by the contrast's 0.8 counts half."""
    _, _, _, truth, side, slopes = case
    points = all_points(case)
    levels, across, down = sampled_together(slopes.pictures, points.places.powers, truth[np.newaxis] + 0.3 * side)
    missed = 40.0 * points.levels - levels
    curvature, pull = _curvature_and_pull([across, down], missed, np.float32([[32.0]]), points)
    terms = points.places.powers.T.astype(np.float64)
    jacobian = np.hstack([across[0][:, np.newaxis] * terms, down[0][:, np.newaxis] * terms])
    root = np.sqrt(points.weights / (1.0 + (missed[0] / 32.0) ** 2)).astype(np.float64)
    wanted = np.linalg.lstsq(root[:, np.newaxis] * jacobian, root * missed[0], rcond=None)[0]
    assert np.linalg.solve(curvature[0], pull[0]) == pytest.approx(wanted, rel=0.02, abs=0.02)
