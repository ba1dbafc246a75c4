"""Facts as values: what a ledger's chain is made of."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Final, Generic, TypeVar

Value = TypeVar("Value")


class FactKind(StrEnum):
    """What a fact says."""

    PRODUCT = "product"
    BOTTLE = "bottle"
    BOTTLE_OPENED = "bottle_opened"
    BOTTLE_FINISHED = "bottle_finished"
    BOTTLE_WITHDRAWN = "bottle_withdrawn"
    PREPARATION = "preparation"
    TUBE = "tube"
    POUCH = "pouch"
    PRINT_RUN = "print_run"
    LABEL_PRINTED = "label_printed"
    LABEL_VOIDED = "label_voided"
    STAFF = "staff"
    CONSUMABLE = "consumable"
    CONSUMABLE_PERIOD = "consumable_period"
    STERILISER = "steriliser"
    STERILISER_EVENT = "steriliser_event"
    LOAD = "load"
    LOAD_END = "load_end"
    LOAD_READINGS = "load_readings"
    UNLOADED = "unloaded"
    INDICATOR_READING = "indicator_reading"
    SPORE_TEST = "spore_test"
    SPORE_READING = "spore_reading"
    LOAD_RELEASE = "load_release"
    HOLD = "hold"
    HOLD_LIFTED = "hold_lifted"
    CLIENT = "client"
    OPENING = "opening"
    FILL = "fill"
    CLIENT_USE = "client_use"
    DESTRUCTION = "destruction"
    MOVE = "move"
    LABEL_OUTCOME = "label_outcome"
    INCIDENT = "incident"
    ADVERSE_EVENT = "adverse_event"
    RECALL = "recall"
    RECALL_ACTION = "recall_action"
    EVIDENCE = "evidence"
    NUMBERS_TAKEN = "numbers_taken"
    RETRACTION = "retraction"
    """Takes a fact back without putting another in its place."""
    ERASURE = "erasure"
    HEAD_SEEN = "head_seen"
    """Another site's chain was seen to reach so far."""


class Series(StrEnum):
    """A running count of its own at each site."""

    SERIAL = "serial"
    PREPARATION = "preparation"
    PRINT_RUN = "print_run"
    LOAD = "load"
    SPORE_TEST = "spore_test"
    HOLD = "hold"
    USE = "use"
    INCIDENT = "incident"
    ADVERSE_EVENT = "adverse_event"
    RECALL = "recall"


NUMBERED: Final[Mapping[Series, tuple[str, int]]] = {
    Series.PREPARATION: ("P", 4),
    Series.PRINT_RUN: ("R", 4),
    Series.LOAD: ("L", 4),
    Series.SPORE_TEST: ("B", 4),
    Series.HOLD: ("H", 4),
    Series.USE: ("U", 6),
    Series.INCIDENT: ("I", 4),
    Series.ADVERSE_EVENT: ("A", 4),
    Series.RECALL: ("K", 4),
}
"""What numbers of a series begin with, and how many digits they have at least (``L01-0001``); serials are apart."""
LAST_NUMBER = 999_999
"""The last running number of any series: a serial has room for six digits."""


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class FactId:
    """The name of a fact: the site that wrote it, and its place in that site's chain."""

    site: int
    """Site number."""
    sequence: int
    """1 for the site's first fact."""

    def __str__(self) -> str:
        """Write it as people read it: ``site-sequence``."""
        return f"{self.site}-{self.sequence}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Fact:
    """One link of a chain, without its content."""

    id: FactId
    """Its name."""
    kind: FactKind
    """What it says."""
    thing: FactId
    """The fact that first recorded the thing it is about (itself, for a first fact)."""
    version: int
    """1 for a first fact; one more than the fact it corrects."""
    recorded_at: datetime
    """When it was written down (UTC)."""
    happened_at: datetime
    """When it happened (UTC)."""
    by: str
    """Opaque staff id of who recorded it."""
    corrects: FactId | None = None
    """The fact that it corrects or takes back."""
    reason: str | None = None
    """Why; always there for a correction."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Recorded(Generic[Value]):
    """A thing as it stands today, with the fact that says so."""

    thing: FactId
    """The thing's lasting name in the ledger."""
    fact: FactId
    """The fact that holds today's version."""
    value: Value
    """The thing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """How far a site's chain reaches, and its last link."""

    site: int
    """Site number."""
    sequence: int
    """Number of its last fact; 0 for an empty chain."""
    link: bytes
    """The last fact's link (32 bytes)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StaffMember:
    """A member of staff: the code stands in facts, the rest is personal and can be erased."""

    code: str
    """Opaque staff id."""
    name: str | None
    """Name; None once erased."""
    initials: str | None
    """Initials for labels; None once erased."""


class ProblemKind(StrEnum):
    """What can be wrong with a chain."""

    MISSING_FACTS = "missing_facts"
    BROKEN_LINK = "broken_link"
    CHANGED_FACT = "changed_fact"
    CHANGED_CONTENT = "changed_content"
    CONTENT_WITHOUT_FACT = "content_without_fact"
    MISSING_SEALED = "missing_sealed"
    CHANGED_SEALED = "changed_sealed"
    MISSING_KEY = "missing_key"
    ERASED_CAME_BACK = "erased_came_back"
    HEAD_DIFFERS = "head_differs"


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One finding of ``verify``."""

    kind: ProblemKind
    """What is wrong."""
    at: FactId
    """Where."""
    sentence: str
    """The same in words."""
