"""What the record of one load says, as one value: everything that stands on its page, and nothing else."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, tzinfo
from enum import Enum

from tracelabels.custody import (
    Decision,
    Hold,
    IndicatorReading,
    Load,
    LoadEnd,
    LoadReadings,
    PouchState,
    ReadingsVerdict,
    Release,
    SporeReading,
    SporeTest,
    Steriliser,
)
from tracelabels.cycles.log import Guess, Oddity
from tracelabels.lengths import Mm
from tracelabels.reports.curve_chart import CurveChart
from tracelabels.sterilization import Evidence


class PageSize(Enum):
    """The paper that a practice prints on; the value is width and height."""

    A4 = (Mm(210.0), Mm(297.0))
    LETTER = (Mm(215.9), Mm(279.4))

    @classmethod
    def of(cls, width: float) -> "PageSize":
        """Return the size that is as wide as a sheet that the practice prints on; A4 if none is.

        >>> PageSize.of(215.9).name
        'LETTER'
        """
        return next((size for size in cls if abs(size.value[0] - width) < 1), cls.A4)


@dataclass(frozen=True, slots=True, kw_only=True)
class PouchShown:
    """A pouch of the load."""

    serial: str
    """Its serial."""
    holds: tuple[str, ...]
    """What it holds, in words."""
    state: PouchState | None
    """How it came out; None if it was not scanned out."""
    note: str | None = None
    """What was seen."""

    @property
    def is_rejected(self) -> bool:
        """Say whether it came out other than sound."""
        return self.state not in {None, PouchState.SOUND}


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingsShown:
    """Readings of the load as recorded, and what was computed from them."""

    recorded: LoadReadings
    """The readings on record, with the digest of the logger's file."""
    fact: str
    """The fact of the ledger that holds them."""
    chart: CurveChart | None = None
    """The curve, with what was computed; None where a person judged a printout."""
    guesses: tuple[Guess, ...] = ()
    """What had to be assumed to read the logger's file."""
    oddities: tuple[Oddity, ...] = ()
    """What was odd in it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SporeTestShown:
    """A spore test that rode along."""

    test: SporeTest
    """The test."""
    reading: SporeReading | None
    """What it showed; None while it incubates."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DecisionShown:
    """A decision about the load."""

    release: Release
    """The decision."""
    by: str
    """Opaque staff id of who decided."""
    fact: str
    """The fact of the ledger that holds it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadReport:
    """The record of one load."""

    practice: str
    """Name of the practice."""
    zone: tzinfo
    """The practice's time zone, in which every moment is shown."""
    printed_at: datetime
    """When the page is printed (UTC)."""
    steriliser: Steriliser
    """Where it ran."""
    load: Load
    """The load."""
    fact: str
    """The fact of the ledger that holds it."""
    end: LoadEnd | None
    """How it ended; None if nobody entered it."""
    contents: Sequence[PouchShown]
    """Its pouches."""
    verdict: ReadingsVerdict
    """Whether the readings meet the programme, all readings and the load's goods taken together."""
    readings: tuple[ReadingsShown, ...] = ()
    """The readings, in the order recorded."""
    indicators: tuple[IndicatorReading, ...] = ()
    """Chemical indicators, in the order read."""
    spores: Evidence | None = None
    """What spore tests say of it, as of its time; None if that was not asked."""
    rode_along: tuple[SporeTestShown, ...] = ()
    """Spore tests that rode along in it."""
    decisions: tuple[DecisionShown, ...] = ()
    """Decisions about it, oldest first; the last one counts."""
    holds: tuple[Hold, ...] = ()
    """Holds that are not lifted, on the load or anything in it."""

    @property
    def rejected(self) -> int:
        """Return how many pouches were rejected at unloading."""
        return sum(one.is_rejected for one in self.contents)

    @property
    def decided(self) -> DecisionShown | None:
        """Return the decision that counts; None if there is none."""
        return self.decisions[-1] if self.decisions else None

    @property
    def is_released(self) -> bool:
        """Say whether the decision that counts released it."""
        return self.decided is not None and self.decided.release.decision is Decision.RELEASED

    @property
    def charted(self) -> ReadingsShown | None:
        """Return the readings whose curve is shown: the first that have one."""
        return next((one for one in self.readings if one.chart is not None), None)
