"""Sterilisation: what follows from readings and spore tests. Pure: no clock, no file, no database.

Nothing here says that anything is sterile.

Modules:
    spore_kinetics: survival and kill times of a biological indicator.
    indicator_types: what chemical indicators are made to show.
    cycle_counter: cycles that a steriliser counted and nobody recorded.
    spore_history: spore tests (biological indicators, BI), and what happened to a steriliser, as these rules take them.
    spore_intervals: what a load's spore evidence is, what growth reaches, when the next test is due.
"""

from tracelabels.sterilization.cycle_counter import CountedCycle, CounterGap, MaybeCycle, counter_gaps
from tracelabels.sterilization.indicator_types import (
    FOR_PACKS,
    IN_WORDS,
    INTEGRATING_LEAST_AT_121,
    IndicatorType,
)
from tracelabels.sterilization.spore_history import (
    Change,
    ChangeKind,
    GrowthPolicy,
    History,
    Process,
    RodeAlong,
    SporePolicy,
    SporeResult,
)
from tracelabels.sterilization.spore_intervals import (
    CONSECUTIVE,
    AffectedInterval,
    Confirmation,
    Due,
    Edge,
    Evidence,
    EvidenceState,
    GrowthOutcome,
    affected_interval,
    confirm_first,
    evidence_at,
    next_due,
    three_passes,
)
from tracelabels.sterilization.spore_kinetics import (
    LEAST_D_MINUTES,
    LEAST_POPULATION,
    SporeTimes,
    doubts_of_lot,
    spore_times,
)

__all__ = [
    "CONSECUTIVE",
    "FOR_PACKS",
    "INTEGRATING_LEAST_AT_121",
    "IN_WORDS",
    "LEAST_D_MINUTES",
    "LEAST_POPULATION",
    "AffectedInterval",
    "Change",
    "ChangeKind",
    "Confirmation",
    "CountedCycle",
    "CounterGap",
    "Due",
    "Edge",
    "Evidence",
    "EvidenceState",
    "GrowthOutcome",
    "GrowthPolicy",
    "History",
    "IndicatorType",
    "MaybeCycle",
    "Process",
    "RodeAlong",
    "SporePolicy",
    "SporeResult",
    "SporeTimes",
    "affected_interval",
    "confirm_first",
    "counter_gaps",
    "doubts_of_lot",
    "evidence_at",
    "next_due",
    "spore_times",
    "three_passes",
]
