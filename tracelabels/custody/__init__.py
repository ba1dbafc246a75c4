"""Custody: the trade's things as frozen values, and the rules over them. Pure: no clock, no file, no database.

Modules:
    periods: days, months or one session, and the last day they allow.
    bottles: pigments and bottles.
    preparations: preparations with components, tubes, pouches.
    prints: print runs and what each print recorded on each label.
    policy: what the practice decides itself.
    reasons: what speaks against use, and how heavy it is.
    use_by: the earliest cause, named.
    carriers: which pigments may not be filled before processing.
    fitness: the gate.
    whereabouts: place and fate.
"""

from tracelabels.custody.bottles import Bottle, Carrier, Expiry, ExpiryPrecision, Opening, Product
from tracelabels.custody.carriers import refusals_before_processing
from tracelabels.custody.fitness import (
    Fitness,
    KnownItem,
    OpeningCheck,
    SeenLabel,
    assess,
    bottle_reasons,
    component_reasons,
)
from tracelabels.custody.periods import ONE_SESSION, Period, PeriodUnit, parse_period
from tracelabels.custody.policy import Policy, UnknownOpeningRule
from tracelabels.custody.preparations import Component, Diluent, Pouch, PouchKind, Preparation, Tube, Variant
from tracelabels.custody.prints import LabelKind, PrintedLabel, PrintRun
from tracelabels.custody.reasons import Reason, ReasonKind, Verdict, worst
from tracelabels.custody.use_by import Cause, CauseKind, Dating, UseBy, date_bottle, date_component, date_tube, earliest
from tracelabels.custody.whereabouts import Fate, Happening, Place, PlaceKind, fate_of, place_of

__all__ = [
    "ONE_SESSION",
    "Bottle",
    "Carrier",
    "Cause",
    "CauseKind",
    "Component",
    "Dating",
    "Diluent",
    "Expiry",
    "ExpiryPrecision",
    "Fate",
    "Fitness",
    "Happening",
    "KnownItem",
    "LabelKind",
    "Opening",
    "OpeningCheck",
    "Period",
    "PeriodUnit",
    "Place",
    "PlaceKind",
    "Policy",
    "Pouch",
    "PouchKind",
    "Preparation",
    "PrintRun",
    "PrintedLabel",
    "Product",
    "Reason",
    "ReasonKind",
    "SeenLabel",
    "Tube",
    "UnknownOpeningRule",
    "UseBy",
    "Variant",
    "Verdict",
    "assess",
    "bottle_reasons",
    "component_reasons",
    "date_bottle",
    "date_component",
    "date_tube",
    "earliest",
    "fate_of",
    "parse_period",
    "place_of",
    "refusals_before_processing",
    "worst",
]
