"""Stretches between two readings that are too long to say what happened in them.

Too long is relative to the file's own interval round about: a logger that slows down after the cycle has no gaps.
"""

from typing import Final

import numpy as np
from numpy.typing import NDArray

TIMES_USUAL: Final = 2.5
"""One reading may be missing: the interval is then twice the usual one."""
ALWAYS_SHORT_S: Final = 5.0
"""Shorter intervals are never gaps. Common practice, no source."""
NEIGHBOURS: Final = 4
"""So many intervals on each side say what is usual."""


def find_gaps(seconds: NDArray[np.float64]) -> NDArray[np.int64]:
    """Return the places of readings that come too long after the one before.

    Args:
        seconds: strictly rising, shape (readings,).
    """
    steps = np.diff(seconds)
    if not steps.size:
        return np.array([], dtype=np.int64)
    # Only an interval that is long beside one of its neighbours can be long beside the middle of eight.
    before, after = np.concatenate(([np.inf], steps[:-1])), np.concatenate((steps[1:], [np.inf]))
    long = (steps > TIMES_USUAL * np.minimum(before, after)) & (steps > ALWAYS_SHORT_S)
    places = np.flatnonzero(long)
    around = np.concatenate((np.arange(-NEIGHBOURS, 0), np.arange(1, NEIGHBOURS + 1)))
    at = places[:, None] + around[None, :]
    near = np.where((at >= 0) & (at < len(steps)), steps[np.clip(at, 0, len(steps) - 1)], np.nan)
    known = ~np.all(np.isnan(near), axis=1)
    usual = np.full(len(places), np.inf)
    usual[known] = np.nanmedian(near[known], axis=1)
    return places[steps[places] > TIMES_USUAL * usual] + 1
