"""Which steps from one reading to the next cross a gap, in which nobody knows what happened."""

import numpy as np
from numpy.typing import NDArray

from tracelabels.cycles.readings import Readings


def unseen_steps(readings: Readings) -> NDArray[np.bool_]:
    """Say of each step from a reading to the next whether it touches a gap; shape (readings - 1,)."""
    times = readings.seconds
    unseen = np.zeros(max(len(times) - 1, 0), dtype=np.bool_)
    for gap in readings.gaps:
        first = max(int(np.searchsorted(times, gap.start_s, side="right")) - 1, 0)
        unseen[first : int(np.searchsorted(times, gap.end_s, side="left"))] = True
    return unseen
