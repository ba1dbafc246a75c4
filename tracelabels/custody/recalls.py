"""Recalls: what started one, what it reached, and what was done."""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from tracelabels.custody.names import Kind, Name


@dataclass(frozen=True, slots=True, kw_only=True)
class Recall:
    """A recall, with everything that it reached when it was recorded."""

    number: str
    """Our number of the recall."""
    cause: str
    """What was asked, as it was asked: ``lot:MAKER/BATCH``, ``load:...``, ``bi:...`` and so on."""
    reason: str
    """Why, in words."""
    at: datetime
    """When (UTC)."""
    roots: tuple[Name, ...] = ()
    """The things that the cause stands for."""
    items: tuple[Name, ...] = ()
    """Bottles, tubes and pouches reached."""
    clients: tuple[Name, ...] = ()
    """Clients reached."""
    incidents: tuple[Name, ...] = ()
    """Incidents about what is reached."""

    @property
    def as_name(self) -> Name:
        """Return its name in the record."""
        return Name(Kind.RECALL, self.number)


class RecallStep(StrEnum):
    """What was done in a recall."""

    CLIENT_REACHED = "client_reached"
    CLIENT_ATTEMPT = "client_attempt"
    """Tried to reach the client, in vain."""
    CLIENT_UNREACHABLE = "client_unreachable"
    """Given up after dated attempts."""
    STOCK_FOUND = "stock_found"
    ITEM_DESTROYED = "item_destroyed"
    FILE_LEFT = "file_left"
    """A letter or a call list was left for people, in the practice's folder."""
    FILE_LEFT_ELSEWHERE = "file_left_elsewhere"
    """The same, outside of it."""
    NOTE = "note"
    CLOSED = "closed"


@dataclass(frozen=True, slots=True, kw_only=True)
class RecallAction:
    """One step that was taken in a recall."""

    recall: Name
    """Which recall."""
    step: RecallStep
    """What was done."""
    at: datetime
    """When (UTC)."""
    client: Name | None = None
    """The client it is about."""
    items: tuple[Name, ...] = ()
    """The things it is about: what was found, what was destroyed; of a file that was left the clients in it."""
    place: str | None = None
    """Where stock was looked for; the name of a file that was left."""
    note: str | None = None
    """Anything else in words; nothing personal. Of a file that was left its SHA-256 (hexadecimal)."""
