"""Seconds or minutes: what a time that is a plain number, or a clock of two parts, most likely counts.

A steriliser's chamber cannot heat faster than steam comes in, and a cycle is over within hours. Where both would do,
seconds are taken: then a hold counts as short rather than as long.
"""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from tracelabels.cycles.log.logged import Basis, Guess
from tracelabels.cycles.log.times import Times

SCALES: Final = {"s": 1.0, "min": 60.0, "h": 3600.0, "ms": 0.001, "d": 86400.0}
"""Seconds in one of each."""
FASTEST_K_PER_S: Final = 3.0
"""Faster no chamber heats for half a minute on end. Common practice, no source."""
SHORTEST_CYCLE_S: Final = 360.0
LONGEST_CYCLE_S: Final = 12 * 3600.0
SLOWEST_HEATING_S: Final = 2 * 3600.0
"""The same for shortest and longest cycle and the slowest heating: common practice, no source."""
RISE_K: Final = 30.0


def in_seconds(
    times: Times, celsius: NDArray[np.float64], given: str | None, stated: str
) -> tuple[NDArray[np.float64], Guess]:
    """Return times in seconds and what they were taken for.

    Args:
        times: as read.
        celsius: temperatures of the same rows in degrees Celsius, shape (rows,).
        given: unit by option: of a plain number its own, of a clock of two parts that of the second part.
        stated: the same from the header; empty if it says nothing.
    """
    if times.unit != "open":
        because = "times written so name their unit; the option is not needed" if given else ""
        return times.seconds, Guess(what="time", value=times.form, basis=Basis.GUESSED, because=because)
    unit, basis, because = _unit(times, celsius, given, stated)
    seconds = times.seconds * SCALES[unit]
    return seconds, Guess(what="time", value=_named(times, unit), basis=basis, because=because)


def _unit(times: Times, celsius: NDArray[np.float64], given: str | None, stated: str) -> tuple[str, Basis, str]:
    said = given or stated
    if not said:
        unit, because = _likelier(times, celsius)
        return unit, Basis.GUESSED, because
    doubt = _doubt(times.seconds * SCALES[said], celsius)
    return said, Basis.GIVEN if given else Basis.STATED, f"but then {doubt}" if doubt else ""


def _named(times: Times, unit: str) -> str:
    if times.is_clock:
        return "clock hh:mm" if unit == "min" else "clock mm:ss"
    return f"number in {unit}"


def _likelier(times: Times, celsius: NDArray[np.float64]) -> tuple[str, str]:
    as_s, as_min = (_doubt(times.seconds * SCALES[unit], celsius) for unit in ("s", "min"))
    if as_s and not as_min:
        return "min", f"as seconds {as_s}"
    if as_min and not as_s:
        return "s", f"as minutes {as_min}"
    if as_s:
        return "s", f"as seconds {as_s}, and as minutes {as_min}; say which with --time-unit"
    return "s", "minutes would do as well; seconds make a hold short rather than long; say which with --time-unit"


def _doubt(seconds: NDArray[np.float64], celsius: NDArray[np.float64]) -> str:
    """Say what speaks against times in a unit; empty if nothing does."""
    good = np.isfinite(seconds) & np.isfinite(celsius)
    at, degrees = seconds[good], celsius[good]
    if len(at) < 2:  # noqa: PLR2004 - no interval
        return ""
    lasts = float(at.max() - at.min())
    heating = _heating_s(at, degrees)
    if lasts > LONGEST_CYCLE_S:
        return f"the log would last {lasts / 3600:.0f} hours"
    if heating is None:
        return ""
    if heating[0] > FASTEST_K_PER_S * heating[1]:
        return f"it would heat by {heating[0]:.0f} K within {heating[1]:.0f} s"
    if heating[1] > SLOWEST_HEATING_S:
        return f"it would take {heating[1] / 3600:.0f} hours to heat by {heating[0]:.0f} K"
    return f"the whole cycle would last {lasts:.0f} s" if lasts < SHORTEST_CYCLE_S else ""


def _heating_s(at: NDArray[np.float64], degrees: NDArray[np.float64]) -> tuple[float, float] | None:
    """Return by how much it heats up to its hottest, and in how many seconds; None if it was hot from the start."""
    hottest = float(np.percentile(degrees, 98))
    hot = int(np.argmax(degrees >= hottest - 1))
    start = float(np.median(degrees[: max(1, min(5, hot))]))
    if hot == 0 or hottest - start < RISE_K:
        return None
    return hottest - start, float(abs(at[hot] - at[0]))
