"""Unbroken stretches of a curve within a band, their ends found by straight lines between readings."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tracelabels.cycles.gaps import unseen_steps
from tracelabels.cycles.readings import Readings, Span

FLOAT_NOISE_K: Final = 1e-6
"""What converting degrees Fahrenheit or kelvins may lose in binary; no more than that is forgiven."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """A stretch in which every reading lies within a band."""

    first: int
    """Number of its first reading, from 0."""
    last: int
    """Number of its last reading."""
    span: Span
    """From where the curve entered the band to where it left it."""


def find_longest(
    readings: Readings, *, least_c: float, most_c: float = np.inf, over_gaps: bool = False
) -> Stretch | None:
    """Find the longest unbroken stretch within a band, the first of equals.

    Args:
        readings: the curve.
        least_c: lower edge of the band in degrees Celsius, within it.
        most_c: upper edge, within it too.
        over_gaps: whether the curve is taken to go straight through gaps; else a stretch ends at a gap.

    Returns:
        None if no reading lies in the band.
    """
    celsius = readings.celsius
    inside = (celsius >= least_c - FLOAT_NOISE_K) & (celsius <= most_c + FLOAT_NOISE_K)
    unseen = None if over_gaps else unseen_steps(readings)
    breaks = inside[1:] != inside[:-1]
    if unseen is not None:
        breaks |= unseen
    before = np.concatenate([[-1], np.flatnonzero(breaks), [len(inside) - 1]])
    firsts, lasts = before[:-1] + 1, before[1:]
    is_run = inside[firsts]
    firsts, lasts = firsts[is_run], lasts[is_run]
    if not len(firsts):
        return None
    starts = _crossings(readings, firsts, firsts - 1, edges=(least_c, most_c), unseen=unseen)
    ends = _crossings(readings, lasts, lasts + 1, edges=(least_c, most_c), unseen=unseen)
    longest = int(np.argmax(ends - starts))
    return Stretch(
        first=int(firsts[longest]),
        last=int(lasts[longest]),
        span=Span(start_s=float(starts[longest]), end_s=float(ends[longest])),
    )


def minutes_at_least(readings: Readings, least_c: float) -> float:
    """Return all time at or above a temperature in minutes, unbroken or not, gaps left out."""
    over = readings.celsius - least_c + FLOAT_NOISE_K
    lasts, hot = np.diff(readings.seconds), over >= 0
    lasts[unseen_steps(readings)] = 0.0
    whole = float(lasts @ (hot[1:] & hot[:-1]))
    crossing = np.flatnonzero(hot[1:] != hot[:-1])
    high = np.maximum(over[crossing], over[crossing + 1])
    low = np.minimum(over[crossing], over[crossing + 1])
    return (whole + float(lasts[crossing] @ (high / (high - low)))) / 60


def count_peaks(readings: Readings, *, least_c: float, fallen_c: float, minutes: float) -> int:
    """Count how often a curve came up to a temperature for some minutes, with a fall below another in between."""
    is_hot, has_fallen = readings.celsius >= least_c - FLOAT_NOISE_K, readings.celsius < fallen_c
    told = np.flatnonzero(is_hot | has_fallen)
    turns = np.flatnonzero(np.diff(is_hot[told])) + 1
    runs = [run for run in np.split(told, turns) if len(run) and is_hot[run[0]]]
    lasted = [float(readings.seconds[run[-1]] - readings.seconds[run[0]]) for run in runs]
    return sum(seconds >= minutes * 60 for seconds in lasted)


def _crossings(
    readings: Readings,
    inside: NDArray[np.intp],
    outside: NDArray[np.intp],
    *,
    edges: tuple[float, float],
    unseen: NDArray[np.bool_] | None,
) -> NDArray[np.float64]:
    """Return when the curve crosses an edge between readings inside and their neighbours outside the band.

    Where there is no neighbour, or a gap lies between, it is the time of the reading inside.
    """
    times, celsius = readings.seconds, readings.celsius
    known = (outside >= 0) & (outside < len(times))
    if unseen is not None:
        known[known] = ~unseen[np.minimum(inside, outside)[known]]
    there, beyond = inside[known], outside[known]
    edge = np.where(celsius[beyond] < celsius[there], edges[0], edges[1])
    part = np.clip((edge - celsius[there]) / (celsius[beyond] - celsius[there]), 0, 1)
    found = times[inside].astype(np.float64)
    found[known] += part * (times[beyond] - times[there])
    return found
