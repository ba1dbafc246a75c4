"""Steriliser loads: what went in, how it ended, what was read, and what came out."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from enum import StrEnum

from tracelabels.custody.names import Kind, Name
from tracelabels.custody.sterilisers import CycleKind


class Goods(StrEnum):
    """What a programme is for; a programme for one kind is never evidence for another."""

    UNWRAPPED = "unwrapped"
    WRAPPED = "wrapped"
    LIQUID = "liquid"


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """One load, closed when it started."""

    number: str
    """Our load number: steriliser and running number."""
    steriliser: Name
    """Which steriliser."""
    cycle_kind: CycleKind
    """Which kind of cycle."""
    programme: str
    """Name of the programme."""
    temperature_c: Decimal
    """Set temperature in degrees Celsius."""
    hold_minutes: Decimal
    """Set holding time in minutes."""
    goods: Goods
    """What the programme is for."""
    operator: str
    """Opaque staff id."""
    started_at: datetime
    """When it started (UTC)."""
    counted: int
    """Pouches counted by hand before the start."""
    pouches: tuple[Name, ...]
    """Pouches scanned in; as many as counted."""
    drying_minutes: Decimal | None = None
    """Set drying time in minutes."""
    cycle_number: int | None = None
    """What the steriliser's own counter says."""
    programme_file: str | None = None
    """Digest of the programme's file at the start, among the evidence; None if the programme has none."""

    @property
    def as_name(self) -> Name:
        """Return its name in the record."""
        return Name(Kind.LOAD, self.number)


class Outcome(StrEnum):
    """How a load ended."""

    COMPLETE = "complete"
    ABORTED = "aborted"


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadEnd:
    """A load ended."""

    load: Name
    """Which load."""
    outcome: Outcome
    """Complete, or aborted."""
    at: datetime
    """When (UTC)."""
    note: str | None = None
    """What the steriliser showed."""


class ProbePlace(StrEnum):
    """Where a temperature was measured; chamber readings say nothing of the inside of a closed tube."""

    CHAMBER = "chamber"
    REFERENCE_TUBE = "reference_tube"
    """Inside a tube of the same fill."""
    UNKNOWN = "unknown"


class ReadingsVerdict(StrEnum):
    """Whether the readings meet the programme."""

    MET = "met"
    NOT_MET = "not_met"
    CANNOT_TELL = "cannot_tell"


class ReadingsSource(StrEnum):
    """Where readings come from."""

    LOGGER = "logger"
    GAUGE = "gauge"
    PRINTOUT = "printout"


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugeReading:
    """One reading, typed."""

    minute: Decimal
    """Minutes since the start."""
    temperature_c: Decimal
    """Degrees Celsius."""
    pressure_kpa: Decimal | None = None
    """Absolute pressure in kilopascal; None if it was not read."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadAs:
    """One thing that was said about a logger's file, and not left to be guessed."""

    option: str
    """What, such as ``pressure_unit``."""
    value: str
    """What it is."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadReadings:
    """Readings of a load, and whether they meet its programme."""

    load: Name
    """Which load."""
    source: ReadingsSource
    """Logger file, gauge, or the steriliser's printout."""
    probe: ProbePlace
    """Where it was measured."""
    verdict: ReadingsVerdict
    """Whether the programme is met."""
    reasons: tuple[str, ...] = ()
    """Why it is not met, or cannot be told; by whom it was judged where a person did."""
    evidence: str | None = None
    """Digest of the logger's file or of a picture, among the evidence."""
    typed: tuple[GaugeReading, ...] = ()
    """What was typed from a gauge."""
    computed: ReadingsVerdict | None = None
    """What computing said of them; None if nobody but a person judged them."""
    probe_error_k: Decimal | None = None
    """How far the probe may be off, as stated, in kelvin; None if nobody stated it."""
    read_as: tuple[ReadAs, ...] = ()
    """What was said about the logger's file for reading it."""


class PouchState(StrEnum):
    """How a pouch came out of a load."""

    SOUND = "sound"
    WET = "wet"
    TORN = "torn"
    NOT_TURNED = "not_turned"
    """Its indicator has not turned."""
    OTHER = "other"


@dataclass(frozen=True, slots=True, kw_only=True)
class Unloaded:
    """One pouch was scanned out of its load; all but sound ones are rejected."""

    load: Name
    """Which load."""
    pouch: Name
    """Which pouch."""
    state: PouchState
    """How it came out."""
    at: datetime
    """When (UTC)."""
    note: str | None = None
    """What was seen."""


class IndicatorPlace(StrEnum):
    """Where a chemical indicator sat."""

    OUTSIDE = "outside"
    INSIDE = "inside"
    IN_LOAD = "in_load"
    """In a place of its own in the load (a challenge device)."""


class IndicatorResult(StrEnum):
    """What a chemical indicator showed: exposure, not sterility."""

    TURNED = "turned"
    NOT_TURNED = "not_turned"
    UNCLEAR = "unclear"


class Stage(StrEnum):
    """When an indicator was read."""

    UNLOADING = "unloading"
    CHAIR = "chair"


@dataclass(frozen=True, slots=True, kw_only=True)
class IndicatorReading:
    """A chemical indicator was read."""

    load: Name
    """The load that it went through."""
    pouch: Name | None
    """The pouch it belongs to; None for one that stands for the whole load."""
    place: IndicatorPlace
    """Where it sat."""
    result: IndicatorResult
    """What it showed, against the lot's own printed reference."""
    stage: Stage
    """At unloading, or at the chair."""
    at: datetime
    """When (UTC)."""
    type_number: int | None = None
    """Its type after ISO 11140-1, 1 to 6; the types are no ranking."""
    lot: str | None = None
    """Lot of the indicator."""
    evidence: str | None = None
    """Digest of its picture, among the evidence."""
    compared: str | None = None
    """What comparing its picture with others said; a help to the eye, not the decision."""
