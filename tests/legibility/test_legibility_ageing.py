import numpy as np
import pytest

from tracelabels.legibility.simulation.ageing import BLOTCH_KEEPS, blotched, reflectance


def test_reflectance_mixes_stock_and_ink_by_the_share_of_ink():
    levels = reflectance(np.array([[0.0, 0.25, 1.0]], dtype=np.float32), stock=0.8, ink_reflectance=0.2)
    assert levels[0] == pytest.approx([0.8, 0.65, 0.2])


@pytest.mark.parametrize("share", [0.02, 0.2, 0.5])
def test_blotches_cover_their_share_and_darken_it(share):
    levels = np.full((600, 600), 0.8, dtype=np.float32)
    spotted = blotched(levels, share=share, px_per_mm=20.0, rng=np.random.default_rng(3))
    half = 0.8 * (1.0 + BLOTCH_KEEPS) / 2.0
    assert (spotted < half).mean() == pytest.approx(share, rel=0.1)
    # The edges' blur moves light about but takes none away: the mean is what patches with sharp edges have.
    assert spotted.mean() == pytest.approx(0.8 * (1.0 - share * (1.0 - BLOTCH_KEEPS)), rel=0.005)
    assert spotted.min() >= 0.8 * BLOTCH_KEEPS - 1e-6


def test_no_blotches_change_nothing():
    levels = np.full((5, 5), 0.8, dtype=np.float32)
    assert blotched(levels, share=0.0, px_per_mm=20.0, rng=np.random.default_rng(3)) is levels
