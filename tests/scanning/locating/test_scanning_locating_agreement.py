"""How well a drawn symbol agrees with fixed patterns: high under its true map only, and nearly so in any light."""

import cv2
import numpy as np
import pytest

from tracelabels.scanning.locating import LOCATED_SHAPES
from tracelabels.scanning.locating.agreement import agreements
from tracelabels.scanning.locating.surface import NODES, surface_through, with_ends_moved
from tracelabels.scanning.sampling.fixed_cells import fixed_cells

PX = 5
MARGIN = 6
KINDS = ("DM18", "DM12x36", "DM16x36", "QR2", "MQR4")


def drawn(kind):
    """Draw a symbol, softly; return its levels, the true surface and the shape."""
    from envelope_pictures import shape_of, symbol_of

    symbol = symbol_of(kind, 3)
    dark = np.kron(np.pad(symbol.modules, MARGIN), np.ones((PX, PX), dtype=bool))
    levels = cv2.GaussianBlur(np.where(dark, 40, 210).astype(np.float32), (0, 0), 0.4 * PX)
    rows, columns = symbol.modules.shape
    return levels, surface_through(((NODES + 1) / 2 * [columns, rows] + MARGIN) * PX), shape_of(symbol)


@pytest.mark.parametrize("kind", KINDS)
def test_the_truth_agrees_and_a_map_that_slipped_by_a_period_does_less(kind):
    levels, surface, shape = drawn(kind)
    (truth,) = agreements(levels, surface[np.newaxis], shape)
    assert truth > 0.9
    slipped = with_ends_moved(surface, fixed_cells(shape), modules=2.0)
    agreed = agreements(levels, slipped, shape).reshape(8, 4)
    # Sides, all four ways, whose ends both carry a pattern; a single corner may lie where nothing is fixed.
    assert agreed[1::2].max() < truth - 0.05


@pytest.mark.parametrize("kind", KINDS)
def test_a_wrong_shape_or_a_wrong_turn_agrees_less(kind):
    levels, surface, shape = drawn(kind)
    (truth,) = agreements(levels, surface[np.newaxis], shape)
    others = [agreements(levels, surface[np.newaxis], other)[0] for other in LOCATED_SHAPES if other != shape]
    # 16x36 lies over 12x36 with the same clock tracks along; its rows say otherwise.
    assert max(others) < truth - 0.1
    nodes = ((NODES + 1) / 2 * [fixed_cells(shape).columns, fixed_cells(shape).rows] + MARGIN) * PX
    turned = np.stack([surface_through(np.roll(nodes, -2 * turn, axis=0)) for turn in (1, 2, 3)])
    assert agreements(levels, turned, shape).max() < truth - 0.1


@pytest.mark.parametrize("kind", KINDS)
def test_places_by_chance_agree_by_chance(kind):
    levels, _, shape = drawn(kind)
    rng = np.random.default_rng(1)
    size = np.array(levels.shape[::-1])
    surfaces = []
    for angle in rng.uniform(0, 2 * np.pi, 200):
        c, s = np.cos(angle), np.sin(angle)
        nodes = NODES @ np.array([[c, s], [-s, c]]) * rng.uniform(0.3, 0.6)
        surfaces.append(surface_through((nodes + rng.uniform(0.3, 0.7, 2)) * size))
    agreed = agreements(levels, np.stack(surfaces), shape)
    assert abs(agreed.mean()) < 0.15
    assert agreed.max() < 0.5


@pytest.mark.parametrize("kind", KINDS)
def test_light_hardly_changes_it(kind):
    levels, surface, shape = drawn(kind)

    def agreed(seen):
        return float(agreements(np.asarray(seen, dtype=np.float32), surface[np.newaxis], shape)[0])

    truth = agreed(levels)
    assert agreed(levels * 0.3 + 90) == pytest.approx(truth, abs=0.001)
    assert agreed(255 - levels) == pytest.approx(-truth, abs=0.001)
    height, width = levels.shape
    falling = np.linspace(0.4, 1, width) * np.linspace(1, 0.7, height)[:, np.newaxis]
    assert agreed(levels * falling) == pytest.approx(truth, abs=0.03)


def test_a_plain_picture_agrees_with_nothing():
    _, surface, shape = drawn("DM18")
    assert agreements(np.full((200, 200), 90, np.float32), surface[np.newaxis], shape)[0] == pytest.approx(0)


def test_many_maps_are_judged_as_each_alone():
    levels, surface, shape = drawn("DM18")
    surfaces = surface + np.random.default_rng(3).normal(size=(200, 10, 2))  # more than are sampled together
    alone = [agreements(levels, one[np.newaxis], shape)[0] for one in surfaces]
    assert agreements(levels, surfaces, shape) == pytest.approx(alone, abs=1e-5)
