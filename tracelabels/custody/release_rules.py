"""May this load be released? Every reason is given; nothing here says that anything is sterile.

Readings met, everything scanned out, indicators recorded, spore evidence as of the load's time, and who decides.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from tracelabels.custody.load_rules import reason_not_ended
from tracelabels.custody.loads import (
    Goods,
    IndicatorReading,
    IndicatorResult,
    Load,
    LoadEnd,
    LoadReadings,
    Outcome,
    PouchState,
    ReadingsVerdict,
    Unloaded,
)
from tracelabels.custody.names import Name
from tracelabels.custody.processing import SPORES_AGAINST, standing_indicators, verdict_of_readings
from tracelabels.custody.reasons import Reason, ReasonKind
from tracelabels.custody.releases import Decision, Hold, Release
from tracelabels.sterilization import Evidence, EvidenceState
from tracelabels.words import in_words, some


@dataclass(frozen=True, slots=True, kw_only=True)
class ReleasePolicy:
    """What the practice has decided about releases."""

    needs_second: bool = False
    """A second person takes part."""
    early_release: bool = False
    """A load may be released while its spore test incubates."""
    who: frozenset[str] = frozenset()
    """Opaque ids of staff who may release; nobody named: everybody."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadAtRelease:
    """What is known of a load when a decision about it is to be made."""

    load: Load
    """The load."""
    end: LoadEnd | None
    """How it ended; None if nobody entered it."""
    readings: tuple[LoadReadings, ...]
    """Its readings."""
    unloaded: tuple[Unloaded, ...]
    """Pouches scanned out."""
    indicators: tuple[IndicatorReading, ...]
    """Indicators read, in the order read."""
    evidence: Evidence
    """What spore tests say of it."""
    holds: tuple[Hold, ...]
    """Holds on the load or its steriliser, not lifted."""
    held: frozenset[Name]
    """Pouches that are held by themselves."""
    release: Release | None
    """The last decision about it; None if there is none."""


def release_reasons(known: LoadAtRelease, policy: ReleasePolicy, *, by: str, second: str | None) -> tuple[Reason, ...]:
    """Return every reason against releasing a load now.

    Args:
        known: what is known of it.
        policy: the practice's.
        by: who releases.
        second: the second person, if one takes part.
    """
    return (
        *_people_reasons(policy, by=by, second=second),
        *_end_reasons(known),
        *_unloading_reasons(known),
        *_readings_reasons(known),
        *_indicator_reasons(known),
        *_spore_reasons(known, policy),
        *_decided_reasons(known),
    )


def excepted_pouches(known: LoadAtRelease) -> dict[Name, str]:
    """Return the pouches that a release leaves out whatever else is decided, each with the reason.

    Not sound at unloading, its own indicator not turned, or held by itself.
    """
    found = dict.fromkeys(sorted(known.held), "kept back by a hold")
    for reading in standing_indicators(known.indicators):
        if reading.pouch is not None and reading.result is not IndicatorResult.TURNED:
            found[reading.pouch] = f"its indicator is {in_words(reading.result)}"
    for one in known.unloaded:
        if one.state is not PouchState.SOUND:
            found[one.pouch] = f"came out {in_words(one.state)}"
    return {pouch: found[pouch] for pouch in known.load.pouches if pouch in found}


def is_early(known: LoadAtRelease) -> bool:
    """Say whether a release now would be an early one: a spore test is still incubating."""
    return known.evidence.state is EvidenceState.INCUBATING


def _people_reasons(policy: ReleasePolicy, *, by: str, second: str | None) -> Iterator[Reason]:
    if policy.who and by not in policy.who:
        named = ", ".join(sorted(policy.who))
        yield Reason(kind=ReasonKind.MAY_NOT_RELEASE, sentence=f"{by} may not release loads; these may: {named}")
    if policy.needs_second and second is None:
        yield Reason(kind=ReasonKind.SECOND_PERSON, sentence="the practice asks for a second person at every release")
    if second is not None and second == by:
        yield Reason(kind=ReasonKind.SECOND_PERSON, sentence=f"the second person is the first one, {by}")


def _end_reasons(known: LoadAtRelease) -> Iterator[Reason]:
    if known.end is None:
        yield reason_not_ended(known.load)
    elif known.end.outcome is not Outcome.COMPLETE:
        sentence = f"load {known.load.number} was {known.end.outcome.value}"
        yield Reason(kind=ReasonKind.LOAD_NOT_COMPLETE, sentence=sentence)


def _unloading_reasons(known: LoadAtRelease) -> Iterator[Reason]:
    out, pouches, left_out = {one.pouch for one in known.unloaded}, known.load.pouches, excepted_pouches(known)
    missing = [one for one in pouches if one not in out]
    if missing:
        sentence = f"not scanned out of load {known.load.number}: {_named(missing)}"
        yield Reason(kind=ReasonKind.NOT_UNLOADED, sentence=sentence)
    elif pouches and all(one in left_out for one in pouches):
        sentence = f"no pouch of load {known.load.number} came out sound, turned and free of holds; reject it"
        yield Reason(kind=ReasonKind.NOTHING_LEFT, sentence=sentence)


def _readings_reasons(known: LoadAtRelease) -> Iterator[Reason]:
    verdict = verdict_of_readings(known.load, known.readings, known.evidence)
    if verdict is ReadingsVerdict.MET:
        return
    if not known.readings:
        sentence = f"no readings of load {known.load.number} are on record"
    elif verdict is ReadingsVerdict.NOT_MET:
        sentence = f"the readings of load {known.load.number} do not meet its programme"
    elif known.load.goods is Goods.LIQUID:
        sentence = (
            "cannot tell: readings of the chamber say nothing of the inside of a closed tube; a probe or a spore test "
            "in a reference tube of the same fill is needed"
        )
    else:
        sentence = f"cannot tell whether the readings of load {known.load.number} meet its programme"
    yield Reason(kind=ReasonKind.READINGS_NOT_MET, sentence=sentence)


def _indicator_reasons(known: LoadAtRelease) -> Iterator[Reason]:
    latest = standing_indicators(known.indicators)
    read = {one.pouch for one in latest if one.pouch is not None}
    left_out = excepted_pouches(known)
    missing = [one for one in known.load.pouches if one not in read and one not in left_out]
    if missing:
        yield Reason(kind=ReasonKind.INDICATOR_MISSING, sentence=f"no indicator was read of {_named(missing)}")
    failed = [one for one in latest if one.pouch is None and one.result is not IndicatorResult.TURNED]
    if failed:
        words = in_words(failed[-1].result)
        sentence = f"the indicator that stands for load {known.load.number} is {words}"
        yield Reason(kind=ReasonKind.INDICATOR_FAILED, sentence=sentence)
    if not known.load.pouches and not latest:
        sentence = f"no indicator of load {known.load.number} was read"
        yield Reason(kind=ReasonKind.INDICATOR_MISSING, sentence=sentence)


def _spore_reasons(known: LoadAtRelease, policy: ReleasePolicy) -> Iterator[Reason]:
    kind = SPORES_AGAINST.get(known.evidence.state)
    if kind is None or (kind is ReasonKind.SPORES_INCUBATING and policy.early_release):
        return
    more = "; keep the load in quarantine until it is read" if kind is ReasonKind.SPORES_INCUBATING else ""
    yield Reason(kind=kind, sentence=f"{known.evidence.sentence}{more}")


def _decided_reasons(known: LoadAtRelease) -> Iterator[Reason]:
    if known.release is not None and known.release.decision is Decision.REJECTED:
        sentence = f"load {known.load.number} was rejected; correct that decision first, if it was wrong"
        yield Reason(kind=ReasonKind.REJECTED, sentence=sentence)
    for hold in known.holds:
        sentence = f"load {known.load.number} is kept back by hold {hold.number} ({hold.reason})"
        yield Reason(kind=ReasonKind.HELD, sentence=sentence)


def _named(pouches: Sequence[Name]) -> str:
    return f"{'pouch' if len(pouches) == 1 else 'pouches'} {some(one.text for one in pouches)}"
