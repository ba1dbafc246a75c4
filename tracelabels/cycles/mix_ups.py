"""What a temperature that does not fit its pressure points at: air, superheat, or a mix-up of pressures."""

from typing import Final

import numpy as np

from tracelabels.cycles.findings import Suspicion
from tracelabels.cycles.readings import Readings
from tracelabels.cycles.steam import saturation_temperature_c
from tracelabels.cycles.stretches import Stretch

ATMOSPHERE_KPA: Final = 101.325
"""The standard atmosphere."""
FITS_K: Final = 2.0
"""A mix-up is named if it would bring temperature and pressure that close together (our choice)."""
CODE_PAIR_C: Final = (125.5, 127.5)
CODE_PAIR_KPA: Final = (202.0, 208.0)
"""15 psi over the standard atmosphere are 204.7 kPa, steam of 121 degrees Celsius; some local codes name 126 or 127."""


def explain(readings: Readings, plateau: Stretch | None, suspicion: Suspicion) -> str:
    """Say what a difference beyond what is allowed may come from.

    Args:
        readings: the curve, with pressures.
        plateau: over which readings; None for all.
        suspicion: on which side the temperature lies.
    """
    held = slice(None) if plateau is None else slice(plateau.first, plateau.last + 1)
    celsius, kpa = float(np.median(readings.celsius[held])), _median_kpa(readings, held)
    if suspicion is Suspicion.AIR:
        if _fits(celsius, kpa - ATMOSPHERE_KPA):
            return "it would fit if the air's pressure had been added to what was absolute pressure already"
        return "air in the chamber is suspected, or a wrong probe, gauge or unit"
    if _fits(celsius, kpa + ATMOSPHERE_KPA):
        return "it would fit if gauge pressure had been taken for absolute pressure"
    if CODE_PAIR_C[0] <= celsius <= CODE_PAIR_C[1] and CODE_PAIR_KPA[0] <= kpa <= CODE_PAIR_KPA[1]:
        return (
            "some local codes name 15 psi beside 126 or 127 °C, but saturated steam of 15 psi above the air's pressure "
            "has 121 °C, so that pair is not judged by"
        )
    return "superheated steam is suspected, or a wrong probe, gauge or unit"


def _median_kpa(readings: Readings, held: slice) -> float:
    known = np.array([]) if readings.kpa is None else readings.kpa[held]
    known = known[~np.isnan(known)]
    return float(np.median(known)) if len(known) else float("nan")


def _fits(celsius: float, kpa: float) -> bool:
    return bool(abs(celsius - saturation_temperature_c(kpa)) <= FITS_K)
