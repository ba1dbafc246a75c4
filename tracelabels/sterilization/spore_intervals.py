"""What spore tests say about loads: evidence, what a growth reaches, when the next test is due.

Sources: CDC, Guideline for Disinfection and Sterilization in Healthcare Facilities (2008), Table 12 (steam) and its
recommendation of weekly tests; Toronto Public Health (nothing from the failed load nor after the last pass is used;
three consecutive passes before return; new tests after repair, move or outage); California HSC 119315 (after
installation and major repair). Local codes come first. Nothing here says that anything is sterile.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from enum import StrEnum
from typing import Final

from tracelabels.sterilization.spore_history import (
    NEEDS_TEST,
    SHOWS_DEFECT,
    Change,
    ChangeKind,
    GrowthPolicy,
    History,
    RodeAlong,
    SporePolicy,
    SporeResult,
)
from tracelabels.words import in_words

CONSECUTIVE: Final = 3
"""Passes in a row before a steriliser returns to service (CDC 2008, Table 12; Toronto Public Health)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Edge:
    """One end of an interval, named."""

    at: datetime | None
    """When; None for no end on this side: from the beginning, or until now and on."""
    name: str
    """What ends it, in words."""
    load: str | None = None
    """The load that lies just outside; None where none does."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AffectedInterval:
    """The times that a growth reaches.

    The passed test's own load lies outside; another load that is said to have started at the same moment lies inside,
    since nobody knows which came first. The return to service lies outside.
    """

    growth: RodeAlong
    """The test that grew."""
    after: Edge
    """The last passed test's load, that load itself exclusive; or the beginning."""
    before: Edge
    """Return to service; None at its time while the steriliser has not returned."""

    def holds(self, load: str, at: datetime) -> bool:
        """Say whether a load that started at a moment is reached."""
        if load in {self.after.load, self.before.load}:
            return False
        is_after = self.after.at is None or at >= self.after.at
        return is_after and (self.before.at is None or at < self.before.at)

    @property
    def is_open(self) -> bool:
        """Say whether it still goes on."""
        return self.before.at is None


def three_passes(history: History, *, after: datetime) -> tuple[RodeAlong, ...] | None:
    """Return the first three consecutive passes whose loads started after a moment; None if there are none yet.

    A growth, an invalid test or one still incubating between them breaks the row: nobody knows that cycle. Loads
    without a test do not: the steriliser is out of service, and three tests are asked for.
    """
    row: list[RodeAlong] = []
    for test in history.tests:
        if test.load_at <= after:
            continue
        if test.result is not SporeResult.NO_GROWTH:
            row = []
        elif not row or row[-1].load != test.load:
            row.append(test)
        if len(row) == CONSECUTIVE:
            return tuple(row)
    return None


def affected_interval(growth: RodeAlong, history: History) -> AffectedInterval:
    """Return which times a growth reaches: after the last passed test's load, until return to service.

    Args:
        growth: the test that grew.
        history: all that is known today of its steriliser and cycle kind.
    """
    last = history.last_pass_before(growth.load_at)
    if last is None:
        after = Edge(at=None, name="the beginning: no spore test had passed before")
    else:
        name = f"load {last.load}, whose spore test {last.test} passed (itself not affected)"
        after = Edge(at=last.load_at, name=name, load=last.load)
    return AffectedInterval(growth=growth, after=after, before=_end_of(growth, history))


def _end_of(growth: RodeAlong, history: History) -> Edge:
    """Return where a growth stops reaching; a return by override counts only once three passes are on record."""
    returns = [one.at for one in history.changes if one.kind is ChangeKind.RETURNED and one.at > growth.load_at]
    for at in returns:
        grown = [test.load_at for test in history.with_result(SporeResult.GROWTH) if test.load_at < at]
        row = three_passes(history, after=max(grown, default=growth.load_at))
        if row is None:
            continue
        if row[-1].load_at < at and _known_by(row, at):
            return Edge(at=at, name="return to service after three consecutive passes")
        return Edge(
            at=max(at, row[-1].load_at),
            load=row[-1].load,
            name=f"load {row[-1].load}, the third consecutive pass after a return to service without them",
        )
    if returns:
        return Edge(at=None, name="now (returned to service without three consecutive passes)")
    return Edge(at=None, name="now (not returned to service)")


def _known_by(row: Iterable[RodeAlong], at: datetime) -> bool:
    return all(test.read_at is None or test.read_at <= at for test in row)


class GrowthOutcome(StrEnum):
    """What a growth comes to under *confirm first*."""

    QUARANTINE = "quarantine"
    """Everything affected is kept back until three repeat cycles are read."""
    RECALL = "recall"
    """Everything affected is recalled."""
    CLEARED = "cleared"
    """Three repeat cycles in a row passed; all but the load that grew is free again."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Confirmation:
    """Where *confirm first* stands after a growth."""

    outcome: GrowthOutcome
    """Quarantine, recall or cleared."""
    sentence: str
    """Why, in words."""


def confirm_first(growth: RodeAlong, history: History, *, is_protected: bool = False) -> Confirmation:
    """Return what a growth comes to when it has to be confirmed by three repeat cycles (CDC 2008, Table 12, steam).

    Args:
        growth: the test that grew.
        history: all that is known today of its steriliser and cycle kind.
        is_protected: it is asked for a client of protected care.
    """
    if is_protected:
        return _recall("protected care does not wait for repeat cycles")
    row = three_passes(history, after=growth.load_at)
    until = None if row is None else row[-1].load_at
    for change in history.changes:
        if change.kind in SHOWS_DEFECT and change.at > growth.load_at and (until is None or change.at <= until):
            how = in_words(change.kind)
            return _recall(f"the steriliser or the procedure was found defective ({how})")
    for test in history.with_result(SporeResult.GROWTH):
        is_other = test.test != growth.test and test.load_at >= growth.load_at
        if is_other and (until is None or test.load_at <= until):
            return _recall(f"spore test {test.test} in load {test.load} grew too")
    if row is not None:
        names = ", ".join(test.test for test in row)
        return Confirmation(outcome=GrowthOutcome.CLEARED, sentence=f"three repeat cycles in a row passed: {names}")
    return Confirmation(
        outcome=GrowthOutcome.QUARANTINE,
        sentence=f"spore test {growth.test} grew in load {growth.load}; three repeat cycles are not read yet",
    )


def _recall(why: str) -> Confirmation:
    return Confirmation(outcome=GrowthOutcome.RECALL, sentence=why)


class EvidenceState(StrEnum):
    """What spore tests say about a load, as of its time and with what is known today."""

    PASSED = "passed"
    MISSING = "missing"
    FAILED = "failed"
    SUSPECT = "suspect"
    """A growth reaches it that repeat cycles have to confirm; kept back meanwhile."""
    INCUBATING = "incubating"
    UNTESTED = "untested"
    """It ran after installation, repair or move, before a test had passed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """What spore tests say about one load."""

    state: EvidenceState
    """The answer."""
    sentence: str
    """The same in words, with the tests that it rests on."""
    rode_along: bool = False
    """A test rode along in this very load (and, where the state is passed, passed)."""
    in_reference_tube: bool = False
    """One that rode along sat inside a tube of the same fill (and, where the state is passed, passed)."""


def evidence_at(
    load: str, at: datetime, history: History, policy: SporePolicy, *, is_protected: bool = False
) -> Evidence:
    """Say what spore tests say about a load, as of its time and with what is known today.

    A test that is overdue today spoils nothing: a load is judged by the tests around its own time.

    Args:
        load: the load's number.
        at: when it started.
        history: all that is known today of its steriliser and cycle kind.
        policy: the practice's.
        is_protected: it is asked for a client of protected care, for whom any growth counts at once.
    """
    own = tuple(test for test in history.tests if test.load == load)
    against = _growth_against(load, at, history, policy, is_protected=is_protected)
    if against is not None:
        return against
    riding = _riding(own)
    if riding is not None:
        return riding
    change = _untested_since(at, history)
    if change is not None:
        return _evidence(
            EvidenceState.UNTESTED,
            f"the steriliser was {change.kind.value} on {_day(change.at, policy)}, and no spore test had passed since",
        )
    return _bracketed(at, history, policy)


def _growth_against(
    load: str, at: datetime, history: History, policy: SporePolicy, *, is_protected: bool
) -> Evidence | None:
    """Return what growths say against a load: the worst of them; None if none reaches it."""
    found: list[Evidence] = []
    for growth in history.with_result(SporeResult.GROWTH):
        said = f"spore test {growth.test} in load {growth.load} grew"
        reach = affected_interval(growth, history)
        if growth.load == load:
            found.append(_evidence(EvidenceState.FAILED, f"{said}: this very load"))
        elif reach.holds(load, at):
            words = f"{said}; affected: after {reach.after.name}, until {reach.before.name}"
            found += _reached(growth, history, policy, words, is_protected=is_protected)
    failed = (one for one in found if one.state is EvidenceState.FAILED)
    return next(failed, found[0] if found else None)


def _reached(
    growth: RodeAlong, history: History, policy: SporePolicy, words: str, *, is_protected: bool
) -> list[Evidence]:
    if policy.growth is GrowthPolicy.STRICT:
        return [_evidence(EvidenceState.FAILED, words)]
    confirmation = confirm_first(growth, history, is_protected=is_protected)
    if confirmation.outcome is GrowthOutcome.CLEARED:
        return []
    is_recall = confirmation.outcome is GrowthOutcome.RECALL
    state = EvidenceState.FAILED if is_recall else EvidenceState.SUSPECT
    return [_evidence(state, f"{words}; {confirmation.sentence}")]


def _riding(own: Iterable[RodeAlong]) -> Evidence | None:
    """Return what the tests in the load itself say; an invalid one says nothing."""
    telling = [test for test in own if test.result is not SporeResult.INVALID]
    if not telling:
        return None
    waiting = [test for test in telling if test.result is None]
    chosen = waiting or telling
    words = "is still incubating" if waiting else "passed"
    names = ", ".join(test.test for test in chosen)
    return Evidence(
        state=EvidenceState.INCUBATING if waiting else EvidenceState.PASSED,
        sentence=f"spore test {names}, which rode along, {words}",
        rode_along=True,
        in_reference_tube=any(test.in_reference_tube for test in chosen),
    )


def _untested_since(at: datetime, history: History) -> Change | None:
    """Return the installation, repair or move since which no test had passed when the load ran."""
    changes = [change for change in history.changes if change.kind in NEEDS_TEST and change.at <= at]
    if not changes:
        return None
    last = history.last_pass_before(at)
    return changes[-1] if last is None or last.load_at < changes[-1].at else None


def _bracketed(at: datetime, history: History, policy: SporePolicy) -> Evidence:
    """Judge a load by the passed tests around it; a late test after it still brackets it."""
    last, following = history.last_pass_before(at), history.first_pass_after(at)
    waiting = [test for test in history.tests if test.result is None]
    if last is None:
        if any(test.load_at <= at for test in waiting):
            return _evidence(EvidenceState.INCUBATING, "the first spore test before this load is still incubating")
        return _evidence(EvidenceState.MISSING, "no spore test of this steriliser and cycle kind had passed before")
    before = f"spore test {last.test} in load {last.load} passed before"
    if following is not None and not _needs_test_between(last.load_at, following.load_at, history):
        after = f"spore test {following.test} in load {following.load} after"
        return _evidence(EvidenceState.PASSED, f"{before} and {after}")
    if _day(at, policy) <= _day(last.load_at, policy) + timedelta(days=policy.interval_days):
        return _evidence(EvidenceState.PASSED, before)
    between = next((test for test in waiting if test.load_at > last.load_at), None)
    if between is not None:
        return _evidence(EvidenceState.INCUBATING, f"{before}; spore test {between.test} is still incubating")
    gap = (_day(at, policy) - _day(last.load_at, policy)).days
    return _evidence(EvidenceState.MISSING, f"{before}, {gap} days earlier; the policy allows {policy.interval_days}")


def _needs_test_between(first: datetime, last: datetime, history: History) -> bool:
    """Say whether something between two tests makes the later one say nothing of the time before."""
    return any(first < change.at < last for change in history.changes if change.kind in NEEDS_TEST)


def _evidence(state: EvidenceState, sentence: str) -> Evidence:
    return Evidence(state=state, sentence=sentence)


def _day(at: datetime, policy: SporePolicy) -> date:
    return at.astimezone(policy.zone).date()


@dataclass(frozen=True, slots=True, kw_only=True)
class Due:
    """When the next spore test of a process is due."""

    on: date | None
    """The day; None for before anything else runs."""
    sentence: str
    """Why."""


def next_due(history: History, policy: SporePolicy) -> Due:
    """Return when the next spore test of a steriliser and cycle kind is due.

    A test that still incubates counts as taken; one that grew or was invalid does not.
    """
    taken = [test for test in history.tests if test.result in {None, SporeResult.NO_GROWTH}]
    open_growth = next(
        (
            growth
            for growth in reversed(history.with_result(SporeResult.GROWTH))
            if three_passes(history, after=growth.load_at) is None
        ),
        None,
    )
    if open_growth is not None:
        return Due(on=None, sentence=f"spore test {open_growth.test} grew: three consecutive passes are needed")
    if not taken:
        return Due(on=None, sentence="no spore test of this steriliser and cycle kind was ever taken")
    changes = [change for change in history.changes if change.kind in NEEDS_TEST and change.at > taken[-1].load_at]
    if changes:
        day = _day(changes[-1].at, policy)
        return Due(on=None, sentence=f"{changes[-1].kind.value} on {day}: untested since")
    day = _day(taken[-1].load_at, policy) + timedelta(days=policy.interval_days)
    return Due(on=day, sentence=f"{policy.interval_days} days after spore test {taken[-1].test}")
