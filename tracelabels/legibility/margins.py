"""For each factor the value at which reading fails while all others stay at their usual values.

From the usual value the factor is made worse in doubling steps until fewer than half of the seeded trials read, then
the bracket is halved. A label that does not read even as usual is tried with better values in the same way: what would
have to improve, and how far. The same seeds serve every value, so that values differ by the factor and not by chance.
Assumes that reading gets no easier as a factor gets worse; where it does, the first change found on the way counts.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from tracelabels.legibility.trial import Outcome, chance, try_reading

if TYPE_CHECKING:
    from tracelabels.legibility.condition import Condition, Factor
    from tracelabels.legibility.envelope import Span
    from tracelabels.legibility.specimen import Specimen

_MARGIN = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Margin:
    """How far one factor may go; simulated."""

    factor: str
    """Its name in the envelope."""
    title: str
    """In words."""
    unit: str
    """Its unit."""
    nominal: float
    """The usual value."""
    limit: float
    """The envelope's limit."""
    reads_to: float | None
    """The worst value tried at which at least half of the trials read; None if no value makes this label read while the
    others stay as usual."""
    fails_at: float | None
    """The next value tried, at which fewer than half read; None if the whole range reads."""
    room: float | None
    """How far beyond the limit it fails, counted in the span from usual value to limit (in the factor's own step where
    those are equal): 0 fails at the limit, 1 as far again, below 0 inside the envelope; None if the whole range reads,
    or none of it."""

    @property
    def reads_as_usual(self) -> bool:
        """Say whether the label reads with everything at its usual value."""
        if self.reads_to is None or self.fails_at is None:
            return self.fails_at is None
        worse = self.fails_at - self.reads_to
        return (self.reads_to - self.nominal) * worse >= 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Depth:
    """How finely a margin is sought."""

    seeds: int
    """Trials for each value."""
    halvings: int
    """How often the bracket is halved."""


FULL = Depth(seeds=8, halvings=4)
QUICK = Depth(seeds=4, halvings=2)


def find_margin(
    specimen: "Specimen", usual: "Condition", factor: "Factor", span: "Span", *, depth: Depth, seed: int
) -> Margin:
    """Return the margin of one factor.

    Args:
        specimen: the symbol.
        usual: the condition with every factor at its usual value.
        factor: which one is made worse.
        span: its usual value and limit, for the room.
        depth: how finely.
        seed: the same seed gives the same margin.
    """

    def reads(value: float) -> bool:
        return half_reads(specimen, usual.with_value(factor.name, value), seeds=depth.seeds, seed=seed)

    start = usual.value(factor.name)
    if reads(start):
        good, bad = _bracket(factor, start, lambda value: not reads(value), factor.step)
        if bad is None:
            return _margin(factor, span, good, None)
    else:
        bad, found = _bracket(factor, start, reads, -factor.step)
        if found is None:
            return _margin(factor, span, None, bad)
        good = found
    return _margin(factor, span, *_halved(factor, good, bad, reads, depth.halvings))


def half_reads(specimen: "Specimen", condition: "Condition", *, seeds: int, seed: int) -> bool:
    """Say whether at least half of the seeded trials read; stops as soon as that is certain."""
    read = unread = 0
    for number in range(seeds):
        rng = chance(seed, _MARGIN, number)
        if try_reading(specimen, condition, rng) is Outcome.READ:
            read += 1
        else:
            unread += 1
        if 2 * read >= seeds or 2 * unread > seeds:
            break
    return 2 * read >= seeds


def _bracket(
    factor: "Factor", start: float, is_found: Callable[[float], bool], step: float
) -> tuple[float, float | None]:
    """Return the last value at which nothing was found and the first at which it was; None if it never was.

    Args:
        factor: which factor.
        start: where nothing is found.
        is_found: what is sought.
        step: the first step, below 0 towards better values; each next one is twice as long.
    """
    before = start
    end = factor.worst if step > 0.0 else factor.best
    while before != end:
        value = factor.worsened(start, step)
        if is_found(value):
            return before, value
        before, step = value, 2.0 * step
    return before, None


def _halved(
    factor: "Factor", good: float, bad: float, reads: Callable[[float], bool], halvings: int
) -> tuple[float, float]:
    """Return a narrower bracket."""
    for _ in range(halvings):
        middle = (good + bad) / 2.0
        if factor.is_whole:
            middle = float(round(middle))
        if middle in {good, bad}:
            break
        good, bad = (middle, bad) if reads(middle) else (good, middle)
    return good, bad


def _margin(factor: "Factor", span: "Span", good: float | None, bad: float | None) -> Margin:
    scale = abs(span.limit - span.nominal) or factor.step
    room = None if bad is None or good is None else (bad - span.limit) * factor.direction / scale
    return Margin(
        factor=factor.name,
        title=factor.title,
        unit=factor.unit,
        nominal=span.nominal,
        limit=span.limit,
        reads_to=good,
        fails_at=bad,
        room=room,
    )
