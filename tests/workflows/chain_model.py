"""What a test did, kept plainly in memory: no rule of the trade, only what happened, in the order of time.

The brute-force checker (``chain_oracle.py``, ``chain_reach.py``) reads it; it takes value classes and enums of the
package and nothing else.
"""

from dataclasses import dataclass, field
from datetime import date, datetime

from tracelabels.custody import (
    CareLevel,
    CycleKind,
    Decision,
    Goods,
    IndicatorPlace,
    IndicatorResult,
    Kind,
    Name,
    Outcome,
    PlaceKind,
    PouchState,
    ProbePlace,
    ReadingsVerdict,
    RecallStep,
    SporeResult,
    Variant,
)


@dataclass(kw_only=True)
class ABottle:
    serial: str
    product: str
    batch: str
    received: date
    expiry: date | None
    keeps_days: int | None
    opened: date | None = None
    opened_unknown: bool = False
    withdrawn: date | None = None

    @property
    def called(self) -> str:
        return f"{self.product}, batch {self.batch}"


@dataclass(kw_only=True)
class APreparation:
    number: str
    day: date
    at: datetime
    variant: Variant
    bottles: tuple[str, ...] = ()
    """Serials in the order put in; a top-up names the same bottle again."""


@dataclass(kw_only=True)
class ATube:
    serial: str
    preparation: str
    filled: str | None = None
    filled_at: datetime | None = None
    filled_for: str | None = None


@dataclass(kw_only=True)
class APouch:
    serial: str
    lot: str
    at: datetime
    tubes: tuple[str, ...] = ()
    instruments: tuple[str, ...] = ()


@dataclass(kw_only=True)
class AnIndicator:
    pouch: str | None
    place: IndicatorPlace
    result: IndicatorResult
    lot: str | None


Process = tuple[str, CycleKind]
"""A steriliser and one kind of its cycles: what a spore test speaks for, and nothing else."""


@dataclass(kw_only=True)
class ADecision:
    what: Decision
    left_out: frozenset[str]
    is_early: bool
    """It was made while a test incubated."""
    at: datetime


@dataclass(kw_only=True)
class ALoad:
    number: str
    steriliser: str
    kind: CycleKind
    goods: Goods
    at: datetime
    pouches: tuple[str, ...]
    outcome: Outcome | None = None
    readings: list[tuple[ReadingsVerdict, ProbePlace]] = field(default_factory=list)
    unloaded: dict[str, tuple[PouchState, datetime]] = field(default_factory=dict)
    indicators: list[AnIndicator] = field(default_factory=list)
    ended_at: datetime | None = None
    decided: list[ADecision] = field(default_factory=list)

    @property
    def process(self) -> Process:
        """Return what a spore test in it speaks for."""
        return self.steriliser, self.kind

    @property
    def decision(self) -> ADecision | None:
        """Return the decision that was made last, whenever it was entered."""
        return max(self.decided, key=lambda one: one.at, default=None)


@dataclass(kw_only=True)
class ATest:
    number: str
    load: str
    process: Process
    at: datetime
    lot: str
    in_tube: bool
    readings: list[tuple[SporeResult, datetime]] = field(default_factory=list)

    @property
    def result(self) -> SporeResult | None:
        seen = [result for result, _ in self.readings]
        return SporeResult.GROWTH if SporeResult.GROWTH in seen else (seen[-1] if seen else None)


@dataclass(kw_only=True)
class ALabel:
    run: str
    batch: str | None
    use_by: date | None
    prepared: date | None

    @property
    def said(self) -> tuple[str | None, date | None, date | None]:
        return self.batch, self.use_by, self.prepared


@dataclass(kw_only=True)
class AHold:
    number: str
    items: frozenset[Name]
    at: datetime
    is_lifted: bool = False


@dataclass(kw_only=True)
class AnOpening:
    client: str | None
    at: datetime
    answers: tuple[bool, bool, bool]
    was_go: bool


@dataclass(kw_only=True)
class AUse:
    number: str
    client: str
    at: datetime
    items: frozenset[Name]
    was_go: bool
    incidents: list[str] = field(default_factory=list)
    """Kinds of the incidents recorded with it."""


@dataclass(kw_only=True)
class AnIncident:
    number: str
    kind: str
    client: str | None
    items: frozenset[Name]
    at: datetime
    use: str | None


@dataclass(kw_only=True)
class ARecall:
    number: str
    question: str
    roots: frozenset[Name]
    clients: frozenset[str]
    steps: list[tuple[RecallStep, str | None]] = field(default_factory=list)
    """What was done, and about which client."""

    @property
    def is_closed(self) -> bool:
        return any(step is RecallStep.CLOSED for step, _ in self.steps)


@dataclass(kw_only=True)
class AnEvent:
    number: str
    client: str
    onset: date
    uses: frozenset[str] = frozenset()
    closed: date | None = None


@dataclass(kw_only=True)
class Rules:
    """What the practice decided, as in practice.toml."""

    limit_days: int | None = 60
    pack_days: int | None = None
    is_strict: bool = True
    early_release: bool = False
    interval_days: int = 7
    keep_years: int = 0
    """The longest rule of keeping a client's records."""


@dataclass(kw_only=True)
class Model:
    """Everything that was done."""

    rules: Rules
    installed: dict[str, datetime]
    """When each steriliser was."""
    bottles: dict[str, ABottle] = field(default_factory=dict)
    preparations: dict[str, APreparation] = field(default_factory=dict)
    tubes: dict[str, ATube] = field(default_factory=dict)
    pouches: dict[str, APouch] = field(default_factory=dict)
    labels: dict[str, list[ALabel]] = field(default_factory=dict)
    loads: dict[str, ALoad] = field(default_factory=dict)
    tests: dict[str, ATest] = field(default_factory=dict)
    repaired: list[tuple[datetime, str]] = field(default_factory=list)
    taken_out: list[tuple[datetime, Process]] = field(default_factory=list)
    returned: list[tuple[datetime, Process]] = field(default_factory=list)
    clients: dict[str, CareLevel | None] = field(default_factory=dict)
    registered: dict[str, datetime] = field(default_factory=dict)
    erased: set[str] = field(default_factory=set)
    recalls: dict[str, ARecall] = field(default_factory=dict)
    events: dict[str, AnEvent] = field(default_factory=dict)
    filed: dict[str, int] = field(default_factory=dict)
    """How many files of evidence are sealed with each client's key."""
    holds: list[AHold] = field(default_factory=list)
    openings: dict[str, AnOpening] = field(default_factory=dict)
    uses: dict[str, AUse] = field(default_factory=dict)
    incidents: dict[str, AnIncident] = field(default_factory=dict)
    destroyed: dict[Name, tuple[bool, datetime]] = field(default_factory=dict)
    """Whether it was the whole of it, and when."""
    moves: dict[Name, list[tuple[PlaceKind, datetime]]] = field(default_factory=dict)

    @property
    def living(self) -> list[str]:
        """Return the clients who were not erased."""
        return [one for one in self.clients if one not in self.erased]

    def pouch_of(self, tube: str) -> APouch | None:
        """Return the pouch in which a tube lies; it lies in one at most."""
        return next((one for one in self.pouches.values() if tube in one.tubes), None)

    def loads_of(self, pouch: str) -> list[ALoad]:
        """Return the loads that a pouch went into, oldest first."""
        return sorted((one for one in self.loads.values() if pouch in one.pouches), key=lambda one: one.at)

    def name_of(self, serial: str) -> Name:
        """Return a thing's name by its serial."""
        for kind, known in ((Kind.BOTTLE, self.bottles), (Kind.TUBE, self.tubes), (Kind.POUCH, self.pouches)):
            if serial in known:
                return Name(kind, serial)
        raise KeyError(serial)

    @property
    def items(self) -> list[Name]:
        """Return every bottle, tube and pouch."""
        return [self.name_of(one) for one in (*self.bottles, *self.tubes, *self.pouches)]
