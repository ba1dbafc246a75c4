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
    label_reasons, past, content_reasons, processing_reasons, chair_reasons: what speaks against use, by subject.
    fitness: the gate, all of these together.
    whereabouts: place and fate.
    names: how people name a thing.
    consumables: lots of what is used up on the way.
    sterilisers: sterilisers and their days.
    loads: what went in, how it ended, what was read, what came out.
    spore_tests: spore tests (biological indicators, BI).
    releases: decisions about loads; holds.
    service_rules: may this steriliser run such a cycle, and may it be returned to service?
    load_rules: may this load start, and has it ended?
    release_rules: may this load be released?
    processing: all that is known about the processing of one pouch.
    clients: a code, and what is sealed apart.
    uses: openings, fillings, uses, destruction, moves.
    incidents: incidents and adverse events.
    links: what hangs together with what, from cause to effect.
    closure: what a cause reaches; where a thing came from.
    recalls: what started one, what it reached, what was done.
    retention: how long records about a client are kept.
    recall_standing: how a recall stands: each client's end, stock found against stock expected.
    evidence: files behind facts.
"""

from tracelabels.custody.bottles import Bottle, Carrier, Expiry, ExpiryPrecision, Opening, Product
from tracelabels.custody.carriers import refusals_before_processing
from tracelabels.custody.chair_reasons import (
    ClientAtChair,
    OpeningCheck,
    client_reasons,
    contents_reasons,
    opening_reasons,
)
from tracelabels.custody.clients import CareLevel, Client
from tracelabels.custody.closure import Closure, reach_backward, reach_forward
from tracelabels.custody.consumables import Consumable, ConsumableKind, ConsumablePeriod, lot_name
from tracelabels.custody.content_reasons import (
    bottle_reasons,
    component_reasons,
    hold_reasons,
    lot_reasons,
    pouring_reasons,
)
from tracelabels.custody.evidence import Evidence
from tracelabels.custody.fitness import Fitness, KnownItem, assess
from tracelabels.custody.incidents import AdverseEvent, Incident, IncidentKind
from tracelabels.custody.label_reasons import OnRecord, SeenLabel
from tracelabels.custody.links import JOINTS, Direction, Joint, Link
from tracelabels.custody.load_rules import PastLoad, PouchAtStart, load_reasons, reason_not_ended, stock_warnings
from tracelabels.custody.loads import (
    GaugeReading,
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
    ReadAs,
    ReadingsSource,
    ReadingsVerdict,
    Stage,
    Unloaded,
)
from tracelabels.custody.names import Kind, Name
from tracelabels.custody.past import PastEvent, PastKind, history_reasons
from tracelabels.custody.periods import ONE_SESSION, Period, PeriodUnit, parse_period
from tracelabels.custody.policy import Policy, UnknownOpeningRule
from tracelabels.custody.preparations import Component, Diluent, Pouch, PouchKind, Preparation, Tube, Variant
from tracelabels.custody.prints import LabelFate, LabelKind, LabelOutcome, PrintedLabel, PrintRun
from tracelabels.custody.processing import ProcessingRecord, standing_indicators, verdict_of_readings
from tracelabels.custody.reasons import Reason, ReasonKind, Verdict, said_once, worst
from tracelabels.custody.recall_standing import (
    ClientEnd,
    ClientStanding,
    StockCount,
    count_stock,
    reasons_not_to_give_up,
    reasons_to_stay_open,
    stand_of,
)
from tracelabels.custody.recalls import Recall, RecallAction, RecallStep
from tracelabels.custody.release_rules import (
    LoadAtRelease,
    ReleasePolicy,
    excepted_pouches,
    is_early,
    release_reasons,
)
from tracelabels.custody.releases import Decision, Hold, HoldCause, HoldLifted, Release
from tracelabels.custody.retention import RetentionRule, longest, open_recalls, reasons_to_keep
from tracelabels.custody.service_rules import (
    ServiceRecord,
    daily_test_failed,
    daily_test_reasons,
    is_returned_since,
    return_reasons,
    service_reasons,
    taken_out,
)
from tracelabels.custody.spore_tests import SporeReading, SporeResult, SporeTest
from tracelabels.custody.sterilisers import (
    MAY_BE_CYCLES,
    NEED_NEW_TESTS,
    CycleKind,
    Steriliser,
    SteriliserEvent,
    SteriliserEventKind,
)
from tracelabels.custody.use_by import (
    Cause,
    CauseKind,
    Dating,
    UseBy,
    date_bottle,
    date_component,
    date_pack,
    date_tube,
    earliest,
)
from tracelabels.custody.uses import Destroyed, Destruction, Fill, Move, PouchOpening, Use
from tracelabels.custody.whereabouts import Fate, Happening, Place, PlaceKind, fate_of, is_expected, place_of

__all__ = [
    "JOINTS",
    "MAY_BE_CYCLES",
    "NEED_NEW_TESTS",
    "ONE_SESSION",
    "AdverseEvent",
    "Bottle",
    "CareLevel",
    "Carrier",
    "Cause",
    "CauseKind",
    "Client",
    "ClientAtChair",
    "ClientEnd",
    "ClientStanding",
    "Closure",
    "Component",
    "Consumable",
    "ConsumableKind",
    "ConsumablePeriod",
    "CycleKind",
    "Dating",
    "Decision",
    "Destroyed",
    "Destruction",
    "Diluent",
    "Direction",
    "Evidence",
    "Expiry",
    "ExpiryPrecision",
    "Fate",
    "Fill",
    "Fitness",
    "GaugeReading",
    "Goods",
    "Happening",
    "Hold",
    "HoldCause",
    "HoldLifted",
    "Incident",
    "IncidentKind",
    "IndicatorPlace",
    "IndicatorReading",
    "IndicatorResult",
    "Joint",
    "Kind",
    "KnownItem",
    "LabelFate",
    "LabelKind",
    "LabelOutcome",
    "Link",
    "Load",
    "LoadAtRelease",
    "LoadEnd",
    "LoadReadings",
    "Move",
    "Name",
    "OnRecord",
    "Opening",
    "OpeningCheck",
    "Outcome",
    "PastEvent",
    "PastKind",
    "PastLoad",
    "Period",
    "PeriodUnit",
    "Place",
    "PlaceKind",
    "Policy",
    "Pouch",
    "PouchAtStart",
    "PouchKind",
    "PouchOpening",
    "PouchState",
    "Preparation",
    "PrintRun",
    "PrintedLabel",
    "ProbePlace",
    "ProcessingRecord",
    "Product",
    "ReadAs",
    "ReadingsSource",
    "ReadingsVerdict",
    "Reason",
    "ReasonKind",
    "Recall",
    "RecallAction",
    "RecallStep",
    "Release",
    "ReleasePolicy",
    "RetentionRule",
    "SeenLabel",
    "ServiceRecord",
    "SporeReading",
    "SporeResult",
    "SporeTest",
    "Stage",
    "Steriliser",
    "SteriliserEvent",
    "SteriliserEventKind",
    "StockCount",
    "Tube",
    "UnknownOpeningRule",
    "Unloaded",
    "Use",
    "UseBy",
    "Variant",
    "Verdict",
    "assess",
    "bottle_reasons",
    "client_reasons",
    "component_reasons",
    "contents_reasons",
    "count_stock",
    "daily_test_failed",
    "daily_test_reasons",
    "date_bottle",
    "date_component",
    "date_pack",
    "date_tube",
    "earliest",
    "excepted_pouches",
    "fate_of",
    "history_reasons",
    "hold_reasons",
    "is_early",
    "is_expected",
    "is_returned_since",
    "load_reasons",
    "longest",
    "lot_name",
    "lot_reasons",
    "open_recalls",
    "opening_reasons",
    "parse_period",
    "place_of",
    "pouring_reasons",
    "reach_backward",
    "reach_forward",
    "reason_not_ended",
    "reasons_not_to_give_up",
    "reasons_to_keep",
    "reasons_to_stay_open",
    "refusals_before_processing",
    "release_reasons",
    "return_reasons",
    "said_once",
    "service_reasons",
    "stand_of",
    "standing_indicators",
    "stock_warnings",
    "taken_out",
    "verdict_of_readings",
    "worst",
]
