"""Saturated steam: the pressure at which water boils at a temperature, and back.

IAPWS R7-97(2012), Revised Release on the IAPWS Industrial Formulation 1997 (IF97), section 8: region 4, both ways in
closed form. Good from 0 degrees Celsius to the critical point.
"""

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

COEFFICIENTS: Final = (
    0.11670521452767e4,
    -0.72421316703206e6,
    -0.17073846940092e2,
    0.12020824702470e5,
    -0.32325550322333e7,
    0.14915108613530e2,
    -0.48232657361591e4,
    0.40511340542057e6,
    -0.23855557567849,
    0.65017534844798e3,
)
"""n1 to n10 of IAPWS R7-97(2012), Table 34."""

ZERO_C_IN_K: Final = 273.15
LEAST_K: Final = 273.15
GREATEST_K: Final = 647.096
"""Temperature of the critical point."""
LEAST_KPA: Final = 0.6112
"""Just below the saturation pressure at 273.15 K (0.611213 kPa)."""
GREATEST_KPA: Final = 22064.0
"""Pressure of the critical point."""


def saturation_pressure_kpa(celsius: ArrayLike) -> NDArray[np.float64]:
    """Return the absolute pressure of saturated steam.

    Args:
        celsius: temperatures in degrees Celsius, of any shape.

    Returns:
        Pressures in kilopascal, of the same shape; NaN below 0 degrees Celsius and above the critical point.

    Source: IAPWS R7-97(2012), equation 30.
    """
    kelvin = np.asarray(celsius, dtype=np.float64) + ZERO_C_IN_K
    kelvin = np.where((kelvin >= LEAST_K) & (kelvin <= GREATEST_K), kelvin, np.nan)
    n1, n2, n3, n4, n5, n6, n7, n8, n9, n10 = COEFFICIENTS
    theta = kelvin + n9 / (kelvin - n10)
    a = (theta + n1) * theta + n2
    b = (n3 * theta + n4) * theta + n5
    c = (n6 * theta + n7) * theta + n8
    root = 2 * c / (-b + np.sqrt(b * b - 4 * a * c))
    return np.asarray(1000 * root**4, dtype=np.float64)


def saturation_temperature_c(kpa: ArrayLike) -> NDArray[np.float64]:
    """Return the temperature of saturated steam.

    Args:
        kpa: absolute pressures in kilopascal, of any shape.

    Returns:
        Temperatures in degrees Celsius, of the same shape; NaN where steam of that pressure would be ice or gas: below
        0.611 kPa and above the critical point.

    Source: IAPWS R7-97(2012), equation 31.
    """
    pressure = np.asarray(kpa, dtype=np.float64)
    pressure = np.where((pressure >= LEAST_KPA) & (pressure <= GREATEST_KPA), pressure, np.nan)
    n1, n2, n3, n4, n5, n6, n7, n8, n9, n10 = COEFFICIENTS
    beta = np.sqrt(np.sqrt(pressure / 1000))
    e = (beta + n3) * beta + n6
    f = (n1 * beta + n4) * beta + n7
    g = (n2 * beta + n5) * beta + n8
    d = 2 * g / (-f - np.sqrt(f * f - 4 * e * g))
    kelvin = (n10 + d - np.sqrt((n10 + d) ** 2 - 4 * (n9 + n10 * d))) / 2
    return np.asarray(kelvin - ZERO_C_IN_K, dtype=np.float64)
