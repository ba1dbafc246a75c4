"""At the chair and after: pouches opened, tubes filled, things used, destroyed and moved."""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from tracelabels.custody.names import Kind, Name
from tracelabels.custody.reasons import Verdict
from tracelabels.custody.whereabouts import PlaceKind


@dataclass(frozen=True, slots=True, kw_only=True)
class PouchOpening:
    """A pouch was opened at the chair, with what was seen and what the gate said."""

    pouch: Name
    """Which pouch."""
    client: Name | None
    """For whom; None if nobody was entered."""
    indicator: bool
    """The indicator had turned against the pouch lot's own printed reference."""
    dry: bool
    """No moisture inside."""
    whole: bool
    """Not torn, seal closed."""
    verdict: Verdict
    """What the gate said."""
    at: datetime
    """When (UTC)."""
    reasons: tuple[str, ...] = ()
    """Every reason the gate gave."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fill:
    """A tube that was processed empty was filled at the chair; good for this session."""

    tube: Name
    """Which tube."""
    preparation: Name
    """What was filled in: a preparation of its own, with the bottles it came from."""
    at: datetime
    """When (UTC)."""
    client: Name | None = None
    """For whom, if entered."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Use:
    """Everything that was used on a client in one session; what was done and where is sealed with the client's key."""

    number: str
    """Our number of the use."""
    client: Name
    """On whom."""
    practitioner: str
    """Opaque staff id."""
    at: datetime
    """When it happened (UTC)."""
    items: tuple[Name, ...]
    """Pouches, tubes, bottles used directly, lots of consumables."""
    verdict: Verdict | None
    """What the gate had said; None if it was not asked (an outage)."""
    reasons: tuple[str, ...] = ()
    """What spoke against it."""
    photograph: str | None = None
    """Digest of the photographed label, among the evidence."""
    procedure: str | None = None
    """What was done; sealed."""
    body_site: str | None = None
    """Where on the body; sealed."""
    side: str | None = None
    """Left, right, both, middle; sealed."""

    @property
    def as_name(self) -> Name:
        """Return its name in the record."""
        return Name(Kind.USE, self.number)


class Destroyed(StrEnum):
    """What of a thing was destroyed."""

    WHOLE = "whole"
    """All of it, unused."""
    REMAINDER = "remainder"
    """What was left after use."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Destruction:
    """A thing, or what was left of it, was destroyed."""

    item: Name
    """Which bottle, tube or pouch."""
    what: Destroyed
    """Whole, or the remainder."""
    at: datetime
    """When (UTC)."""
    how: str
    """How, in words."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """A thing was put somewhere; its place, not its fitness."""

    item: Name
    """Which bottle, tube, pouch or consumable."""
    kind: PlaceKind
    """Kind of place."""
    place: str
    """The place's name at the practice, or to whom it was given."""
    at: datetime
    """When (UTC)."""
