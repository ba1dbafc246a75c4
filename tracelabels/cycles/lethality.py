"""Lethality: how many minutes at a reference temperature would have killed as much as the whole curve did.

F0 is the integral of the rate 10 ^ ((T - reference) / z) over time. Common values: reference 121.1 degrees Celsius
(250 degrees Fahrenheit are 121.11), z = 10 K; some texts take 121.0, which makes F0 2.3 % larger.

The integral is taken by the trapezoid of the rate between readings, however far apart. The rate bends upwards, so that
a trapezoid never counts too little on a straight ramp; it counts too much by the factor x / 2 * coth(x / 2) with
x = ln 10 / z * slope * step: 0.05 % at 4 K/min read every 5 s, 1.8 % every 30 s, 7 % every minute. On a level hold it
is exact.
"""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from tracelabels.cycles.findings import Lethality
from tracelabels.cycles.gaps import unseen_steps
from tracelabels.cycles.readings import Readings

REFERENCE_C: Final = 121.1
Z_K: Final = 10.0


def lethal_rate(celsius: NDArray[np.float64], *, reference_c: float, z_k: float) -> NDArray[np.float64]:
    """Return minutes at the reference temperature that a minute at each temperature is worth.

    Args:
        celsius: temperatures in degrees Celsius, of any shape.
        reference_c: reference temperature in degrees Celsius.
        z_k: temperature rise that kills ten times as fast, in kelvin.
    """
    return np.asarray(np.exp((celsius - reference_c) * (np.log(10) / z_k)), dtype=np.float64)


def compute_lethality(
    readings: Readings, *, error_k: float, reference_c: float = REFERENCE_C, z_k: float = Z_K
) -> Lethality:
    """Compute F0 of a whole curve.

    What happened in a gap is not counted; the upper end of the interval counts it as if the temperature had gone
    straight from one reading to the next.

    Args:
        readings: the curve.
        error_k: by how much every reading may be wrong, in kelvin.
        reference_c: reference temperature in degrees Celsius.
        z_k: temperature rise that kills ten times as fast, in kelvin.
    """
    rate = lethal_rate(readings.celsius, reference_c=reference_c, z_k=z_k)
    pieces = (rate[1:] + rate[:-1]) * np.diff(readings.seconds) / 120
    seen = np.where(unseen_steps(readings), 0.0, pieces)
    grown = np.concatenate([np.zeros(min(len(rate), 1)), np.cumsum(seen)])
    f0 = float(grown[-1]) if len(grown) else 0.0
    factor = 10 ** (error_k / z_k)
    return Lethality(
        f0=f0,
        interval=(f0 / factor, max(f0, float(pieces.sum())) * factor),
        reference_c=reference_c,
        z_k=z_k,
        grown=grown,
    )
