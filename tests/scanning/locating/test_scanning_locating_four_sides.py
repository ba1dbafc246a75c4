"""The four sides of a drawn patch: corners and bows are known from how it was drawn."""

import math

import cv2
import numpy as np
import pytest

from tracelabels.scanning.locating.four_sides import (
    bowed_nodes,
    clockwise,
    find_corners,
    straight_nodes,
    upright_box,
)

WIDTH, HEIGHT = 180.0, 90.0
NEAR = 1.25  # pixels: a corner lies between the pixels of a contour
BOWS = {  # of top, right, bottom, left: pixels outwards at the middle, or inwards
    "tube tilted": (6.0, 0.0, -6.0, 0.0),
    "tube lying": (0.0, -6.0, 0.0, 6.0),
    "barrel": (4.0, 0.0, 4.0, 0.0),
    "cushion": (-4.0, -3.0, -4.0, -3.0),
    "straight": (0.0, 0.0, 0.0, 0.0),
}


def patch(turn, bows):
    """Draw a turned rectangle with bowed sides; return its outer contour and its eight true nodes."""
    corners = np.array([(-WIDTH, -HEIGHT), (WIDTH, -HEIGHT), (WIDTH, HEIGHT), (-WIDTH, HEIGHT)]) / 2
    outwards = np.array([(0, -1), (1, 0), (0, 1), (-1, 0)])
    along = np.linspace(0, 1, 60, endpoint=False)[:, np.newaxis]
    sides = [
        corners[k] * (1 - along) + corners[(k + 1) % 4] * along + bows[k] * 4 * along * (1 - along) * outwards[k]
        for k in range(4)
    ]
    nodes = np.array([point for side in sides for point in (side[0], side[30])])
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    into = np.array([[c, s], [-s, c]])
    points, nodes = np.concatenate(sides) @ into + 150, nodes @ into + 150
    picture = np.zeros((300, 300), np.uint8)
    cv2.fillPoly(picture, [np.rint(points * 256).astype(np.int32)], 255, shift=8)
    (contour,), _ = cv2.findContours(picture, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    return contour[:, 0].astype(np.float64), nodes


def corners_of(contour):
    hull = cv2.convexHull(contour.astype(np.int32))[:, 0].astype(np.float64)
    return find_corners(hull)


def off(nodes, expected):
    """Return the largest distance, whichever corner comes first."""
    return min(np.hypot(*(np.roll(nodes, 2 * k, axis=0) - expected).T).max() for k in range(4))


@pytest.mark.parametrize("turn", [0, 8, 31, 77, 140])
@pytest.mark.parametrize("bows", BOWS.values(), ids=BOWS)
def test_corners_and_bows_are_where_they_were_drawn(turn, bows):
    contour, nodes = patch(turn, bows)
    corners = corners_of(contour)
    assert off(bowed_nodes(contour, corners), nodes) < NEAR
    assert off(bowed_nodes(contour[::-1], corners), nodes) < NEAR, "the contour may run either way round"
    middles = straight_nodes(corners)[1::2]
    assert middles == pytest.approx((corners + np.roll(corners, -1, axis=0)) / 2)


def test_a_far_bow_moves_a_corner_by_a_hundredth_of_the_side_at_most():
    for turn in (0, 8, 31, 77, 140):  # where the side leaves a corner slanting, the widest four points lie beside it
        contour, nodes = patch(turn, (9.0, 0.0, -9.0, 0.0))
        assert off(bowed_nodes(contour, corners_of(contour)), nodes) < NEAR + 0.01 * WIDTH


def test_a_bow_is_fitted_past_a_bite_out_of_the_side():
    contour, nodes = patch(20, (10.0, 0.0, 0.0, 0.0))
    corners = corners_of(contour)
    inwards = (150 - nodes[1]) / np.hypot(*(150 - nodes[1]))
    contour[np.hypot(*(contour - nodes[1]).T) < 20] += 14 * inwards  # a blot of glare at the side's middle
    assert off(bowed_nodes(contour, corners), nodes) < 2 * NEAR


def test_corners_are_clockwise_as_seen_whatever_their_order():
    around = np.array([(0.0, 0.0), (10.0, 0.0), (10.0, 5.0), (0.0, 5.0)])
    for points in (around, around[::-1]):
        turned = clockwise(points)
        x, y = turned.T
        # The shoelace formula: positive where y runs down and points run clockwise.
        assert (x * np.roll(y, -1) - np.roll(x, -1) * y).sum() == 100


def test_three_points_have_no_four_corners():
    assert find_corners(np.array([(0.0, 0.0), (9.0, 0.0), (0.0, 9.0)])) is None


def test_a_round_hull_of_many_points_has_corners_on_it():
    angle = np.linspace(0, 2 * math.pi, 700, endpoint=False)
    corners = find_corners(np.stack([np.cos(angle), np.sin(angle)], axis=1) * 100)
    # Of all quadrilaterals in a circle a square spans most: 2 r r.
    assert cv2.contourArea(corners.astype(np.float32)) == pytest.approx(2 * 100**2, rel=0.01)


def test_the_smallest_box_of_a_turned_rectangle_is_that_rectangle():
    contour, nodes = patch(25, BOWS["straight"])
    box = upright_box(contour.astype(np.int32))
    assert off(straight_nodes(box), nodes) < NEAR
