"""What is on record about the spore testing of sterilisers: tests with their loads, and what needs new tests.

A spore test (biological indicator, BI) speaks for one steriliser and one cycle kind, and for no other.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import UTC, datetime, tzinfo
from enum import StrEnum
from typing import Final


class SporeResult(StrEnum):
    """What a spore test showed."""

    NO_GROWTH = "no_growth"
    """Passed."""
    GROWTH = "growth"
    INVALID = "invalid"
    """The control, which saw no steam, did not grow: the test says nothing."""


class GrowthPolicy(StrEnum):
    """What a single growth reaches."""

    STRICT = "strict"
    """Everything since the last passed test, at once."""
    CONFIRM_FIRST = "confirm_first"
    """Everything since the last passed test is kept back while three cycles are repeated (CDC 2008, Table 12)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SporePolicy:
    """What the practice has decided; local codes come first."""

    interval_days: int = 7
    """A test is due so many days after the load of the last one (CDC 2008: at least weekly)."""
    growth: GrowthPolicy = GrowthPolicy.STRICT
    """What a single growth reaches."""
    zone: tzinfo = UTC
    """The practice's time zone: it decides on which day a load ran."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Process:
    """What a spore test speaks for."""

    steriliser: str
    """Code of the steriliser."""
    cycle_kind: str
    """Kind of cycle."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RodeAlong:
    """A spore test that rode along in a load."""

    test: str
    """Number of the test."""
    process: Process
    """What it speaks for."""
    load: str
    """Number of its load."""
    load_at: datetime
    """When that load started."""
    result: SporeResult | None = None
    """What it showed; None while it incubates."""
    read_at: datetime | None = None
    """When it was read; None while it incubates."""
    in_reference_tube: bool = False
    """It sat inside a tube of the same fill."""


class ChangeKind(StrEnum):
    """What happened to a steriliser, as far as spore tests go."""

    INSTALLED = "installed"
    REPAIRED = "repaired"
    MOVED = "moved"
    FOUND_DEFECTIVE = "found_defective"
    """The steriliser, or how it was run, was found defective."""
    RETURNED = "returned"
    """Returned to service."""


NEEDS_TEST: Final = frozenset({ChangeKind.INSTALLED, ChangeKind.REPAIRED, ChangeKind.MOVED})
"""After these a steriliser counts as untested until a test passed (California HSC 119315; Toronto Public Health)."""

SHOWS_DEFECT: Final = frozenset({ChangeKind.REPAIRED, ChangeKind.FOUND_DEFECTIVE})
"""A growth followed by one of these was no accident of the test: what needed repair was defective."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """Something happened to a steriliser."""

    steriliser: str
    """Code of the steriliser."""
    kind: ChangeKind
    """What."""
    at: datetime
    """When."""
    cycle_kind: str | None = None
    """The cycle kind it is about; None for the whole steriliser."""


@dataclass(frozen=True, slots=True)
class History:
    """All that is known of one process today, in the order of the loads."""

    process: Process
    """What it is about."""
    tests: tuple[RodeAlong, ...]
    """Its spore tests."""
    changes: tuple[Change, ...]
    """What happened to its steriliser, the whole of it or this cycle kind."""

    @classmethod
    def of(cls, process: Process, tests: Iterable[RodeAlong], changes: Iterable[Change]) -> "History":
        """Take from all tests and changes what speaks about one process; others say nothing of it."""
        own = (test for test in tests if test.process == process)
        about = (
            change
            for change in changes
            if change.steriliser == process.steriliser and change.cycle_kind in {None, process.cycle_kind}
        )
        return cls(
            process=process,
            tests=tuple(sorted(own, key=lambda test: (test.load_at, test.test))),
            changes=tuple(sorted(about, key=lambda change: (change.at, change.kind))),
        )

    def as_of(self, at: datetime) -> "History":
        """Return what was known at a moment: tests whose load had started, unread where they were read later."""
        known = (
            test if test.read_at is None or test.read_at <= at else replace(test, result=None, read_at=None)
            for test in self.tests
            if test.load_at <= at
        )
        changes = tuple(change for change in self.changes if change.at <= at)
        return History(process=self.process, tests=tuple(known), changes=changes)

    def with_result(self, *results: SporeResult) -> tuple[RodeAlong, ...]:
        """Return the tests that showed one of these."""
        return tuple(test for test in self.tests if test.result in results)

    def last_pass_before(self, at: datetime) -> RodeAlong | None:
        """Return the last passed test whose load started before a moment."""
        return next((test for test in reversed(self._vouching()) if test.load_at < at), None)

    def first_pass_after(self, at: datetime) -> RodeAlong | None:
        """Return the first passed test whose load started after a moment."""
        return next((test for test in self._vouching() if test.load_at > at), None)

    def _vouching(self) -> "tuple[RodeAlong, ...]":
        """Return the passed tests; a load in which another test grew vouches for nothing."""
        grown = {test.load for test in self.with_result(SporeResult.GROWTH)}
        return tuple(test for test in self.with_result(SporeResult.NO_GROWTH) if test.load not in grown)
