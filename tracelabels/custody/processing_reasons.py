"""What speaks against a pouch from its processing: load, readings, indicators, spore tests, release, holds.

Fails closed: what is not on record counts against use. Protected care asks for a spore test (biological indicator, BI)
that rode along in the very load and passed.
"""

from collections.abc import Iterator

from tracelabels.custody.content_reasons import hold_reasons
from tracelabels.custody.loads import Goods, IndicatorResult, Load, Outcome, PouchState, ReadingsVerdict
from tracelabels.custody.processing import SPORES_AGAINST, ProcessingRecord, standing_indicators
from tracelabels.custody.reasons import Reason, ReasonKind
from tracelabels.custody.releases import Decision
from tracelabels.custody.sterilisers import CycleKind
from tracelabels.sterilization import Evidence, EvidenceState
from tracelabels.words import in_words


def processing_reasons(
    record: ProcessingRecord | None, *, holds_liquid: bool, holds_solids: bool, is_protected: bool
) -> tuple[Reason, ...]:
    """Return every reason against a pouch, or what lies in it, from its processing.

    Args:
        record: what is known of its processing; None for a thing that lies in no pouch.
        holds_liquid: tubes in it were filled before processing.
        holds_solids: instruments or empty tubes are in it.
        is_protected: protected care is asked for, or the care level is not known.
    """
    if record is None:
        return (
            _reason(ReasonKind.NOT_RELEASED, "no release of its steriliser load is recorded"),
            _reason(ReasonKind.NOT_PROCESSED, "it lies in no pouch that is on record"),
        )
    load = record.load
    if load is None:
        return (
            _reason(ReasonKind.NOT_RELEASED, "no release of its steriliser load is recorded"),
            _reason(ReasonKind.NOT_PROCESSED, "it went into no steriliser load that is on record"),
            *hold_reasons(record.holds),
        )
    return (
        *_release_reasons(record, load),
        *hold_reasons(record.holds),
        *_end_reasons(record, load),
        *_goods_reasons(load, holds_liquid=holds_liquid, holds_solids=holds_solids),
        *_readings_reasons(record, load),
        *_indicator_reasons(record, load),
        *_spore_reasons(record, load, is_protected=is_protected),
    )


def _release_reasons(record: ProcessingRecord, load: Load) -> Iterator[Reason]:
    decided = record.release
    if decided is None:
        yield _reason(ReasonKind.NOT_RELEASED, "no release of its steriliser load is recorded")
    elif decided.decision is Decision.REJECTED:
        yield _reason(ReasonKind.REJECTED, f"its load {load.number} was rejected{_why(decided.reasons)}")
    elif decided.decision is Decision.QUARANTINE:
        yield _reason(ReasonKind.QUARANTINED, f"its load {load.number} is in quarantine{_why(decided.reasons)}")
    elif record.pouch in decided.excepted:
        sentence = f"the release of load {load.number} leaves this very pouch out"
        yield _reason(ReasonKind.EXCEPTED, sentence)


def _why(reasons: tuple[str, ...]) -> str:
    return f": {'; '.join(reasons)}" if reasons else ""


def _end_reasons(record: ProcessingRecord, load: Load) -> Iterator[Reason]:
    if record.end is None:
        yield _reason(ReasonKind.LOAD_NOT_COMPLETE, f"nobody entered how its load {load.number} ended")
    elif record.end.outcome is not Outcome.COMPLETE:
        yield _reason(ReasonKind.LOAD_NOT_COMPLETE, f"its load {load.number} was {record.end.outcome.value}")
    out = record.unloaded
    if out is None:
        yield _reason(ReasonKind.NOT_UNLOADED, f"it was not scanned out of its load {load.number}")
    elif out.state is not PouchState.SOUND:
        seen = f" ({out.note})" if out.note else ""
        sentence = f"it was rejected at unloading: {in_words(out.state)}{seen}"
        yield _reason(ReasonKind.CAME_OUT_BAD, sentence)


def _goods_reasons(load: Load, *, holds_liquid: bool, holds_solids: bool) -> Iterator[Reason]:
    """A load for one kind of goods is never evidence for another; type N takes no pouches (EN 13060)."""
    if load.cycle_kind is CycleKind.TYPE_N or load.goods is Goods.UNWRAPPED:
        sentence = f"its load {load.number} was for unwrapped goods, and not for pouches"
        yield _reason(ReasonKind.WRONG_GOODS, sentence)
    is_liquid = load.goods is Goods.LIQUID and load.cycle_kind is CycleKind.LIQUID
    if holds_liquid and not is_liquid:
        sentence = f"its load {load.number} was for {load.goods.value} goods, which is no evidence for a filled tube"
        yield _reason(ReasonKind.WRONG_GOODS, sentence)
    if holds_solids and load.goods is Goods.LIQUID:
        sentence = f"its load {load.number} was for liquids, and not for instruments or empty tubes"
        yield _reason(ReasonKind.WRONG_GOODS, sentence)


def _readings_reasons(record: ProcessingRecord, load: Load) -> Iterator[Reason]:
    verdict = record.readings_verdict
    if verdict is ReadingsVerdict.MET:
        return
    if not record.readings:
        sentence = f"no readings of its load {load.number} are on record"
    elif verdict is ReadingsVerdict.NOT_MET:
        sentence = f"the readings of its load {load.number} do not meet the programme"
    elif load.goods is Goods.LIQUID:
        sentence = (
            f"cannot tell: the readings of load {load.number} say nothing of the inside of a closed tube; a probe or a "
            "spore test in a reference tube of the same fill is needed"
        )
    else:
        sentence = f"cannot tell whether the readings of its load {load.number} meet the programme"
    yield _reason(ReasonKind.READINGS_NOT_MET, sentence)


def _indicator_reasons(record: ProcessingRecord, load: Load) -> Iterator[Reason]:
    own = record.indicators_of_pouch
    if not own:
        yield _reason(ReasonKind.INDICATOR_MISSING, "no reading of its chemical indicator is on record")
    for one in own:
        if one.result is not IndicatorResult.TURNED:
            result = in_words(one.result)
            sentence = f"its chemical indicator ({one.place.value}) was recorded as {result} ({one.stage.value})"
            yield _reason(ReasonKind.INDICATOR_FAILED, sentence)
    for one in standing_indicators(one for one in record.indicators if one.pouch is None):
        if one.result is not IndicatorResult.TURNED:
            result = in_words(one.result)
            sentence = f"the chemical indicator that stands for load {load.number} was recorded as {result}"
            yield _reason(ReasonKind.INDICATOR_FAILED, sentence)


def _spore_reasons(record: ProcessingRecord, load: Load, *, is_protected: bool) -> Iterator[Reason]:
    evidence = record.protected_evidence if is_protected else record.evidence
    if evidence is None:
        sentence = f"what spore tests say of load {load.number} is not known"
        yield _reason(ReasonKind.SPORES_MISSING, sentence)
        return
    kind = SPORES_AGAINST.get(evidence.state)
    if kind is not None and not _is_let_through(record, evidence):
        yield _reason(kind, f"spore tests of load {load.number}: {evidence.sentence}")
    if is_protected and not (evidence.state is EvidenceState.PASSED and evidence.rode_along):
        sentence = (
            f"protected care asks for a spore test that rode along in load {load.number} "
            f"({in_words(load.cycle_kind)}) and passed; there is none"
        )
        yield _reason(ReasonKind.PROTECTED_WITHOUT_SPORES, sentence)


def _is_let_through(record: ProcessingRecord, evidence: Evidence) -> bool:
    """An early release, which only a policy makes possible, lets what still incubates through; nothing else."""
    is_early = record.release is not None and record.release.is_early
    return is_early and evidence.state is EvidenceState.INCUBATING


def _reason(kind: ReasonKind, sentence: str) -> Reason:
    return Reason(kind=kind, sentence=sentence)
