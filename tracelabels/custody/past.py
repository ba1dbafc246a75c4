"""What happened to a thing before it came to the chair: opened, used, destroyed, given away, lost, met twice."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from tracelabels.custody.names import Name
from tracelabels.custody.reasons import Reason, ReasonKind
from tracelabels.words import in_words


class PastKind(StrEnum):
    """What can have happened."""

    OPENED = "opened"
    USED = "used"
    DESTROYED = "destroyed"
    GIVEN_AWAY = "given_away"
    LOST = "lost"
    INCIDENT = "incident"
    """An incident about this very thing that casts doubt on it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PastEvent:
    """Something that happened to a thing, or to the pouch it lies in."""

    kind: PastKind
    """What."""
    item: Name
    """To which thing."""
    at: datetime
    """When, in the practice's zone; its day is the session."""
    by: str
    """Opaque staff id of who recorded it, or did it."""
    client: str | None = None
    """Code of the client, if there is one."""
    note: str | None = None
    """What more is to be said."""

    @property
    def sentence(self) -> str:
        """Say who and when."""
        words = "was met in an incident" if self.kind is PastKind.INCIDENT else f"was {in_words(self.kind)}"
        whom = f" for client {self.client}" if self.client is not None else ""
        more = f": {self.note}" if self.note else ""
        return f"{self.item} {words} on {self.at:%Y-%m-%d} at {self.at:%H:%M} by {self.by}{whom}{more}"


_KINDS = {
    PastKind.OPENED: ReasonKind.ALREADY_OPENED,
    PastKind.USED: ReasonKind.ALREADY_USED,
    PastKind.DESTROYED: ReasonKind.DESTROYED,
    PastKind.GIVEN_AWAY: ReasonKind.GIVEN_AWAY,
    PastKind.LOST: ReasonKind.LOST,
    PastKind.INCIDENT: ReasonKind.IN_DOUBT,
}


def history_reasons(item: Name, past: Iterable[PastEvent], *, client: str | None, today: date) -> tuple[Reason, ...]:
    """Return a reason for everything that happened to a thing and speaks against it.

    The client's own opening of the pouch in this session does not; nor, for a tube in it, that something else from the
    pouch was used on the same client in this session.

    Args:
        item: the thing.
        past: what happened to it and to the pouch it lies in.
        client: code of the client; None before it is entered.
        today: the day of the session.
    """
    return tuple(
        Reason(kind=_KINDS[event.kind], sentence=event.sentence)
        for event in past
        if not _is_own(item, event, client, today)
    )


def _is_own(item: Name, event: PastEvent, client: str | None, today: date) -> bool:
    is_session = client is not None and event.client == client and event.at.date() == today
    if event.kind is PastKind.OPENED:
        return is_session
    return event.kind is PastKind.USED and event.item != item and is_session
