"""What a person may say of a file, checked before it is looked at."""

from typing import Final

from tracelabels.cycles.log.dates import ORDERS
from tracelabels.cycles.log.logged import LogOptions
from tracelabels.cycles.log.pressure_units import KPA, REFERENCES
from tracelabels.cycles.log.temperature_units import UNITS
from tracelabels.cycles.log.time_units import SCALES
from tracelabels.errors import LogError

SEPARATORS: Final[dict[str, str]] = {
    ",": ",",
    ";": ";",
    "\t": "\t",
    "|": "|",
    " ": " ",
    "tab": "\t",
    "\\t": "\t",
    "space": " ",
}
"""What may be asked for, and what it means."""
MARKS: Final = (".", ",")
LEAST_AIR_KPA: Final = 50.0
GREATEST_AIR_KPA: Final = 110.0
"""The air's pressure above 5,500 m and the highest ever measured lie within. Common practice, no source."""


def require_options(options: LogOptions) -> None:
    """Check that each option is one.

    Raises:
        LogError: one is not.
    """
    asked = (
        ("separator", options.separator, tuple(SEPARATORS), "a comma, a semicolon, |, tab or space"),
        ("decimal mark", options.decimal_mark, MARKS, "a point or a comma"),
        ("time unit", options.time_unit, tuple(SCALES), "one of " + ", ".join(SCALES)),
        ("date order", options.date_order, ORDERS, "one of " + ", ".join(ORDERS)),
        ("temperature unit", options.temperature_unit, UNITS, "one of " + ", ".join(UNITS)),
        ("pressure unit", options.pressure_unit, tuple(KPA), "one of " + ", ".join(KPA)),
        ("pressure reference", options.pressure_reference, REFERENCES, "one of " + ", ".join(REFERENCES)),
    )
    for what, given, known, expected in asked:
        if given is not None and given not in known:
            raise LogError(
                given=f"the {what} {given!r}",
                expected=expected,
                remedy=f"give it with --{what.replace(' ', '-')}, or leave it out to have it found",
            )
    if not LEAST_AIR_KPA <= options.atmosphere_kpa <= GREATEST_AIR_KPA:
        raise LogError(
            given=f"an air pressure of {options.atmosphere_kpa:g} kPa",
            expected=f"one from {LEAST_AIR_KPA:g} to {GREATEST_AIR_KPA:g} kPa",
            remedy="give the pressure of the air at the steriliser's place, not that reduced to sea level",
        )
