"""Sterilisers and their days: what was done to one, tested on it, and found."""

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from enum import StrEnum

from tracelabels.custody.names import Kind, Name


class CycleKind(StrEnum):
    """How a cycle drives the air out, and what it is for; each is tested by itself."""

    AIR_REMOVAL = "air_removal"
    """With active air removal (fractionated vacuum, steam pulses)."""
    GRAVITY = "gravity"
    """Steam displaces air by gravity."""
    TYPE_N = "type_n"
    """No air removal: unwrapped solids only (EN 13060, type N)."""
    LIQUID = "liquid"
    """For liquids in vented or validated containers, with slow exhaust and cooling."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Steriliser:
    """One steam steriliser."""

    code: str
    """The practice's code; it begins the load numbers of hospital records and stays for good."""
    name: str
    """What people call it."""
    serial_number: str
    """The maker's serial number."""
    cycle_kinds: tuple[CycleKind, ...]
    """What it can run."""
    chamber_litres: Decimal | None = None
    """Volume of the chamber in litres."""
    validation: str | None = None
    """Where its validation is filed; None if none is."""

    @property
    def as_name(self) -> Name:
        """Return its name in the record."""
        return Name(Kind.STERILISER, self.code)


class SteriliserEventKind(StrEnum):
    """What can happen to a steriliser."""

    INSTALLED = "installed"
    REPAIRED = "repaired"
    MOVED = "moved"
    VALIDATED = "validated"
    CALIBRATED = "calibrated"
    SERVICED = "serviced"
    CLEANED = "cleaned"
    AIR_REMOVAL_TEST = "air_removal_test"
    LEAK_TEST = "leak_test"
    CLOCK_COMPARED = "clock_compared"
    """The clock of its logger was compared with the right time."""
    TAKEN_OUT = "taken_out"
    """Taken out of service."""
    RETURNED = "returned"
    """Returned to service."""


NEED_NEW_TESTS = frozenset({SteriliserEventKind.INSTALLED, SteriliserEventKind.REPAIRED, SteriliserEventKind.MOVED})
"""After these a steriliser counts as untested until a spore test passed."""


MAY_BE_CYCLES = frozenset({SteriliserEventKind.AIR_REMOVAL_TEST, SteriliserEventKind.LEAK_TEST})
"""Tests that many sterilisers run as cycles of their own, which their counter counts."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SteriliserEvent:
    """Something was done to a steriliser, or tested on it."""

    steriliser: Name
    """Which one."""
    event: SteriliserEventKind
    """What."""
    at: datetime
    """When (UTC)."""
    passed: bool | None = None
    """Whether a test passed; None for what is no test."""
    cycle_kind: CycleKind | None = None
    """The cycle kind it is about; None for the whole steriliser."""
    next_due: date | None = None
    """When the same is due again."""
    note: str | None = None
    """Anything else in words; no names of people."""
    error_k: Decimal | None = None
    """Found at a calibration: how far the probe may be off, in kelvin."""
    offset_s: Decimal | None = None
    """Found by comparing clocks: how far the logger's is ahead of the right time, in seconds."""
