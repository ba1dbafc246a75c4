"""What the practice decides itself; standards and local rules leave these open."""

from dataclasses import dataclass
from enum import StrEnum

from tracelabels.custody.periods import Period


class UnknownOpeningRule(StrEnum):
    """What to do with an open bottle of which nobody knows the day of opening."""

    STOP = "stop"
    AS_RECEIVED = "as_received"
    """Count from the day it was received, the earliest day it can have been opened here."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Policy:
    """The practice's own limits.

    Tubes filled at the chair are good for this session; that is a rule and no choice.
    """

    limit_after_preparation: Period | None
    """How long a preparation may be kept; None for no limit of the practice's own."""
    pack_shelf_life: Period | None
    """How long a processed pouch keeps; None if event-related (good until wet, torn or opened)."""
    without_expiry: Period | None = None
    """How long after receipt a bottle without expiry may be used; None: STOP."""
    unknown_opening: UnknownOpeningRule = UnknownOpeningRule.STOP
    """What to do if the day of opening is unknown."""
    liquid_cycle: str | None = None
    """Where the validation of a liquid cycle for filled tubes is filed; None if there is none."""
