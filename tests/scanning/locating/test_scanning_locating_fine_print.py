"""Modules change within a patch from one small part to the next; a dark ground, a tube's edge and stock do not."""

import cv2
import numpy as np
import pytest
from mat_pictures import Take, photographed_on_mat

from tracelabels.scanning.locating import find_outlines
from tracelabels.scanning.locating.fine_print import fine_print

SIDE = 120


def square(left, top, side=SIDE):
    return np.array([[left, top], [left + side, top], [left + side, top + side], [left, top + side]], dtype=float)


@pytest.fixture
def grey():
    """Four patches beside each other: modules, an even dark ground, an edge, stock."""
    rng = np.random.default_rng(3)
    modules = np.kron(rng.random((20, 20)) < 0.5, np.ones((6, 6))) * 160 + 40
    edge = np.where(np.arange(SIDE) < SIDE / 2, 40, 200) * np.ones((SIDE, 1))
    parts = [modules, np.full((SIDE, SIDE), 40), edge, np.full((SIDE, SIDE), 200)]
    return np.hstack(parts).astype(np.uint8)


def test_modules_have_more_of_it_than_anything_else(grey):
    fine = fine_print(grey, np.array([square(number * SIDE, 0) for number in range(4)]))
    assert fine.shape == (4,)
    assert fine[0] > 50  # levels of 40 and 200 lie 80 from their mean, less what the surroundings' mean follows
    assert fine[1] == fine[3] == 0
    assert 0 < fine[2] < 0.5 * fine[0]


def test_a_patch_is_measured_by_itself_whatever_stands_beside_it_in_the_list(grey):
    both = fine_print(grey, np.array([square(0, 0), square(SIDE, 0)]))
    assert both.tolist() == [float(fine_print(grey, np.array([square(at, 0)]))[0]) for at in (0, SIDE)]


def test_turning_a_patch_changes_little(grey):
    corners = square(0, 0)
    turned = fine_print(grey, np.array([np.roll(corners, turn, axis=0) for turn in range(4)]))
    assert np.ptp(turned) < 0.02 * turned.mean()


def test_blur_takes_it_away_slowly(grey):
    blurred = cv2.GaussianBlur(grey, (0, 0), 0.6 * 6)
    corners = np.array([square(0, 0)])
    assert 0.3 < float(fine_print(blurred, corners)[0] / fine_print(grey, corners)[0]) < 0.8


@pytest.mark.parametrize("kind", ["DM18", "DM20", "DM12x36"])
def test_on_a_dark_mat_the_symbols_outline_comes_before_the_ground(kind):
    """The ground on either side of a tube is larger, fuller and straighter than the label."""
    take = Take(blur=0.5, is_bell=True)
    first = [
        find_outlines(photographed_on_mat(kind, number, take, np.random.default_rng([41, number])))[0]
        for number in range(4)
    ]
    # 18 to 36 modules of 4 pixels, against a ground of a third of the picture.
    assert [one.side < 140 for one in first] == [True] * 4
