"""A curve of any number of readings as the few points that can be seen: first, least, greatest and last a column."""

from typing import Final

import numpy as np
from numpy.typing import NDArray

_EXTREMES: Final = (np.minimum.reduceat, np.maximum.reduceat)


def thinned(x: NDArray[np.float64], y: NDArray[np.float64], *, columns: int) -> NDArray[np.int64]:
    """Return which points of a curve to draw so that it looks the same, no extreme lost.

    Args:
        x: where each point lies, rising, shape (points,).
        y: how high, shape (points,); none of them NaN.
        columns: how many columns of pixels the drawing has.

    Returns:
        Indices, rising, at most four a column; all of them where there are no more than that.
    """
    if len(x) <= 4 * columns:
        return np.arange(len(x))
    reach = x[-1] - x[0]
    column = np.minimum((x - x[0]) / reach * columns, columns - 1).astype(np.int64)
    starts = np.nonzero(np.diff(column, prepend=-1))[0]
    lengths = np.diff(starts, append=len(x))
    extremes = [_first_of(y == np.repeat(find(y, starts), lengths), column) for find in _EXTREMES]
    return np.unique(np.concatenate([starts, *extremes, starts + lengths - 1]))


def _first_of(is_wanted: NDArray[np.bool_], column: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return the first wanted point of each column."""
    wanted = np.nonzero(is_wanted)[0]
    return wanted[np.diff(column[wanted], prepend=-1) > 0]


def pieces(
    x: NDArray[np.float64], y: NDArray[np.float64], *, columns: int, breaks: NDArray[np.float64]
) -> list[NDArray[np.float64]]:
    """Return a curve as unbroken pieces of points to draw: it breaks where a reading is missing, and in gaps.

    Args:
        x: where each point lies, rising, shape (points,).
        y: how high, shape (points,); NaN where there is none.
        columns: how many columns of pixels the drawing has.
        breaks: x of each place between two points where the curve is broken.

    Returns:
        Arrays of shape (points, 2), each with at least one point.
    """
    is_there = np.isfinite(y)
    piece = np.cumsum(~is_there) + np.searchsorted(np.sort(breaks), x)
    x, y, piece = x[is_there], y[is_there], piece[is_there]
    if not len(x):
        return []
    chosen = thinned(x, y, columns=columns)
    cuts = np.nonzero(np.diff(piece[chosen]))[0] + 1
    return np.split(np.column_stack([x[chosen], y[chosen]]), cuts)
