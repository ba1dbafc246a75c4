"""Decisions about loads and stock: release, rejection, quarantine, and holds put on and lifted."""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from tracelabels.custody.names import Kind, Name


class Decision(StrEnum):
    """What was decided about a load."""

    RELEASED = "released"
    REJECTED = "rejected"
    QUARANTINE = "quarantine"
    """Stock is kept back, for example until a spore test is read."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Release:
    """A decision about a load; the latest one counts."""

    load: Name
    """Which load."""
    decision: Decision
    """What was decided."""
    at: datetime
    """When (UTC)."""
    second: str | None = None
    """Opaque staff id of the second person, if one took part."""
    is_early: bool = False
    """Released although a spore test is still incubating."""
    reasons: tuple[str, ...] = ()
    """Why, in words."""
    excepted: tuple[Name, ...] = ()
    """Pouches that the decision does not release."""


class HoldCause(StrEnum):
    """Why stock is kept back."""

    QUARANTINE = "quarantine"
    RECALL = "recall"
    SPORE_GROWTH = "spore_growth"
    INCIDENT = "incident"


@dataclass(frozen=True, slots=True, kw_only=True)
class Hold:
    """Things are kept back: whatever comes from them, or was processed with them, is STOP until the hold is lifted."""

    number: str
    """Our number of the hold."""
    cause: HoldCause
    """Why."""
    at: datetime
    """When (UTC)."""
    items: tuple[Name, ...]
    """What is kept back: bottles, preparations, tubes, pouches, loads, consumables, print runs."""
    reason: str
    """In words."""
    recall: Name | None = None
    """The recall it belongs to, if any."""

    @property
    def as_name(self) -> Name:
        """Return its name in the record."""
        return Name(Kind.HOLD, self.number)


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldLifted:
    """A hold ended."""

    hold: Name
    """Which hold."""
    at: datetime
    """When (UTC)."""
    reason: str
    """Why."""
