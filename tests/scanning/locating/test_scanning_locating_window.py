"""The part of a picture around an outline: places stay where they are at any size, and the light is made even."""

import cv2
import numpy as np
import pytest

from tracelabels.scanning.locating.outlines import Outline
from tracelabels.scanning.locating.surface import NODES, powers, surface_through
from tracelabels.scanning.locating.window import window_around


def outline(side, middle):
    return Outline(nodes=NODES * side / 2 + middle, area=float(side * side), likeness=1.0)


@pytest.mark.parametrize(("side", "scale"), [(36, 2.0), (55, 1.5), (90, 1.0), (330, 1 / 3)])
def test_a_place_is_the_same_in_the_window_and_in_the_picture(side, scale):
    grey = np.full((640, 700), 200, np.uint8)
    spot = np.array([410.5, 300.5])
    cv2.circle(grey, (410, 300), max(3, side // 20), 20, -1)
    window = window_around(grey, outline(side, spot - side / 5))
    assert window.scale == pytest.approx((scale, scale), rel=0.02)
    dark = np.clip(100 - window.even, 0, None)
    dark[dark < 30] = 0
    y, x = np.mgrid[0 : dark.shape[0], 0 : dark.shape[1]] + 0.5
    seen = np.array([(x * dark).sum(), (y * dark).sum()]) / dark.sum()
    assert window.nodes_here(spot[np.newaxis])[0] == pytest.approx(seen, abs=0.15)
    surface = surface_through(window.nodes_here(NODES * 30 + spot))
    there = powers(NODES[:, 0], NODES[:, 1]) @ window.surface_in_picture(surface)
    assert there == pytest.approx(NODES * 30 + spot, abs=1e-6)


def test_light_that_falls_off_is_made_even_and_dark_marks_stay():
    light = np.linspace(230, 60, 300)[np.newaxis].repeat(300, axis=0)
    marks = np.zeros((300, 300), bool)
    marks[120:180:12, 110:190] = True
    marks = cv2.dilate(marks.astype(np.uint8), np.ones((5, 5), np.uint8)) > 0
    grey = np.where(marks, light * 0.2, light).astype(np.uint8)
    window = window_around(grey, outline(90, 150.0))
    left, top = (int(edge) for edge in window.corner)
    y, x = (slice(105 - start, 195 - start) for start in (top, left))  # the outline itself: no edge of the window
    even, there = window.even[y, x], marks[105:195, 105:195]
    assert window.scale == (1.0, 1.0)
    assert even[~there] == pytest.approx(100, abs=6)
    assert even[there] == pytest.approx(20, abs=4)


def test_a_view_has_the_slopes_of_a_ramp():
    y, x = np.mgrid[0:200, 0:200]
    window = window_around((60 + 0.5 * x).astype(np.uint8), outline(90, 100.0))
    ramp = type(window)(even=(2.0 * x - 3.0 * y).astype(np.float32), scale=(1.0, 1.0), corner=(0.0, 0.0))
    view = ramp.view(softened=1.0)
    inner = np.s_[20:-20, 20:-20]
    assert view.across[inner] == pytest.approx(2.0, abs=0.01)
    assert view.down[inner] == pytest.approx(-3.0, abs=0.01)
    assert ramp.view(softened=1.0) is view, "a view is made once"
