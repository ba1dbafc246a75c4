"""How loads were processed and decided about, by whom, and what spore tests said of them then and say today."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Generic, TypeVar

from tracelabels.custody import (
    Decision,
    IndicatorReading,
    IndicatorResult,
    Load,
    LoadEnd,
    LoadReadings,
    Name,
    ReadingsVerdict,
    Release,
    Unloaded,
    standing_indicators,
    verdict_of_readings,
)
from tracelabels.records import Fact, FactId, Reading, Recorded
from tracelabels.sterilization import Evidence, RodeAlong, SporePolicy
from tracelabels.workflows.processing_record import ProcessingReader

V = TypeVar("V")


@dataclass(frozen=True, slots=True, kw_only=True)
class Signed(Generic[V]):
    """Something that was recorded, with who did."""

    value: V
    """What."""
    by: str
    """Opaque staff id of who recorded it first."""
    corrected_by: str | None
    """Opaque staff id of who corrected it last; None if nobody did."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SporesOfLoad:
    """What spore tests (biological indicators, BI) say about a load."""

    before: RodeAlong | None
    """The last test of its steriliser and cycle kind in a load before; None if there was none."""
    rode_along: tuple[RodeAlong, ...]
    """Tests in the very load."""
    after: RodeAlong | None
    """The first test in a load after it; None if there is none yet."""
    at_start: Evidence
    """What the tests before it said when it started."""
    at_decision: Evidence | None
    """What was read when the last decision about it was made; None if nobody decided."""
    today: Evidence
    """How it stands, with all that is known today."""
    protected: Evidence
    """The same for a client of protected care, for whom any growth counts at once."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadAccount:
    """One load, from its start to the decision about it."""

    load: Load
    """Which load."""
    end: LoadEnd | None
    """How it ended; None if nobody entered it."""
    verdict: ReadingsVerdict
    """Whether its readings meet the programme, for what it holds."""
    readings: tuple[Signed[LoadReadings], ...]
    """All of its readings, with who entered each."""
    indicators: tuple[IndicatorReading, ...]
    """What its indicators say: one for each pouch and place, and those that stand for the whole load."""
    unloaded: tuple[Unloaded, ...]
    """How each pouch came out; the last word on each."""
    spores: SporesOfLoad
    """What spore tests say of it."""
    decisions: tuple[Signed[Release], ...]
    """Decisions about it in the order of time; the last one counts."""

    @property
    def decision(self) -> Signed[Release] | None:
        """Return the decision that counts."""
        return self.decisions[-1] if self.decisions else None

    @property
    def is_released(self) -> bool:
        """Say whether the decision that counts releases it, all its pouches or some."""
        return self.decision is not None and self.decision.value.decision is Decision.RELEASED

    @property
    def turned(self) -> tuple[Name, ...]:
        """Return the pouches whose own indicators were read and turned, every one."""
        return tuple(one for one in self.load.pouches if self._results(one) == {IndicatorResult.TURNED})

    @property
    def not_turned(self) -> tuple[Name, ...]:
        """Return the pouches with an indicator of their own that was not seen to turn."""
        return tuple(one for one in self.load.pouches if self._results(one) - {IndicatorResult.TURNED})

    @property
    def unread(self) -> tuple[Name, ...]:
        """Return the pouches of whose own indicators no reading is on record."""
        return tuple(one for one in self.load.pouches if not self._results(one))

    @property
    def indicators_of_load(self) -> tuple[IndicatorReading, ...]:
        """Return the indicators that stand for the whole load."""
        return tuple(one for one in self.indicators if one.pouch is None)

    def _results(self, pouch: Name) -> set[IndicatorResult]:
        return {one.result for one in self.indicators if one.pouch == pouch}


def accounts_of(ledger: Reading, things: Collection[FactId], policy: SporePolicy) -> dict[FactId, LoadAccount]:
    """Return the account of each of many loads; the number of questions does not grow with the number of loads.

    Args:
        ledger: the state of the ledger.
        things: lasting names of loads; what does not stand is left out.
        policy: the practice's rules for spore tests.
    """
    loads = ledger.standing_of(Load, things)
    if not loads:
        return {}
    reader = ProcessingReader(ledger, policy)
    reader.look_ahead(loads)
    signed = [
        one for load in loads for kind in (LoadReadings, Release) for one in reader.recorded_of_load(kind, load.value)
    ]
    facts = ledger.facts_among({name for one in signed for name in (one.thing, one.fact)})
    return {one.thing: _account(reader, one.value, facts) for one in loads}


def _account(reader: ProcessingReader, load: Load, facts: Mapping[FactId, Fact]) -> LoadAccount:
    decisions = reader.decisions_of(load)
    readings = reader.recorded_of_load(LoadReadings, load)
    decided_at = decisions[-1].value.at if decisions else None
    spores = _spores(reader, load, decided_at)
    unloaded = {one.pouch: one for one in reader.of_load(Unloaded, load)}
    return LoadAccount(
        load=load,
        end=reader.end_of(load),
        verdict=verdict_of_readings(load, [one.value for one in readings], spores.today),
        readings=_signed(readings, facts),
        indicators=standing_indicators(reader.of_load(IndicatorReading, load)),
        unloaded=tuple(one for _, one in sorted(unloaded.items())),
        spores=spores,
        decisions=_signed(decisions, facts),
    )


def _signed(recorded: Iterable[Recorded[V]], facts: Mapping[FactId, Fact]) -> tuple[Signed[V], ...]:
    return tuple(
        Signed(
            value=one.value,
            by=facts[one.thing].by,
            corrected_by=None if one.fact == one.thing else facts[one.fact].by,
        )
        for one in recorded
    )


def _spores(reader: ProcessingReader, load: Load, decided_at: datetime | None) -> SporesOfLoad:
    tests: Sequence[RodeAlong] = reader.history_of(load).tests
    others = [one for one in tests if one.load != load.number]
    before = [one for one in others if one.load_at <= load.started_at]
    after = [one for one in others if one.load_at > load.started_at]
    return SporesOfLoad(
        before=before[-1] if before else None,
        rode_along=tuple(one for one in tests if one.load == load.number),
        after=after[0] if after else None,
        at_start=reader.evidence_known_at(load, load.started_at),
        at_decision=None if decided_at is None else reader.evidence_known_at(load, decided_at),
        today=reader.evidence_of(load),
        protected=reader.evidence_of(load, is_protected=True),
    )
