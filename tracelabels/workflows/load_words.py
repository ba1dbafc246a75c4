"""The account of a load in words: in a few beside its name, and at length."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import tzinfo
from typing import Final

from tracelabels.custody import (
    Decision,
    IndicatorReading,
    IndicatorResult,
    LoadReadings,
    Name,
    Outcome,
    PouchState,
    ReadingsVerdict,
    Release,
    Unloaded,
)
from tracelabels.sterilization import Evidence, EvidenceState, RodeAlong, SporeResult
from tracelabels.words import in_words, local_minute, some
from tracelabels.workflows.load_accounts import LoadAccount, Signed

Row = tuple[str, str]
"""What is told, and the words."""

_DECIDED: Final = {
    Decision.RELEASED: "released",
    Decision.REJECTED: "rejected",
    Decision.QUARANTINE: "in quarantine",
}
_RESULTS: Final = {
    SporeResult.NO_GROWTH: "passed (no growth)",
    SporeResult.GROWTH: "GREW",
    SporeResult.INVALID: "was invalid",
    None: "is still incubating",
}


def say_result(test: RodeAlong) -> str:
    """Say in a word or two what a spore test showed."""
    return _RESULTS[test.result].removeprefix("is ").removeprefix("was ")


def fate_of_load(account: LoadAccount) -> str:
    """Say what became of a load: decided so or so, by the last decision; an early release is called one."""
    if account.end is not None and account.end.outcome is Outcome.ABORTED:
        return "aborted"
    decided = account.decision
    if decided is None:
        return "nothing decided"
    if decided.value.is_early:
        return "released EARLY"
    words = _DECIDED[decided.value.decision]
    left_out = len(decided.value.excepted)
    return f"{words} without {left_out} {'pouch' if left_out == 1 else 'pouches'}" if left_out else words


def marks_of_load(account: LoadAccount) -> tuple[str, ...]:
    """Say in a few words what its readings, its indicators and spore tests say of a load."""
    spores = _state(account.spores.today)
    return (f"readings {_verdict(account)}", f"indicators: {_turned(account)}", f"spore tests today: {spores}")


def marks_of_pouches(account: LoadAccount) -> dict[Name, tuple[str, ...]]:
    """Say what speaks against single pouches of a load: how they came out, that the release leaves them out."""
    found: dict[Name, tuple[str, ...]] = {
        one.pouch: (f"came out {in_words(one.state)}",) for one in account.unloaded if one.state is not PouchState.SOUND
    }
    excepted = account.decision.value.excepted if account.decision else ()
    for pouch in excepted:
        found[pouch] = (*found.get(pouch, ()), "left out of the release")
    return found


def rows_of_load(account: LoadAccount, zone: tzinfo) -> Iterator[Row]:
    """Tell all that is on record about a load, in order."""
    yield "ran", _ran(account, zone)
    if account.end is not None:
        note = f" ({account.end.note})" if account.end.note else ""
        yield "ended", f"{local_minute(account.end.at, zone)}, {account.end.outcome.value}{note}"
    else:
        yield "ended", "nobody entered how"
    yield "readings", _readings(account)
    yield "indicators", _indicators(account)
    yield "came out", _came_out(account.unloaded)
    yield from _spore_rows(account, zone)
    yield from _decision_rows(account, zone)


def _ran(account: LoadAccount, zone: tzinfo) -> str:
    load = account.load
    set_to = f"{load.programme} ({load.temperature_c.normalize():f} \N{DEGREE SIGN}C, {load.hold_minutes:f} min)"
    count = f"{load.counted} {'pouch' if load.counted == 1 else 'pouches'}"
    return (
        f"{local_minute(load.started_at, zone)} in {load.steriliser}, {in_words(load.cycle_kind)}, "
        f"{set_to}, {load.goods.value} goods, {count}, by {load.operator}"
    )


def _corrected(signed: "Signed[LoadReadings] | Signed[Release]") -> str:
    return f", corrected by {signed.corrected_by}" if signed.corrected_by else ""


def _readings(account: LoadAccount) -> str:
    if not account.readings:
        return "none on record"
    return f"{_verdict(account)}: " + "; ".join(_reading(one) for one in account.readings)


def _verdict(account: LoadAccount) -> str:
    verdict = in_words(account.verdict)
    if not account.readings:
        return "none on record"
    return verdict if account.verdict is ReadingsVerdict.MET else verdict.upper()


def _reading(signed: "Signed[LoadReadings]") -> str:
    """Say what one set of readings says; who judged it stands among its reasons, where a person did."""
    one = signed.value
    entered = (
        ""
        if f"judged by {signed.by}" in one.reasons and not signed.corrected_by
        else f", entered by {signed.by}{_corrected(signed)}"
    )
    verdict = f"{one.source.value} ({in_words(one.probe)}) {in_words(one.verdict)}"
    computed = (f"computed: {in_words(one.computed)}",) if one.computed else ()
    return ", ".join((verdict, *computed, *one.reasons)) + entered


def _turned(account: LoadAccount) -> str:
    count = len(account.load.pouches)
    against = [one for one in account.indicators_of_load if one.result is not IndicatorResult.TURNED]
    whole = f"{in_words(against[0].result)} for the load" if against else ""
    own = f"{len(account.turned)} of {count} turned" if count else ""
    return ", ".join(one for one in (own, whole) if one) or ("turned" if account.indicators_of_load else "none read")


def _indicators(account: LoadAccount) -> str:
    said = [f"{len(account.turned)} of {len(account.load.pouches)} pouches turned"] if account.load.pouches else []
    said += [_indicator(one) for one in account.indicators if one.pouch in account.not_turned]
    if account.unread:
        said.append(f"not read: {some(one.text for one in account.unread)}")
    said += [f"for the load ({in_words(one.place)}): {in_words(one.result)}" for one in account.indicators_of_load]
    return "; ".join(said) or "none read"


def _indicator(one: IndicatorReading) -> str:
    return f"{one.pouch} ({in_words(one.place)}): {in_words(one.result)}"


def _came_out(unloaded: Sequence[Unloaded]) -> str:
    sound = sum(one.state is PouchState.SOUND for one in unloaded)
    bad = [
        f"{one.pouch} {in_words(one.state)}{f' ({one.note})' if one.note else ''}"
        for one in unloaded
        if one.state is not PouchState.SOUND
    ]
    return "; ".join([f"{sound} sound", *bad]) if unloaded else "nothing was scanned out"


def _spore_rows(account: LoadAccount, zone: tzinfo) -> Iterator[Row]:
    spores = account.spores

    def told(test: RodeAlong) -> str:
        read = f", read {local_minute(test.read_at, zone)}" if test.read_at else ""
        return f"{test.test} in load {test.load} ({local_minute(test.load_at, zone)}) {_RESULTS[test.result]}{read}"

    yield "spore test before", told(spores.before) if spores.before else "none on record"
    yield "spore test in it", "; ".join(told(one) for one in spores.rode_along) or "none rode along"
    yield "spore test after", told(spores.after) if spores.after else "none on record yet"
    yield "evidence at start", _evidence(spores.at_start)
    if spores.at_decision is not None:
        yield "evidence when decided", _evidence(spores.at_decision)
    yield "evidence today", _evidence(spores.today)
    if spores.protected.state is not spores.today.state:
        yield "for protected care", _evidence(spores.protected)


def _evidence(evidence: Evidence) -> str:
    return f"{_state(evidence)}: {evidence.sentence}"


def _state(evidence: Evidence) -> str:
    """Say what the evidence is, in capitals where it speaks against a load."""
    state = in_words(evidence.state)
    return state if evidence.state is EvidenceState.PASSED else state.upper()


def _decision_rows(account: LoadAccount, zone: tzinfo) -> Iterator[Row]:
    if not account.decisions:
        yield "decision", "none on record"
        return
    *before, last = account.decisions
    for one in before:
        yield "decided before", _decision(one, zone)
    yield "decision", _decision(last, zone)


def _decision(signed: "Signed[Release]", zone: tzinfo) -> str:
    one = signed.value
    early = " EARLY, while a spore test was incubating," if one.is_early else ""
    second = f" with {one.second}" if one.second else ""
    left_out = f"; without {_pouches(one.excepted)}" if one.excepted else ""
    why = f"; {'; '.join(one.reasons)}" if one.reasons else ""
    who = f"{signed.by}{second}{_corrected(signed)}"
    return f"{_DECIDED[one.decision]}{early} {local_minute(one.at, zone)} by {who}{left_out}{why}"


def _pouches(names: Iterable[Name]) -> str:
    listed = [one.text for one in names]
    return f"{'pouch' if len(listed) == 1 else 'pouches'} {some(listed)}"
