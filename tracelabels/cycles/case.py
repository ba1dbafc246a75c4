"""One cycle before its judge: what was read, what is asked, and how kindly it is looked at."""

from dataclasses import dataclass, field
from typing import Final

import numpy as np

from tracelabels.custody import ProbePlace
from tracelabels.cycles.findings import Plateau, Saturation
from tracelabels.cycles.lethality import compute_lethality
from tracelabels.cycles.plateau import find_hold, find_steam, reached_s
from tracelabels.cycles.programme import Programme
from tracelabels.cycles.readings import Readings
from tracelabels.cycles.stretches import FLOAT_NOISE_K, Stretch, find_longest


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """How a curve is looked at: at its worst, as it stands, or at its best."""

    margin_k: float = 0.0
    """How far from the edges of what is allowed it must keep, in kelvin; negative: how far it may go beyond."""
    over_gaps: bool = False
    """Whether what was not seen is taken for good: gaps, and what came before the first and after the last reading."""


AS_READ: Final = View()


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One cycle before its judge."""

    readings: Readings
    """What was read."""
    programme: Programme
    """What it is judged by."""
    probe: ProbePlace
    """Where the temperature was measured."""
    error_k: float | None
    """By how much every reading may be wrong, in kelvin, half a step included; None if nobody stated it."""
    reference_c: float
    """Reference temperature of F0 in degrees Celsius."""
    z_k: float
    """Temperature rise that kills ten times as fast, in kelvin."""
    plateau: Plateau | None
    """The hold as read."""
    saturation: Saturation | None
    """Temperature against pressure; None if there is none to be judged."""
    _holds: dict[View, Stretch | None] = field(default_factory=dict, init=False)

    @property
    def worst(self) -> View:
        """Return the view in which every doubt speaks against the cycle."""
        return View(margin_k=self.error_k or 0.0)

    @property
    def best(self) -> View:
        """Return the view in which every doubt speaks for it."""
        return View(margin_k=-(self.error_k or 0.0), over_gaps=True)

    @property
    def steam(self) -> Stretch | None:
        """Return over which readings temperature and pressure are compared."""
        return find_steam(self.readings, self.programme.band)

    @property
    def most_c(self) -> float:
        """Return the most that the programme allows, in degrees Celsius; infinite for no limit."""
        band = self.programme.band
        return np.inf if band.above_k is None else band.set_c + band.above_k

    def hold(self, view: View) -> Stretch | None:
        """Return the longest hold in a view."""
        if view not in self._holds:
            band = self.programme.band
            self._holds[view] = find_hold(self.readings, band, margin_k=view.margin_k, over_gaps=view.over_gaps)
        return self._holds[view]

    def is_cut_off(self, view: View) -> bool:
        """Say whether the readings begin or end within the band, so that the hold may have been longer than read."""
        least, most = self.programme.band.set_c + view.margin_k, self.most_c - view.margin_k
        ends = self.readings.celsius[[0, -1]]
        return bool(((ends >= least - FLOAT_NOISE_K) & (ends <= most + FLOAT_NOISE_K)).any())

    def equilibration_s(self, view: View) -> float:
        """Return how long the temperature wavered before the hold, in seconds; a gap is not held against it."""
        held = self.hold(View(margin_k=view.margin_k, over_gaps=True))
        if held is None:
            return 0.0
        set_c = self.programme.band.set_c + view.margin_k
        return held.span.start_s - reached_s(self.readings, set_c, before=held)

    def hottest(self) -> tuple[float, float] | None:
        """Return the highest reading at or above the set temperature and its second, when wavering must be over.

        It is looked for in the longest stretch at or above the set temperature, with no upper limit.
        """
        hot = find_longest(self.readings, least_c=self.programme.band.set_c, over_gaps=True)
        if hot is None:
            return None
        inside = slice(hot.first, hot.last + 1)
        late = self.readings.seconds[inside] >= hot.span.start_s + (self.programme.equilibration_s or 0.0)
        if not late.any():
            return None
        at = hot.first + int(np.flatnonzero(late)[np.argmax(self.readings.celsius[inside][late])])
        return float(self.readings.celsius[at]), float(self.readings.seconds[at])

    def f0(self, view: View) -> float:
        """Return F0 in a view, in minutes."""
        found = compute_lethality(self.readings, error_k=abs(view.margin_k), reference_c=self.reference_c, z_k=self.z_k)
        if not view.over_gaps:
            return found.interval[0]
        return np.inf if self.is_cut_off(view) else found.interval[1]
