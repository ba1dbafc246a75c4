import numpy as np
import pytest

from tracelabels.legibility.simulation.film import WAVE_MM, Film
from tracelabels.legibility.simulation.view import Rays


def _rays_to(points, origin):
    directions = (points - origin).T.reshape(3, 1, -1).astype(np.float32)
    return Rays(origin=origin, directions=directions)


@pytest.mark.parametrize("height", [0.0, 0.1, 0.3])
def test_a_line_of_sight_to_a_lifted_point_meets_the_film_at_that_point(height):
    film = Film(height=height, direction=30.0, phase=50.0)
    label = np.random.default_rng(5).uniform(-6.0, 6.0, size=(200, 2))
    meeting = film.meet(_rays_to(film.lift(label), np.array([40.0, -30.0, 140.0])))
    found = np.stack([meeting.u[0], meeting.v[0]], axis=1)
    assert np.abs(found - label).max() < 0.002
    assert meeting.met.all()


def test_the_normals_are_those_of_the_surface():
    film = Film(height=0.3, direction=20.0, phase=10.0)
    label = np.random.default_rng(6).uniform(-6.0, 6.0, size=(50, 2))
    step = 0.01
    ahead, aside = film.lift(label + np.array([step, 0.0])), film.lift(label + np.array([0.0, step]))
    crossed = np.cross(ahead - film.lift(label), aside - film.lift(label))
    expected = crossed / np.linalg.norm(crossed, axis=1, keepdims=True)
    meeting = film.meet(_rays_to(film.lift(label), np.array([0.0, 0.0, 150.0])))
    assert np.abs(meeting.normal[:, 0].T - expected).max() < 0.01


def test_the_steepest_slope_is_the_waves_own():
    label = np.stack([np.linspace(0, WAVE_MM, 2001), np.zeros(2001)], axis=1)
    heights = Film(height=0.2, direction=0.0, phase=0.0).lift(label)[:, 2]
    assert np.gradient(heights, WAVE_MM / 2000).max() == pytest.approx(2 * np.pi * 0.2 / WAVE_MM, rel=1e-3)
