"""The causes for which a code stays unread, and a finding."""

from dataclasses import dataclass
from enum import StrEnum


class Cause(StrEnum):
    """Why a code was not read."""

    TOO_DARK = "too dark"
    """Too little light on the label."""

    OUTSIDE = "outside"
    """A part of the code is beyond the picture's border."""

    GLARE = "glare"
    """A lamp's reflection hides a part of the code."""

    SHADOW = "shadow"
    """The edge of a shadow runs over the code."""

    PALE = "pale"
    """The print is hardly darker than the label."""

    MOVED = "moved"
    """Camera or label moved: edges are spread in one direction."""

    OUT_OF_FOCUS = "out of focus"
    """Edges are spread in every direction."""

    TOO_FAR = "too far"
    """Too few pixels a module."""

    DAMAGED = "damaged"
    """Light lines run through the print."""

    BENT_AWAY = "bent away"
    """The code bends away from the camera round a tube."""

    STEEP = "steep"
    """The code is seen from the side."""

    COVERED = "covered"
    """Something lies over a side of the code."""

    UNKNOWN = "unknown"
    """A code is there, and nothing that was measured explains why it was not read."""

    NO_CODE = "no code"
    """Nothing in the picture looks like a code."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """A cause with its measured numbers."""

    cause: Cause
    """Which it is."""

    sentence: str
    """What was measured and what to do, in one sentence."""
