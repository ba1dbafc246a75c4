"""Dot gain, lost dots, specks, dead head lines and wrinkles against closed forms."""

import numpy as np
import pytest

from tracelabels.legibility.simulation.dot_gain import spread
from tracelabels.legibility.simulation.dots import damaged
from tracelabels.legibility.simulation.ribbon import with_dead_lines, with_wrinkle

PIXEL = 0.02


@pytest.mark.parametrize("gain", [0.0, 0.005, 0.02, 0.033, 0.1, -0.005, -0.03])
@pytest.mark.parametrize("axis", [0, 1])
def test_a_bar_of_width_w_comes_out_as_w_plus_twice_the_gain(gain, axis):
    bar = np.zeros((120, 120), dtype=bool)
    bar[40:60] = True
    ink = spread(bar if axis == 0 else bar.T, gain, PIXEL)
    middle = ink[:, 60] if axis == 0 else ink[60]
    assert middle.sum() * PIXEL == pytest.approx(20 * PIXEL + 2 * gain, abs=1e-4)


def test_a_single_dot_grows_into_a_rounded_square():
    dot = np.zeros((61, 61), dtype=bool)
    dot[20:41, 20:41] = True
    ink = spread(dot, 10 * PIXEL, PIXEL)
    # Steiner's formula: area + perimeter x gain + pi gain^2. The chamfer distance is within 2 % of the true one.
    assert ink.sum() == pytest.approx(21**2 + 4 * 21 * 10 + np.pi * 10**2, rel=0.02)


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("share", [0.02, 0.2])
def test_lost_dots_and_specks_have_the_shares_asked_for(seed, share):
    inked = np.zeros((400, 400), dtype=bool)
    inked[:, :200] = True
    dots = damaged(inked, lost=share, specks=0.01, rng=np.random.default_rng(seed))
    # Five standard deviations of a binomial count of 80,000; pairs widen that of the lost dots by up to 2 ** 0.5.
    assert (~dots[:, :200]).mean() == pytest.approx(share, abs=5 * np.sqrt(2 * share * (1 - share) / 80_000))
    assert dots[:, 200:].mean() == pytest.approx(0.01, abs=5 * np.sqrt(0.01 * 0.99 / 80_000))


def test_no_damage_leaves_every_dot():
    inked = np.random.default_rng(2).random((50, 50)) < 0.5
    assert np.array_equal(damaged(inked, lost=0.0, specks=0.0, rng=np.random.default_rng(1)), inked)


@pytest.mark.parametrize("seed", range(6))
def test_each_dead_dot_of_the_head_takes_one_whole_line_through_the_symbol(seed):
    inked = np.ones((30, 40), dtype=bool)
    cut = with_dead_lines(inked, count=3, box=(10, 5, 30, 25), rng=np.random.default_rng(seed))
    rows, columns = np.flatnonzero(~cut.any(axis=1)), np.flatnonzero(~cut.any(axis=0))
    assert sorted([len(rows), len(columns)]) == [0, 3]
    assert all(5 <= row < 25 for row in rows)
    assert all(10 <= column < 30 for column in columns)
    assert inked.all()


@pytest.mark.parametrize("seed", range(4))
def test_a_wrinkle_takes_a_band_of_its_width(seed):
    inked = np.ones((400, 400), dtype=bool)
    cut = with_wrinkle(inked, width=12.0, box=(150, 150, 250, 250), rng=np.random.default_rng(seed))
    light = np.argwhere(~cut).astype(float)
    spread_ = np.linalg.eigvalsh(np.cov((light - light.mean(axis=0)).T))
    # A band of width w has the variance w^2 / 12 across it.
    assert np.sqrt(12 * spread_[0]) == pytest.approx(12.0, rel=0.05)
