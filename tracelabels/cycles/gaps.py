"""Which steps from one reading to the next cross a gap, in which nobody knows what happened; and which are one."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from tracelabels.cycles.programme import Programme
from tracelabels.cycles.readings import Readings, Span


def unseen_steps(readings: Readings) -> NDArray[np.bool_]:
    """Say of each step from a reading to the next whether it touches a gap; shape (readings - 1,)."""
    times = readings.seconds
    unseen = np.zeros(max(len(times) - 1, 0), dtype=np.bool_)
    for gap in readings.gaps:
        first = max(int(np.searchsorted(times, gap.start_s, side="right")) - 1, 0)
        unseen[first : int(np.searchsorted(times, gap.end_s, side="left"))] = True
    return unseen


def name_wide_steps(readings: Readings, programme: Programme) -> Readings:
    """Name as gaps the steps between two hot readings in which a whole hold has room: nobody saw it.

    Readings at the beginning and at the end of a hold, as they are typed from a gauge, are no further apart than it.
    """
    times, is_hot = readings.seconds, readings.celsius >= programme.band.set_c
    is_wide = np.diff(times) > programme.hold_minutes * 60 + 1e-6
    wide = np.flatnonzero(is_wide & is_hot[:-1] & is_hot[1:] & ~unseen_steps(readings))
    if not len(wide):
        return readings
    found = [Span(start_s=float(times[at]), end_s=float(times[at + 1])) for at in wide]
    return replace(readings, gaps=tuple(sorted((*readings.gaps, *found), key=lambda gap: gap.start_s)))
