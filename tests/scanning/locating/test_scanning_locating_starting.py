"""Starts within an outline: ranked by what their shape finds anywhere, of several warps, no symbol's own lost."""

import numpy as np
import pytest

from tracelabels.scanning.locating import LOCATED_SHAPES, starting
from tracelabels.scanning.locating.starting import Start, rough_starts
from tracelabels.scanning.locating.surface import BOWS, DOWN, NODES, node_powers, surface_through
from tracelabels.scanning.locating.window import window_around
from tracelabels.scanning.sampling import SymbolShape
from tracelabels.symbols import Symbology

KINDS = ("DM14", "DM20", "DM12x36")


@pytest.fixture(scope="module")
def found(shot, outline_of):
    """For each kind its shape, and the starts within an outline that is off by up to half a module."""
    from envelope_pictures import shape_of

    result = {}
    for kind in KINDS:
        one = shot(kind, "tilt 30", 1)
        outline = outline_of(one.view, off=0.5, seed=1)
        window = window_around(one.grey, outline)
        starts = rough_starts(window, window.nodes_here(outline.nodes), LOCATED_SHAPES)
        result[kind] = shape_of(one.symbol), starts
    return result


def matrix(version):
    return SymbolShape(symbology=Symbology.DATA_MATRIX, version=version)


def start_of(shape, score):
    surface = surface_through(NODES)
    return Start(shape=shape, expected=surface, surfaces=surface[np.newaxis], score=score)


@pytest.mark.parametrize("kind", KINDS)
def test_a_symbols_own_shape_is_among_the_first(found, kind):
    shape, starts = found[kind]
    assert shape in [start.shape for start in starts[:4]]
    leads = [start.lead for start in starts]
    assert leads == sorted(leads, reverse=True)


def test_a_small_shape_finds_more_by_chance_and_must_score_more_to_lead_as_far(found):
    small, large = matrix("14x14"), matrix("16x36")
    assert start_of(small, 0.7).lead == pytest.approx(0.0, abs=0.04)
    assert start_of(large, 0.52).lead == pytest.approx(0.0, abs=0.04)
    assert start_of(small, 1.0).lead == start_of(large, 1.0).lead == 1.0
    # In symbols of another shape: what starts score there follows what is held to be chance.
    wrong = [
        (start.score, start.score - (start.score - start.lead) / (1.0 - start.lead))
        for shape, starts in found.values()
        for start in starts
        if start.shape not in {shape, matrix("18x18"), matrix("22x22")}
    ]
    scored, beyond_chance = np.array(wrong).T
    assert len(scored) > 20
    assert np.abs(beyond_chance.mean()) < 0.12


@pytest.mark.parametrize("kind", KINDS)
def test_a_start_keeps_maps_of_several_warps(found, kind):
    for start in found[kind][1][:5]:
        assert len(start.surfaces) == 4
        along = start.surfaces[:, DOWN] / np.hypot(*start.surfaces[:, DOWN].T)[:, np.newaxis]
        warped = (start.surfaces[:, BOWS[1]] * along).sum(axis=1)
        assert np.diff(np.sort(warped)).min() > 1.0  # pixels


@pytest.mark.parametrize(
    ("down_first", "moved_side", "held_side"), [(False, [0, 1, 2], [4, 5, 6]), (True, [2, 3, 4], [6, 7, 0])]
)
def test_the_side_of_a_clock_track_is_looked_for_here_and_there(down_first, moved_side, held_side):
    """A clock track is one module wide: an outline that is a module off misses it."""
    nodes = NODES * [45.0, 40.0] + 100.0
    for start in starting._expected(nodes, (matrix("18x18"),), down_first=down_first):
        away, held = (node_powers()[at] @ (start.surfaces - start.expected) for at in (moved_side, held_side))
        one, other = (node_powers()[at] @ start.expected for at in (moved_side, held_side))
        way = (one - other).mean(axis=0) / 18.0  # a module towards the side
        sign = 1.0 if down_first else -1.0  # rows are counted downwards
        assert away.mean(axis=1) @ way / (way @ way) == pytest.approx(
            [sign * far for far in (-0.8, 0.0, 0.8)], abs=0.05
        )
        assert np.abs(held).max() < 1e-9


@pytest.mark.parametrize("kind", KINDS)
def test_both_orders_find_a_symbols_own_shape(shot, outline_of, kind):
    from envelope_pictures import shape_of

    one = shot(kind, "usual", 2)
    outline = outline_of(one.view, off=0.5, seed=2)
    window = window_around(one.grey, outline)
    found = [
        rough_starts(window, window.nodes_here(outline.nodes), LOCATED_SHAPES, down_first=down_first)
        for down_first in (False, True)
    ]
    for starts in found:
        assert shape_of(one.symbol) in [start.shape for start in starts[:4]]
    assert not np.array_equal(found[0][0].surfaces, found[1][0].surfaces)
