"""Photographs of the envelope, whose true maps are known."""

from functools import cache

import cv2
import numpy as np
import pytest

from tracelabels.scanning.locating import Outline
from tracelabels.scanning.locating.expected_place import _OUTLINED_AT
from tracelabels.scanning.locating.surface import NODES, powers
from tracelabels.symbols import Symbology

PX = 5  # pixels a module in the envelope's usual photograph


@cache
def _shot(kind, setting, number):
    from envelope_pictures import SETTINGS, shoot, symbol_of

    return shoot(symbol_of(kind, number), kind, SETTINGS[setting], np.random.default_rng([5190, number]))


@pytest.fixture(scope="session")
def shot():
    """Photograph the envelope's symbol of some kind and number; 5190 was drawn, no number was left out."""
    return _shot


@pytest.fixture(scope="session")
def true_nodes():
    """Return where corners and middles of sides lie in a shot, shape (8, 2)."""

    def find(view):
        return view.place((NODES + 1) / 2 * [view.columns, view.rows])

    return find


@pytest.fixture(scope="session")
def corners_off():
    """Return by how many modules corners of an outline are off at most, whichever comes first."""

    def find(nodes, expected):
        turned = (np.roll(nodes, 2 * turn, axis=0)[::2] - expected[::2] for turn in range(4))
        return min(float(np.hypot(*one.T).max()) for one in turned) / PX

    return find


@pytest.fixture(scope="session")
def middles():
    """Return the middles of a view's modules, shape (n, 2)."""

    def find(view):
        right, down = np.meshgrid(np.arange(view.columns) + 0.5, np.arange(view.rows) + 0.5)
        return np.stack([right.ravel(), down.ravel()], axis=-1)

    return find


@pytest.fixture(scope="session")
def modules_off(middles):
    """Return how far a map is from the truth in modules: the median and the largest over all modules."""

    def find(place, view):
        off = np.hypot(*(place(middles(view)) - view.place(middles(view))).T) / PX
        return float(np.median(off)), float(off.max())

    return find


@pytest.fixture(scope="session")
def true_surface(middles):
    """Return the surface nearest to the truth in a window, shape (10, 2): off by 0.03 modules at most."""

    def find(view, window):
        modules = middles(view)
        terms = powers(*(2 * modules / [view.columns, view.rows] - 1).T)
        pixels = view.place(modules)
        surface = np.linalg.lstsq(terms, window.nodes_here(pixels), rcond=None)[0]
        assert np.abs(terms @ window.surface_in_picture(surface) - pixels).max() < 0.03 * PX
        return surface

    return find


@pytest.fixture(scope="session")
def outline_of():
    """Return an outline as they lie about symbols, each corner off by up to so many modules; any corner is first."""

    def find(view, *, off, seed):
        rng = np.random.default_rng([6713, seed])
        way, far = rng.uniform(0, 2 * np.pi, 4), off * PX * rng.uniform(0, 1, 4)
        moved = np.stack([far * np.cos(way), far * np.sin(way)], axis=1)
        code = Symbology.QR if view.rows % 2 else Symbology.DATA_MATRIX
        nodes = view.place((NODES + 1) / 2 * [view.columns, view.rows] + _OUTLINED_AT[code])
        nodes[::2] += moved
        nodes[1::2] += (moved + np.roll(moved, -1, axis=0)) / 2
        nodes = np.roll(nodes, 2 * int(rng.integers(4)), axis=0)
        return Outline(nodes=nodes, area=float(cv2.contourArea(nodes.astype(np.float32))), likeness=1.0)

    return find
