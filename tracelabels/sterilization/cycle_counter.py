"""A steriliser counts its cycles itself: numbers that no load has are cycles that nobody recorded."""

import itertools
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum


@dataclass(frozen=True, slots=True, kw_only=True)
class CountedCycle:
    """One load with what the steriliser's counter said."""

    load: str
    """Number of the load."""
    started_at: datetime
    """When it started."""
    counter: int
    """The steriliser's own number of the cycle."""


class CounterFault(StrEnum):
    """What is wrong between two loads."""

    MISSING = "missing"
    """Cycles ran that are not on record."""
    DOUBLE = "double"
    """Two loads have the same number."""
    BACK = "back"
    """The counter ran backwards: it was reset, or a number was misread."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CounterGap:
    """Something between two loads of one steriliser that follow each other."""

    fault: CounterFault
    """What."""
    after: CountedCycle
    """The earlier load."""
    before: CountedCycle
    """The later one."""

    @property
    def missing(self) -> int:
        """Return how many cycles are not on record."""
        return self.before.counter - self.after.counter - 1 if self.fault is CounterFault.MISSING else 0

    @property
    def sentence(self) -> str:
        """Return it in words."""
        first, last = self.after, self.before
        if self.fault is CounterFault.DOUBLE:
            return f"loads {first.load} and {last.load} both have cycle number {last.counter}"
        if self.fault is CounterFault.BACK:
            return (
                f"the counter ran back from {first.counter} (load {first.load}) to {last.counter} (load {last.load}): "
                "it was reset, or misread"
            )
        one, other = first.counter + 1, last.counter - 1
        which = f"cycle {one}" if one == other else f"cycles {one} to {other}"
        return f"{which}, between loads {first.load} and {last.load}, {'is' if one == other else 'are'} not on record"


def counter_gaps(cycles: Iterable[CountedCycle]) -> tuple[CounterGap, ...]:
    """Return what is wrong between loads of one steriliser that follow each other in time; all kinds of cycle count."""
    return tuple(_gaps(sorted(cycles, key=lambda one: (one.started_at, one.counter))))


def _gaps(ordered: list[CountedCycle]) -> Iterator[CounterGap]:
    for after, before in itertools.pairwise(ordered):
        step = before.counter - after.counter
        if step != 1:
            fault = CounterFault.MISSING if step > 1 else CounterFault.DOUBLE if step == 0 else CounterFault.BACK
            yield CounterGap(fault=fault, after=after, before=before)
