"""What is known about the processing of one pouch: its load, how it came out, what tests say, what was decided."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from tracelabels.custody.loads import (
    Goods,
    IndicatorPlace,
    IndicatorReading,
    IndicatorResult,
    Load,
    LoadEnd,
    LoadReadings,
    Outcome,
    PouchState,
    ProbePlace,
    ReadingsVerdict,
    Unloaded,
)
from tracelabels.custody.names import Name
from tracelabels.custody.reasons import ReasonKind
from tracelabels.custody.releases import Decision, Hold, Release
from tracelabels.sterilization import Evidence, EvidenceState

SPORES_AGAINST: Final = {
    EvidenceState.FAILED: ReasonKind.SPORES_FAILED,
    EvidenceState.SUSPECT: ReasonKind.SPORES_FAILED,
    EvidenceState.INCUBATING: ReasonKind.SPORES_INCUBATING,
    EvidenceState.MISSING: ReasonKind.SPORES_MISSING,
    EvidenceState.UNTESTED: ReasonKind.SPORES_MISSING,
}
"""Which spore evidence speaks against a load, and as what."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ProcessingRecord:
    """Everything on record about the processing of one pouch, as it stands today; nothing where nothing is known."""

    pouch: Name
    """Which pouch."""
    load: Load | None = None
    """The last load that it went into; None if it was never in one."""
    earlier_loads: tuple[Load, ...] = ()
    """Loads before that one; a pouch goes again only after an aborted load."""
    end: LoadEnd | None = None
    """How its load ended; None while it runs, or if nobody entered it."""
    readings: tuple[LoadReadings, ...] = ()
    """The readings of its load, in the order recorded."""
    unloaded: Unloaded | None = None
    """How the pouch came out; None if it was not scanned out."""
    indicators: tuple[IndicatorReading, ...] = ()
    """The pouch's own indicators, and those that stand for the whole load, in the order read."""
    evidence: Evidence | None = None
    """What spore tests say of its load under the practice's policy."""
    protected_evidence: Evidence | None = None
    """The same for a client of protected care, for whom any growth counts at once."""
    release: Release | None = None
    """The last decision about its load."""
    holds: tuple[Hold, ...] = ()
    """Holds that are not lifted, on the pouch or on anything that it comes from or went with."""
    processed_on: date | None = None
    """The day (the practice's) on which its load started, once that load is complete."""

    @property
    def is_released(self) -> bool:
        """Say whether the last decision about its load releases this very pouch; nothing else is looked at."""
        decided = self.release
        return decided is not None and decided.decision is Decision.RELEASED and self.pouch not in decided.excepted

    @property
    def is_complete(self) -> bool:
        """Say whether its load ran to its end."""
        return self.end is not None and self.end.outcome is Outcome.COMPLETE

    @property
    def came_out_sound(self) -> bool:
        """Say whether it was scanned out of its load, dry and whole."""
        return self.unloaded is not None and self.unloaded.state is PouchState.SOUND

    @property
    def readings_verdict(self) -> ReadingsVerdict:
        """Return whether the readings of its load meet the programme, for what the load holds."""
        if self.load is None:
            return ReadingsVerdict.CANNOT_TELL
        return verdict_of_readings(self.load, self.readings, self.evidence)

    @property
    def indicators_of_pouch(self) -> tuple[IndicatorReading, ...]:
        """Return what the pouch's own indicators say, one for each place."""
        return standing_indicators(one for one in self.indicators if one.pouch == self.pouch)

    @property
    def indicators_turned(self) -> bool:
        """Say whether the pouch has an indicator of its own that was read, and whether every one of them turned."""
        own = self.indicators_of_pouch
        return bool(own) and all(one.result is IndicatorResult.TURNED for one in own)


def standing_indicators(indicators: Iterable[IndicatorReading]) -> tuple[IndicatorReading, ...]:
    """Return what indicators say: of each pouch, at each place, one that had not turned, else the last reading.

    A reading that was wrong is corrected by name; another reading beside it does not undo it.
    """
    found: dict[tuple[Name | None, IndicatorPlace], IndicatorReading] = {}
    for one in indicators:
        before = found.get((one.pouch, one.place))
        if before is None or before.result is not IndicatorResult.NOT_TURNED:
            found[one.pouch, one.place] = one
    return tuple(found.values())


def verdict_of_readings(load: Load, readings: Sequence[LoadReadings], evidence: Evidence | None) -> ReadingsVerdict:
    """Return whether readings meet a load's programme; not met outweighs met, and a wrong one is corrected by name.

    Readings of the chamber say nothing of the inside of filled tubes: a liquid load needs a probe in a reference tube
    of the same fill, or a spore test that passed in one. Nobody's word stands against *not met* by computing.

    Args:
        load: which load.
        readings: all of its readings.
        evidence: what spore tests say of it.
    """
    if any(ReadingsVerdict.NOT_MET in {one.verdict, one.computed} for one in readings):
        return ReadingsVerdict.NOT_MET
    counting = [one for one in readings if one.verdict is ReadingsVerdict.MET]
    if load.goods is Goods.LIQUID and not _spores_died_inside(evidence):
        counting = [one for one in counting if one.probe is ProbePlace.REFERENCE_TUBE]
    return ReadingsVerdict.MET if counting else ReadingsVerdict.CANNOT_TELL


def _spores_died_inside(evidence: Evidence | None) -> bool:
    return evidence is not None and evidence.state is EvidenceState.PASSED and evidence.in_reference_tube
