"""Sterilisation: what follows from readings and spore tests. Pure: no clock, no file, no database.

Nothing here says that anything is sterile.

Modules:
    spore_history: spore tests (biological indicators, BI), and what happened to a steriliser, as these rules take them.
    spore_intervals: what a load's spore evidence is, what growth reaches, when the next test is due.
"""

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

__all__ = [
    "CONSECUTIVE",
    "AffectedInterval",
    "Change",
    "ChangeKind",
    "Confirmation",
    "Due",
    "Edge",
    "Evidence",
    "EvidenceState",
    "GrowthOutcome",
    "GrowthPolicy",
    "History",
    "Process",
    "RodeAlong",
    "SporePolicy",
    "SporeResult",
    "affected_interval",
    "confirm_first",
    "evidence_at",
    "next_due",
    "three_passes",
]
