"""Glare, motion and the hard shadow against their closed forms."""

import numpy as np
import pytest

from tracelabels.legibility.simulation.glare import Highlight, added
from tracelabels.legibility.simulation.motion import kernel, moved
from tracelabels.legibility.simulation.shadow_edge import shaded


@pytest.mark.parametrize("share", [0.01, 0.05, 0.2])
@pytest.mark.parametrize(("elongation", "direction"), [(1.0, 0.0), (3.0, 0.0), (3.0, 37.0)])
def test_at_least_half_of_the_light_is_added_over_the_share_of_the_area(share, elongation, direction):
    light = added(400, 400, Highlight(x=200, y=200, area=share * 400**2, elongation=elongation, direction=direction))
    assert (light >= 0.5).mean() == pytest.approx(share, rel=0.03)
    assert light.max() == pytest.approx(1.0, abs=0.01)


def test_the_long_axis_of_the_highlight_points_anticlockwise_from_the_right():
    light = added(300, 300, Highlight(x=150, y=150, area=6000, elongation=4.0, direction=30.0))
    rows, columns = np.nonzero(light >= 0.5)
    values, vectors = np.linalg.eigh(np.cov(columns, -rows))
    assert np.degrees(np.arctan2(vectors[1, 1], vectors[0, 1])) % 180 == pytest.approx(30.0, abs=1.0)
    # Half axes go with the square roots of the variances.
    assert np.sqrt(values[1] / values[0]) == pytest.approx(4.0, rel=0.03)


def test_no_glare_adds_nothing():
    assert not added(9, 9, Highlight(x=4, y=4, area=0.0, elongation=1.0, direction=0.0)).any()


@pytest.mark.parametrize("length", [1.0, 3.7, 10.0])
@pytest.mark.parametrize("direction", [0.0, 90.0])
def test_a_sharp_edge_becomes_a_ramp_of_the_motions_length(length, direction):
    edge = np.zeros((60, 60), dtype=np.float32)
    edge[:, 30:] = 1.0
    ramp = moved(edge if direction == 0.0 else edge.T, length, direction)
    slope = np.diff(ramp[30] if direction == 0.0 else ramp[:, 30])
    # The slope is a box of length m, widened by the linear interpolation (variance 1/6): m^2 / 12 + 1/6 at most.
    place = np.arange(len(slope))
    middle = (slope * place).sum()
    variance = (slope * (place - middle) ** 2).sum()
    assert slope.sum() == pytest.approx(1.0, abs=1e-5)
    assert length**2 / 12 - 0.02 <= variance <= length**2 / 12 + 0.25


def test_the_kernel_lies_in_the_direction_of_the_motion():
    weights = kernel(12.0, 40.0)
    rows, columns = np.mgrid[0 : len(weights), 0 : len(weights)] - len(weights) // 2
    covariance = np.cov(columns.ravel(), -rows.ravel(), aweights=weights.ravel(), ddof=0)
    values, vectors = np.linalg.eigh(covariance)
    assert np.degrees(np.arctan2(vectors[1, 1], vectors[0, 1])) % 180 == pytest.approx(40.0, abs=0.5)
    assert np.sqrt(12 * values[1]) == pytest.approx(12.0, rel=0.02)


def test_a_shadow_takes_its_depth_on_one_side_and_nothing_on_the_other():
    light = shaded(100, 200, depth=0.4, through=(100.0, 50.0), direction=0.0, penumbra=5.0)
    assert light[50, 5] == pytest.approx(1.0, abs=1e-4)
    assert light[50, 195] == pytest.approx(0.6, abs=1e-4)
    assert light[50, 99:101].mean() == pytest.approx(0.8, abs=1e-4)
