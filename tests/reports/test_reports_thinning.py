"""What is thinned out looks the same: no extreme is lost, whatever the curve."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from tracelabels.reports.thinning import pieces, thinned


@given(st.integers(1, 400), st.integers(1, 20), st.integers(0, 2**32 - 1))
def test_each_column_keeps_its_ends_and_extremes(count, columns, seed):
    random = np.random.default_rng(seed)
    x = np.cumsum(random.uniform(0.01, 5.0, count))
    y = random.normal(size=count).round(1)
    chosen = thinned(x, y, columns=columns)
    assert len(chosen) <= 4 * columns
    column = np.minimum((x - x[0]) / max(x[-1] - x[0], 1e-9) * columns, columns - 1).astype(int)
    for one in np.unique(column):
        inside, kept = np.nonzero(column == one)[0], chosen[column[chosen] == one]
        assert (kept[0], kept[-1]) == (inside[0], inside[-1])
        assert (y[kept].min(), y[kept].max()) == (y[inside].min(), y[inside].max())


def test_a_million_readings_keep_a_spike_of_one():
    x = np.arange(1e6)
    y = np.sin(x / 1e4)
    y[654_321] = 9.0
    chosen = thinned(x, y, columns=1000)
    assert len(chosen) <= 4000
    assert 654_321 in chosen


def test_a_curve_breaks_where_a_value_is_missing_and_in_gaps():
    x = np.arange(8.0)
    y = np.array([1.0, 2.0, np.nan, 3.0, 4.0, 5.0, np.nan, 6.0])
    found = pieces(x, y, columns=100, breaks=np.array([3.5]))
    assert [piece.tolist() for piece in found] == [[[0, 1], [1, 2]], [[3, 3]], [[4, 4], [5, 5]], [[7, 6]]]


def test_nothing_measured_draws_nothing():
    assert pieces(np.arange(3.0), np.full(3, np.nan), columns=10, breaks=np.array([])) == []
