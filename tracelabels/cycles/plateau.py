"""The plateau of a cycle: how it came up, wavered, held and cooled down; and where it lies if no programme says so.

The hold is the longest unbroken stretch within the band. If the temperature wavers around the set temperature, the hold
begins when it stays; what lies between is equilibration. So come-up, equilibration, hold and cooling make up the cycle.
"""

from typing import Final

import numpy as np

from tracelabels.cycles.findings import Plateau
from tracelabels.cycles.gaps import unseen_steps
from tracelabels.cycles.programme import Band
from tracelabels.cycles.readings import Readings
from tracelabels.cycles.stretches import FLOAT_NOISE_K, Stretch, find_longest, minutes_at_least

USUAL_SETS_C: Final = (115.0, 121.0, 124.0, 126.0, 132.0, 134.0, 135.0)
"""Set temperatures that are met (common practice; those of the saturated-steam table that tests hold)."""
USUAL_ABOVE_K: Final = 3.0
"""How far above the set temperature a steriliser usually keeps (EN 285 and EN 13060, from memory)."""
LEAST_PLATEAU_MINUTES: Final = 1.0
"""Without a programme, nothing shorter is taken for a plateau (our choice)."""
LEAST_STEAM_C: Final = 100.0
"""Below this nothing is taken for a plateau in steam."""
DOUBLED_K: Final = 1.5
"""Without a programme, a minute is worth twice as much for so many kelvins (our choice)."""
SEPARATE_PEAK_K: Final = 20.0
"""A fall by more below the set temperature ends a peak of its own, as a pulse of steam that drives out air, and is no
wavering (our choice)."""


def find_plateau(readings: Readings, band: Band, *, error_k: float) -> Plateau | None:
    """Find the longest unbroken stretch within a band.

    Args:
        readings: the curve.
        band: within what the temperature counts as held.
        error_k: by how much every reading may be wrong, in kelvin: for the interval of the hold, whose short end keeps
            that far from the band's edges and counts no gap, and whose long end goes that far beyond them and takes the
            curve to go straight through gaps.

    Returns:
        None if no reading lies in the band.
    """
    held = find_hold(readings, band)
    if held is None:
        return None
    equilibration_s = held.span.start_s - reached_s(readings, band.set_c, before=held)
    surely = find_hold(readings, band, margin_k=error_k)
    perhaps = find_hold(readings, band, margin_k=-error_k, over_gaps=True)
    inside = readings.celsius[held.first : held.last + 1]
    return Plateau(
        span=held.span,
        hold_minutes=held.span.minutes,
        hold_interval=(
            0.0 if surely is None else surely.span.minutes,
            held.span.minutes if perhaps is None else max(held.span.minutes, perhaps.span.minutes),
        ),
        lowest_c=float(inside.min()),
        highest_c=float(inside.max()),
        equilibration_s=equilibration_s,
        come_up_s=held.span.start_s - equilibration_s - float(readings.seconds[0]),
        cooling_s=float(readings.seconds[-1]) - held.span.end_s,
        minutes_above=minutes_at_least(readings, band.set_c),
    )


def find_hold(readings: Readings, band: Band, *, margin_k: float = 0.0, over_gaps: bool = False) -> Stretch | None:
    """Find the longest unbroken stretch that keeps a margin from a band's edges; a negative one goes beyond."""
    most_c = np.inf if band.above_k is None else band.set_c + band.above_k - margin_k
    return find_longest(readings, least_c=band.set_c + margin_k, most_c=most_c, over_gaps=over_gaps)


def find_steam(readings: Readings, band: Band | None) -> Stretch | None:
    """Find the stretch over which temperature and pressure are compared.

    It is the hold; where that is no plateau (air may have kept the temperature below the band), it is the plateau that
    the cycle had.
    """
    held = None if band is None else find_hold(readings, band)
    if held is not None and held.span.minutes >= LEAST_PLATEAU_MINUTES:
        return held
    inferred = infer_band(readings)
    return held if inferred is None else find_hold(readings, inferred)


def reached_s(readings: Readings, set_c: float, *, before: Stretch) -> float:
    """Return when the set temperature was first reached on the way to a hold, in seconds; see SEPARATE_PEAK_K."""
    celsius, times = readings.celsius, readings.seconds
    fallen = np.flatnonzero(celsius[: before.first] < set_c - SEPARATE_PEAK_K)
    start = int(fallen[-1]) if len(fallen) else 0
    reached = np.flatnonzero(celsius[start : before.first + 1] >= set_c - FLOAT_NOISE_K)
    at = start + int(reached[0])
    if at == before.first:
        return before.span.start_s
    if at == 0 or unseen_steps(readings)[at - 1]:
        return float(times[at])
    part = (set_c - celsius[at - 1]) / (celsius[at] - celsius[at - 1])
    return float(times[at - 1] + part * (times[at] - times[at - 1]))


def infer_band(readings: Readings) -> Band | None:
    """Return the band in which a cycle was held, if nobody named a programme.

    Of the usual set temperatures, and of the last kelvins below the highest reading, it is that whose hold is worth
    most: its minutes, doubled for every 1.5 K. So neither a low, long stage, nor slow ramps through a lower band, nor a
    minute at the edge of a higher one is taken for the plateau.

    Returns:
        None if nothing was held for a minute.
    """
    highest = float(readings.celsius.max())
    best: tuple[float, Band] | None = None
    for set_c in (*USUAL_SETS_C, highest - USUAL_ABOVE_K):
        band = Band(set_c=set_c, above_k=USUAL_ABOVE_K)
        held = find_hold(readings, band) if LEAST_STEAM_C <= set_c <= highest else None
        if held is not None and held.span.minutes >= LEAST_PLATEAU_MINUTES:
            worth = held.span.minutes * 2 ** ((set_c - LEAST_STEAM_C) / DOUBLED_K)
            best = (worth, band) if best is None or worth > best[0] else best
    return None if best is None else best[1]
