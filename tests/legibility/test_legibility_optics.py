import numpy as np
import pytest

from tracelabels.legibility.simulation.optics import Spot, disc, narrow_bell, spotted


@pytest.mark.parametrize("radius", [0.8, 2.0, 3.7])
def test_the_profile_of_a_disc_is_its_chords(radius):
    weights = disc(radius)
    places = np.arange(len(weights)) - len(weights) // 2
    assert weights.sum() == pytest.approx(1.0, abs=1e-5)
    # The profile of an even disc is 2 sqrt(r^2 - x^2) / (pi r^2); its integral over each pixel, in closed form.
    edges = np.clip(np.append(places - 0.5, places[-1] + 0.5) / radius, -1.0, 1.0)
    whole = (edges * np.sqrt(1.0 - edges**2) + np.arcsin(edges)) / np.pi
    assert weights.sum(axis=0) == pytest.approx(np.diff(whole), abs=0.004)


@pytest.mark.parametrize("spot", Spot)
def test_both_spots_blur_an_edge_by_the_same_variance(spot):
    edge = np.zeros((41, 41), dtype=np.float32)
    edge[:, 20:] = 1.0
    slope = np.diff(spotted(edge, 2.0, spot)[20])
    places = np.arange(len(slope))
    middle = (slope * places).sum()
    assert (slope * (places - middle) ** 2).sum() == pytest.approx(4.0, rel=0.05)


def test_without_defocus_the_picture_stays():
    edge = np.eye(9, dtype=np.float32)
    assert np.array_equal(spotted(edge, 0.0, Spot.DISC), edge)


@pytest.mark.parametrize("sigma", [0.1, 0.3, 0.45, 0.6, 0.9])
def test_a_bell_narrower_than_a_pixel_keeps_its_width_and_damps_what_pixels_can_hold(sigma):
    weights = narrow_bell(sigma)
    places = np.arange(len(weights)) - len(weights) // 2
    assert weights.sum() == pytest.approx(1.0, abs=1e-6)
    assert np.sqrt((weights * places**2).sum()) == pytest.approx(sigma, rel=0.01)
    for frequency in (np.pi / 4, np.pi / 2, 2 * np.pi / 3):
        left = (weights * np.cos(frequency * places)).sum()
        assert left == pytest.approx(np.exp(-((sigma * frequency) ** 2) / 2), abs=0.01)


def test_a_narrow_bell_passes_into_the_sampled_one_without_a_step():
    points = np.zeros((21, 21), dtype=np.float32)
    points[10, 10] = 1.0
    below, above = (spotted(points, sigma, Spot.BELL) for sigma in (0.999, 1.001))
    assert np.abs(below - above).max() < 0.003
