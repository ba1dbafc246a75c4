"""Types of chemical indicators after ISO 11140-1:2014. The types are no ranking, and none of them shows sterility."""

from enum import IntEnum
from typing import Final


class IndicatorType(IntEnum):
    """What an indicator is made to show."""

    PROCESS = 1
    """It was exposed to the process; tells processed packs from others."""
    SPECIFIC_TEST = 2
    """For one test of a steriliser, such as the daily air-removal test."""
    SINGLE_VARIABLE = 3
    MULTI_VARIABLE = 4
    INTEGRATING = 5
    """Reacts to all variables of the process, with stated values related to spores."""
    EMULATING = 6
    """Reacts to all variables of one stated cycle."""


IN_WORDS: Final = {
    IndicatorType.PROCESS: "process indicator: shows exposure",
    IndicatorType.SPECIFIC_TEST: "for a specific test of the steriliser",
    IndicatorType.SINGLE_VARIABLE: "single variable",
    IndicatorType.MULTI_VARIABLE: "two or more variables",
    IndicatorType.INTEGRATING: "integrating: all variables, with stated values",
    IndicatorType.EMULATING: "emulating: all variables of one stated cycle",
}
"""Each type in words for people."""

FOR_PACKS: Final = frozenset(IndicatorType) - {IndicatorType.SPECIFIC_TEST}
"""Types that can speak for a pack; a sheet for the air-removal test cannot."""

INTEGRATING_LEAST_AT_121: Final = 16.5
"""Least stated value of an integrating indicator at 121 degrees Celsius in minutes (ISO 11140-1:2014)."""
