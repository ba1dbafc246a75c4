"""A steriliser counts its cycles itself: numbers that no load has are cycles that nobody recorded."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class CountedCycle:
    """One load with what the steriliser's counter said."""

    load: str
    """Number of the load."""
    at: datetime
    """When it started."""
    counter: int | None
    """The steriliser's own number of the cycle; None if nobody entered it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MaybeCycle:
    """A test of the day, which many sterilisers run as a cycle of its own."""

    what: str
    """Which, in words."""
    at: datetime
    """When."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CounterGap:
    """A place where the counter and the loads on record do not go together."""

    before: str
    """Number of the load at which it shows."""
    at: datetime
    """When that load started."""
    sentence: str
    """What is missing or odd."""
    may_be_tests: bool = False
    """Whether tests on record account for what is missing."""


@dataclass(slots=True, kw_only=True)
class _Seen:
    """What was seen since the counter was last known."""

    last: int | None
    """What it showed."""
    loads: int = 0
    """Loads without a number since."""
    tests: list[str] = field(default_factory=list)
    """Tests since that may be cycles."""


def counter_gaps(
    cycles: Iterable[CountedCycle], tests: Iterable[MaybeCycle] = (), *, counter_before: int | None = None
) -> tuple[CounterGap, ...]:
    """Return where cycles are missing from the record, or the counter does not rise.

    Args:
        cycles: all loads of one steriliser, of all kinds of cycle.
        tests: its tests of the day.
        counter_before: what the counter showed before them; None if that is not known.
    """
    entries: list[CountedCycle | MaybeCycle] = [*tests, *cycles]
    return tuple(_gaps(sorted(entries, key=lambda one: one.at), _Seen(last=counter_before)))


def _gaps(entries: Iterable[CountedCycle | MaybeCycle], seen: _Seen) -> Iterator[CounterGap]:
    for one in entries:
        if isinstance(one, MaybeCycle):
            seen.tests.append(one.what)
        elif one.counter is None:
            seen.loads += 1
        else:
            gap = None if seen.last is None else _gap(one, seen, seen.last, one.counter)
            if gap is not None:
                yield gap
            seen.last, seen.loads, seen.tests = one.counter, 0, []


def _gap(one: CountedCycle, seen: _Seen, last: int, shown: int) -> CounterGap | None:
    """Return what does not go together between two numbers of the counter; None if nothing."""
    missing = shown - last - 1 - seen.loads
    said = f"cycle counter {last}, then {shown}"
    if shown <= last:
        return CounterGap(before=one.load, at=one.at, sentence=f"{said}: it was set back, or a number is wrong")
    if missing < 0:
        sentence = f"{said}: {seen.loads} loads between them, more than it counted"
        return CounterGap(before=one.load, at=one.at, sentence=sentence)
    if missing == 0:
        return None
    cycles = "1 cycle" if missing == 1 else f"{missing} cycles"
    tests = f"; on record between them: {', '.join(seen.tests)}, which may be cycles too" if seen.tests else ""
    sentence = f"{said}: {cycles} without a load on record{tests}"
    return CounterGap(before=one.load, at=one.at, sentence=sentence, may_be_tests=missing <= len(seen.tests))
