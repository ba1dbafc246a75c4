"""Where symbols are expected within outlines: nearer to the truth than the outlines themselves."""

import numpy as np
import pytest

from tracelabels.scanning.locating import find_outlines
from tracelabels.scanning.locating.expected_place import expected_surface, strayed
from tracelabels.scanning.locating.surface import BOWS, NODES, node_powers, surface_through
from tracelabels.scanning.sampling import SymbolShape
from tracelabels.symbols import Symbology

SQUARE = SymbolShape(symbology=Symbology.DATA_MATRIX, version="18x18")


@pytest.mark.parametrize("setting", ["usual", "tilt 45", "blur 0.6"])
def test_the_expected_place_is_nearer_than_the_outline(shot, corners_off, true_nodes, setting):
    from envelope_pictures import shape_of

    before, after = [], []
    for kind in ("DM14", "DM18", "DM12x36", "QR2", "MQR4"):
        for number in range(2):
            one = shot(kind, setting, number)
            truth = true_nodes(one.view)
            outlines = (outline.nodes for outline in find_outlines(one.grey)[:3])
            nodes = min(outlines, key=lambda nodes: corners_off(nodes, truth))
            turns = (np.roll(nodes, 2 * turn, axis=0) for turn in range(4))
            turned = min(turns, key=lambda turned: np.abs(turned - truth).max())
            expected = node_powers() @ expected_surface(surface_through(turned), shape_of(one.symbol))
            before.append(np.hypot(*(turned - truth).T).mean())
            after.append(np.hypot(*(expected - truth).T).mean())
    assert np.median(after) < 0.75 * np.median(before)


def test_straying_is_counted_in_squared_modules_and_not_beyond_two():
    surface = surface_through(NODES * 90.0 + 200.0)  # ten pixels a module
    aside, far = surface.copy(), surface.copy()
    aside[0] += (6.0, 8.0)
    far[0] += (60.0, 80.0)
    bowed = surface.copy()
    bowed[0] += (0.0, 5.0)
    bowed[BOWS[0]] -= (0.0, 5.0)  # the middles of two sides and nothing else
    crowded = surface.copy()  # the same along the sides: that is not seen in an outline
    crowded[0] += (30.0, 0.0)
    crowded[BOWS[0]] -= (30.0, 0.0)
    stray = strayed(np.array([surface, aside, far, bowed, crowded]), surface, SQUARE)
    assert stray == pytest.approx([0.0, (4 * 1.0 + 2 * 0.36 + 2 * 0.64) / 8, 2.0, 0.0625, 0.0])
