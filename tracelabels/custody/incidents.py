"""Incidents and adverse events: recorded, never refused, and always part of recalls."""

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from tracelabels.custody.names import Kind, Name


class IncidentKind(StrEnum):
    """What happened."""

    USED_AGAINST_STOP = "used_against_stop"
    USED_DURING_OUTAGE = "used_during_outage"
    DUPLICATE_LABEL = "duplicate_label"
    USED_TWICE = "used_twice"
    """A second client met a thing that was used before."""
    OTHER = "other"


@dataclass(frozen=True, slots=True, kw_only=True)
class Incident:
    """Something that should not have happened."""

    number: str
    """Our number of the incident."""
    kind: IncidentKind
    """What."""
    at: datetime
    """When it happened (UTC); when it was recorded stands with the fact."""
    items: tuple[Name, ...]
    """The things it is about."""
    client: Name | None = None
    """The client it touched, if any."""
    use: Name | None = None
    """The use it is about, if one is on record."""
    reasons: tuple[str, ...] = ()
    """What the gate had said, or would have said."""
    account: str | None = None
    """What happened, in words; sealed with the client's key where there is a client."""

    @property
    def as_name(self) -> Name:
        """Return its name in the record."""
        return Name(Kind.INCIDENT, self.number)


@dataclass(frozen=True, slots=True, kw_only=True)
class AdverseEvent:
    """Something went wrong with a client's health. What it is stands sealed with the client's key."""

    number: str
    """Our number of the event."""
    client: Name
    """Who."""
    onset: date
    """The day it began."""
    uses: tuple[Name, ...] = ()
    """The uses it is linked with."""
    report_due: date | None = None
    """When a report to an authority is due; local rules decide."""
    report_sent: date | None = None
    """When it was sent."""
    closed_on: date | None = None
    """When it was closed; None while it is open."""
    what: str | None = None
    """What was seen; sealed."""
    culture: str | None = None
    """What a culture found; sealed."""
    physician: str | None = None
    """Who treats it; sealed."""

    @property
    def as_name(self) -> Name:
        """Return its name in the record."""
        return Name(Kind.ADVERSE_EVENT, self.number)
