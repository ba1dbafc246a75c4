"""What was computed from the readings of a cycle, and the verdict with every reason."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from tracelabels.custody import ProbePlace, ReadingsVerdict
from tracelabels.cycles.programme import Programme
from tracelabels.cycles.readings import Span


@dataclass(frozen=True, slots=True, kw_only=True)
class Lethality:
    """F0: minutes at the reference temperature that kill as much as the whole curve did."""

    f0: float
    """In minutes."""
    interval: tuple[float, float]
    """F0 if every reading were too high, and too low, by the probe's error; the upper end counts gaps too."""
    reference_c: float
    """Reference temperature in degrees Celsius."""
    z_k: float
    """Temperature rise that kills ten times as fast, in kelvin."""
    grown: NDArray[np.float64]
    """F0 up to each reading, shape (readings,), in minutes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Plateau:
    """The longest unbroken stretch within the band."""

    span: Span
    """From entering the band to leaving it, between readings by straight lines; it ends at a gap."""
    hold_minutes: float
    """Its length; equilibration lies before it."""
    hold_interval: tuple[float, float]
    """The same if every reading were wrong by the probe's error: in the narrowed band without what gaps hide, and in
    the widened band over gaps."""
    lowest_c: float
    """Lowest reading in it, degrees Celsius."""
    highest_c: float
    """Highest reading in it."""
    equilibration_s: float
    """From first reaching the set temperature to its start, in seconds."""
    come_up_s: float
    """From the first reading to first reaching the set temperature, in seconds."""
    cooling_s: float
    """From its end to the last reading, in seconds."""
    minutes_above: float
    """All time seen at or above the set temperature, in minutes, unbroken or not."""


class Suspicion(StrEnum):
    """What a difference from saturated steam points at."""

    NONE = "none"
    AIR = "air"
    """Colder than steam of this pressure: air is mixed in, or pressure or temperature is measured wrongly."""
    SUPERHEAT = "superheat"
    """Hotter than steam of this pressure: dry, superheated steam, or pressure or temperature is measured wrongly."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Saturation:
    """Measured temperature minus that of saturated steam at the measured pressure, over the plateau."""

    worst_difference_k: float
    """The largest difference that lasted, with its sign, in kelvin."""
    suspicion: Suspicion
    """What it points at beyond the tolerance."""
    differences_k: NDArray[np.float64]
    """At each reading of the cycle, shape (readings,); NaN where there is no pressure or no steam yet."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CycleFindings:
    """Everything computed from one cycle."""

    lethality: Lethality
    """F0."""
    plateau: Plateau | None
    """In the programme's band, else in the band that the cycle kept; None if no reading lies there."""
    saturation: Saturation | None
    """None if no pressure was measured."""
    programme: Programme | None
    """What it was judged by; None if it was not."""
    probe: ProbePlace
    """Where the temperature was measured; every verdict says so."""
    probe_error_k: float
    """The probe's error that the intervals are made with, in kelvin; half a step of the log is added to it."""
    is_error_assumed: bool = False
    """Whether nobody stated it; then it decides nothing."""
    verdict: ReadingsVerdict | None
    """Whether the programme is met; None without one."""
    reasons: tuple[str, ...]
    """Why, each a sentence: all that speaks against, else what was found; always where the probe was."""
    notes: tuple[str, ...] = ()
    """What else is to be looked at, and the cautions."""
