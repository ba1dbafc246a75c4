"""May a steriliser be used? Whether it is in service, whether it was tested, what the day's tests say.

Sources: CDC Guideline 2008, Table 12 (out of service after growth; three consecutive passes before return); Toronto
Public Health and California HSC 119315 (tests after installation, repair, move). A passed air-removal test on each day
of use is common practice for cycles with air removal.
"""

from collections.abc import Collection
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
    last = _last(record, at, {SteriliserEventKind.TAKEN_OUT, SteriliserEventKind.RETURNED})
    return last if last is not None and last.event is SteriliserEventKind.TAKEN_OUT else None


def is_returned_since(record: ServiceRecord, at: datetime) -> bool:
    """Say whether a return to service is on record at a moment or after it."""
    return any(
        one.event is SteriliserEventKind.RETURNED and one.at >= at and one.cycle_kind in {None, record.cycle_kind}
        for one in record.events
    )


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
    change = _last(record, at, NEED_NEW_TESTS)
    if change is None:
        return None
    last = record.history.last_pass_before(at)
    return change if last is None or last.load_at < change.at else None


def daily_test_reasons(record: ServiceRecord, at: datetime, zone: tzinfo) -> tuple[Reason, ...]:
    """Return what the air-removal test of the day says against a cycle with air removal.

    A test that failed and was not passed since says so on any day; a passed one counts on its own day only.
    """
    if record.cycle_kind is not CycleKind.AIR_REMOVAL:
        return ()
    day = at.astimezone(zone).date()
    last = _last(record, at, {SteriliserEventKind.AIR_REMOVAL_TEST})
    if last is not None and last.passed is not True:
        sentence = f"the last air-removal test of steriliser {record.steriliser.code} failed ({_day(last, zone)})"
        return (Reason(kind=ReasonKind.DAILY_TEST, sentence=sentence),)
    if last is None or _day(last, zone) != day:
        sentence = f"no passed air-removal test of steriliser {record.steriliser.code} is on record for {day}"
        return (Reason(kind=ReasonKind.DAILY_TEST, sentence=sentence),)
    return ()


def daily_test_failed(record: ServiceRecord, at: datetime) -> bool:
    """Say whether the last air-removal test failed, which no policy passes over."""
    last = _last(record, at, {SteriliserEventKind.AIR_REMOVAL_TEST})
    return record.cycle_kind is CycleKind.AIR_REMOVAL and last is not None and last.passed is not True


def return_reasons(record: ServiceRecord, at: datetime) -> tuple[Reason, ...]:
    """Return every reason against returning a steriliser to service for one kind of cycle.

    Three consecutive spore tests have to pass, with loads after it was taken out and after the last growth; what ran or
    was read only after the moment of the return does not count.
    """
    out = taken_out(record, at)
    if out is None:
        sentence = f"steriliser {record.steriliser.code} is not out of service"
        return (Reason(kind=ReasonKind.OUT_OF_SERVICE, sentence=sentence),)
    grown = [test.load_at for test in record.history.with_result(SporeResult.GROWTH) if test.load_at <= at]
    since = max([out.at, *grown])
    history = record.history.as_of(at)
    if three_passes(history, after=since) is not None:
        return ()
    passed = [test for test in history.with_result(SporeResult.NO_GROWTH) if test.load_at > since]
    kind = in_words(record.cycle_kind)
    sentence = (
        f"{CONSECUTIVE} consecutive passed spore tests of {kind} cycles are needed since it was taken out; "
        f"on record: {len(passed)} passed"
    )
    return (Reason(kind=ReasonKind.TESTS_MISSING, sentence=sentence),)


def _last(record: ServiceRecord, at: datetime, kinds: Collection[SteriliserEventKind]) -> SteriliserEvent | None:
    """Return its last event of some kinds until a moment; of those at the same moment the one recorded last."""
    found = [
        one
        for one in record.events
        if one.event in kinds and one.at <= at and one.cycle_kind in {None, record.cycle_kind}
    ]
    return max(reversed(found), key=lambda one: one.at, default=None)


def _day(event: SteriliserEvent, zone: tzinfo) -> date:
    return event.at.astimezone(zone).date()


def _said(note: str | None) -> str:
    return "" if note is None else f" ({note})"
