"""The demonstration's logger: an invented file of temperatures and pressures, as a small steriliser might write them.

A simple curve, not a model of a steriliser: come-up, plateau, cooling, with the pressure of saturated steam.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from math import exp, sin
from typing import Final

from tracelabels.cycles import saturation_pressure_kpa

_STEP_S: Final = 5
_ROOM_C: Final = 21.0
_AIR_KPA: Final = 101.3


@dataclass(frozen=True, slots=True, kw_only=True)
class LoggedCurve:
    """What the logger shall have seen."""

    plateau_c: float
    """Temperature of the plateau in degrees Celsius."""
    hold_minutes: float
    """How long it was held."""
    lag_s: float
    """How slowly the probe's surroundings follow: seconds; a tube of liquid lags behind the chamber."""


def write_log(curve: LoggedCurve, *, begins: datetime) -> bytes:
    """Return the file: the logger's own clock, temperature at the probe, absolute pressure of the chamber.

    Args:
        curve: what it saw.
        begins: the logger's clock at the first reading, in the practice's zone.
    """
    lines = ["clock;probe C;chamber kPa abs"]
    at_probe = _ROOM_C
    come_up = 9 * 60
    steam_ends = come_up + curve.hold_minutes * 60 + 3 * curve.lag_s + 45
    for second in range(0, int(steam_ends + 20 * 60), _STEP_S):
        chamber = _chamber(curve, second, come_up, steam_ends)
        at_probe += (chamber - at_probe) * (1 - exp(-_STEP_S / max(curve.lag_s, 1.0)))
        kpa = max(float(saturation_pressure_kpa(chamber)), _AIR_KPA)
        clock = (begins + timedelta(seconds=second)).strftime("%Y-%m-%d %H:%M:%S")
        lines.append(f"{clock};{at_probe:.1f};{kpa:.1f}")
    return ("\r\n".join(lines) + "\r\n").encode()


def _chamber(curve: LoggedCurve, second: int, come_up: float, steam_ends: float) -> float:
    """Return the chamber's temperature: a straight rise, a plateau that breathes, a fall as steam is let out."""
    if second < come_up:
        return _ROOM_C + (curve.plateau_c - _ROOM_C) * second / come_up
    if second <= steam_ends:
        return curve.plateau_c + 0.15 * sin(second / 17)
    return _ROOM_C + (curve.plateau_c - _ROOM_C) * exp(-(second - steam_ends) / 420)
