"""Runs of lines that hold something: where print, gaps and light lines begin and end."""

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray


def runs_of(holds: "NDArray[np.bool_]") -> "NDArray[np.intp]":
    """Return the first and the end (one further than the last) of each run of what holds, shape (runs, 2)."""
    framed = np.concatenate([[False], holds, [False]]).astype(np.int8)
    return np.asarray(np.flatnonzero(np.diff(framed)).reshape(-1, 2))
