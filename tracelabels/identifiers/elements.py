"""What passes between the modules of this room: an element, a payload, and the mode that it is written in."""

from dataclasses import dataclass
from enum import StrEnum

GS = "\x1d"
"""The separator as a scanner sends it: ASCII 29, group separator (GS1 General Specifications, 7.8.6.3)."""


class IdentifierMode(StrEnum):
    """How a code says what it says, and what it claims by that."""

    GS1 = "gs1"
    """A GS1 element string: FNC1 comes first, and GS1's rules are claimed to hold."""
    IN_HOUSE = "in_house"
    """The same syntax in a plain symbol without FNC1, limited to (17), (13), (10) and (21); it claims nothing."""
    DIGITAL_LINK = "digital_link"
    """A GS1 Digital Link URI in a plain symbol."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Element:
    """One application identifier with its value.

    Attributes:
        ai: The application identifier, two to four digits.
        value: Its value, without separator.
    """

    ai: str
    value: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Payload:
    r"""What a symbol carries.

    Attributes:
        text: The text exactly as a scanner sends it, separators as "\x1d", without a symbology identifier.
        fnc1_first: Whether the symbol opens with FNC1, which makes it a GS1 symbol.
        mode: How the text is written.
    """

    text: str
    fnc1_first: bool
    mode: IdentifierMode
