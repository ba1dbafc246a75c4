"""May a steriliser be used? Whether it is in service, whether it was tested, what the day's tests say.

Sources: CDC Guideline 2008, Table 12 (out of service after growth; three consecutive passes before return); Toronto
Public Health and California HSC 119315 (tests after installation, repair, move). A passed air-removal test on each day
of use is common practice for cycles with air removal.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, tzinfo

from tracelabels.custody.reasons import Reason, ReasonKind
from tracelabels.custody.sterilisers import NEED_NEW_TESTS, CycleKind, Steriliser, SteriliserEvent, SteriliserEventKind
from tracelabels.sterilization import CONSECUTIVE, History, SporeResult, three_passes
from tracelabels.words import in_words


@dataclass(frozen=True, slots=True, kw_only=True)
class ServiceRecord:
    """What is known of a steriliser and one kind of its cycles when a load is to start."""

    steriliser: Steriliser
    """The steriliser."""
    cycle_kind: CycleKind
    """The kind of cycle."""
    events: tuple[SteriliserEvent, ...]
    """Everything done to it and tested on it."""
    history: History
    """Its spore tests."""


def taken_out(record: ServiceRecord, at: datetime) -> SteriliserEvent | None:
    """Return what took it out of service, if it has not been returned since; as of a moment."""
    about = _events(record, at, {SteriliserEventKind.TAKEN_OUT, SteriliserEventKind.RETURNED})
    return about[-1] if about and about[-1].event is SteriliserEventKind.TAKEN_OUT else None


def service_reasons(record: ServiceRecord, at: datetime, *, is_test: bool, has_pouches: bool) -> tuple[Reason, ...]:
    """Return every reason against running such a cycle, apart from the day's tests.

    Args:
        record: what is known.
        at: when the load starts.
        is_test: a spore test rides along.
        has_pouches: the load holds pouches.
    """
    code, kind = record.steriliser.code, in_words(record.cycle_kind)
    reasons = []
    if record.cycle_kind not in record.steriliser.cycle_kinds:
        known = ", ".join(in_words(one) for one in record.steriliser.cycle_kinds)
        sentence = f"steriliser {code} runs {known}, not {kind}"
        reasons.append(Reason(kind=ReasonKind.CYCLE_UNKNOWN, sentence=sentence))
    out = taken_out(record, at)
    if out is not None and not (is_test and not has_pouches):
        sentence = (
            f"steriliser {code} is out of service{_said(out.note)}; until it is returned it runs only test loads: "
            "with a spore test, and without pouches"
        )
        reasons.append(Reason(kind=ReasonKind.OUT_OF_SERVICE, sentence=sentence))
    untested = untested_since(record, at)
    if untested is not None and not is_test:
        sentence = (
            f"steriliser {code} was {untested.event.value} and no spore test of {kind} cycles has passed since; "
            "until then a spore test rides along in every load"
        )
        reasons.append(Reason(kind=ReasonKind.UNTESTED, sentence=sentence))
    return tuple(reasons)


def untested_since(record: ServiceRecord, at: datetime) -> SteriliserEvent | None:
    """Return the installation, repair or move since which no spore test of this cycle kind has passed."""
    changes = _events(record, at, NEED_NEW_TESTS)
    if not changes:
        return None
    last = record.history.last_pass_before(at)
    return changes[-1] if last is None or last.load_at < changes[-1].at else None


def daily_test_reasons(record: ServiceRecord, at: datetime, zone: tzinfo) -> tuple[Reason, ...]:
    """Return what the air-removal test of the day says against a cycle with air removal.

    A test that failed and was not passed since says so on any day; a passed one counts on its own day only.
    """
    if record.cycle_kind is not CycleKind.AIR_REMOVAL:
        return ()
    day = at.astimezone(zone).date()
    tests = _events(record, at, {SteriliserEventKind.AIR_REMOVAL_TEST})
    last = tests[-1] if tests else None
    if last is not None and last.passed is not True:
        sentence = f"the last air-removal test of steriliser {record.steriliser.code} failed ({_day(last, zone)})"
        return (Reason(kind=ReasonKind.DAILY_TEST, sentence=sentence),)
    if last is None or _day(last, zone) != day:
        sentence = f"no passed air-removal test of steriliser {record.steriliser.code} is on record for {day}"
        return (Reason(kind=ReasonKind.DAILY_TEST, sentence=sentence),)
    return ()


def daily_test_failed(record: ServiceRecord, at: datetime) -> bool:
    """Say whether the last air-removal test failed, which no policy passes over."""
    tests = _events(record, at, {SteriliserEventKind.AIR_REMOVAL_TEST})
    return record.cycle_kind is CycleKind.AIR_REMOVAL and bool(tests) and tests[-1].passed is not True


def return_reasons(record: ServiceRecord, at: datetime) -> tuple[Reason, ...]:
    """Return every reason against returning a steriliser to service for one kind of cycle.

    Three consecutive spore tests have to pass, with loads after it was taken out and after the last growth.
    """
    out = taken_out(record, at)
    if out is None:
        sentence = f"steriliser {record.steriliser.code} is not out of service"
        return (Reason(kind=ReasonKind.OUT_OF_SERVICE, sentence=sentence),)
    grown = [test.load_at for test in record.history.with_result(SporeResult.GROWTH) if test.load_at <= at]
    since = max([out.at, *grown])
    if three_passes(record.history, after=since) is not None:
        return ()
    passed = [test for test in record.history.with_result(SporeResult.NO_GROWTH) if test.load_at > since]
    kind = in_words(record.cycle_kind)
    sentence = (
        f"{CONSECUTIVE} consecutive passed spore tests of {kind} cycles are needed since it was taken out; "
        f"on record: {len(passed)} passed"
    )
    return (Reason(kind=ReasonKind.TESTS_MISSING, sentence=sentence),)


def _events(record: ServiceRecord, at: datetime, kinds: Iterable[SteriliserEventKind]) -> Sequence[SteriliserEvent]:
    """Return its events of some kinds until a moment, oldest first; those recorded later last among equals."""
    wanted = frozenset(kinds)
    found = [
        one
        for one in record.events
        if one.event in wanted and one.at <= at and one.cycle_kind in {None, record.cycle_kind}
    ]
    return sorted(found, key=lambda one: one.at)


def _day(event: SteriliserEvent, zone: tzinfo) -> date:
    return event.at.astimezone(zone).date()


def _said(note: str | None) -> str:
    return "" if note is None else f" ({note})"
