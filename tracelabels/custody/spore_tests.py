"""Spore tests (biological indicators, BI), per steriliser and cycle kind."""

from dataclasses import dataclass
from datetime import date, datetime

from tracelabels.custody.names import Kind, Name
from tracelabels.custody.sterilisers import CycleKind
from tracelabels.sterilization import SporeResult

__all__ = ["SporeReading", "SporeResult", "SporeTest"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SporeTest:
    """A biological indicator that rode along in a load."""

    number: str
    """Our number of the test."""
    steriliser: Name
    """Which steriliser."""
    cycle_kind: CycleKind
    """Which kind of cycle it speaks for."""
    load: Name
    """The load it rode along in."""
    lot: str
    """Lot of the indicator."""
    placement: str
    """Where it sat in the load."""
    at: datetime
    """When the load started (UTC)."""
    due_at: datetime
    """When its reading is due (UTC)."""
    lot_expiry: date | None = None
    """Last day of use of that lot."""
    has_control: bool = True
    """Whether an unprocessed indicator of the lot is incubated beside it."""
    by_laboratory: bool = False
    """Whether it is sent to a laboratory."""
    in_reference_tube: bool = False
    """Whether it sat inside a tube of the same fill: evidence for the inside of filled tubes."""
    laboratory: str | None = None
    """Which laboratory it is sent to."""
    sent_at: datetime | None = None
    """When it was sent (UTC)."""

    @property
    def as_name(self) -> Name:
        """Return its name in the record."""
        return Name(Kind.SPORE_TEST, self.number)


@dataclass(frozen=True, slots=True, kw_only=True)
class SporeReading:
    """A spore test was read."""

    test: Name
    """Which test."""
    result: SporeResult
    """What it showed."""
    at: datetime
    """When it was read (UTC)."""
    evidence: str | None = None
    """Digest of the laboratory's report or a picture, among the evidence."""
    note: str | None = None
    """Anything else in words."""
    control_grew: bool | None = None
    """Whether the control, which saw no steam, grew; None if there was none or nobody entered it."""
