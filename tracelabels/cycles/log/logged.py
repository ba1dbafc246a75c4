"""What was read from a log: readings, what had to be assumed, what was odd."""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from tracelabels.cycles.readings import Readings


class Basis(StrEnum):
    """On what an assumption rests."""

    GIVEN = "given"
    """An option said so."""
    STATED = "stated"
    """The file's own header says so."""
    GUESSED = "guessed"
    """From the numbers."""
    CORRECTED = "corrected"
    """The header says something else, and the numbers show that it is wrong."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Guess:
    """One thing that had to be known to read the file."""

    what: str
    """What: ``separator``, ``decimal_mark``, ``time``, ``temperature_unit``, ``pressure_unit`` and so on."""
    value: str
    """What was taken."""
    basis: Basis
    """On what that rests."""
    because: str = ""
    """Why, in words, where it was guessed or corrected."""


class OddityKind(StrEnum):
    """What can be odd in a log."""

    GAP = "gap"
    DOUBLE_ROW = "double_row"
    CLOCK_STEP = "clock_step"
    """The clock went back, or jumped ahead while the readings went on as if it had not."""
    SPIKE = "spike"
    """A single reading that no chamber can follow; left out."""
    UNREADABLE_ROW = "unreadable_row"


@dataclass(frozen=True, slots=True, kw_only=True)
class Oddity:
    """Something odd, and what was done about it."""

    kind: OddityKind
    """What it is."""
    line: int
    """Line of the file, from 1."""
    sentence: str
    """What was found there and how it was taken."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LogOptions:
    """What a person says of a file; None to be guessed and shown."""

    separator: str | None = None
    """``,`` ``;`` a tab, ``|`` or a space."""
    decimal_mark: str | None = None
    """``.`` or ``,``."""
    time_unit: str | None = None
    """``s`` or ``min`` (``h``, ``ms``, ``d``), of a plain number; of a clock of two parts, that of the second."""
    date_order: str | None = None
    """``dmy``, ``mdy`` or ``ymd``."""
    temperature_unit: str | None = None
    """``C``, ``F`` or ``K``."""
    pressure_unit: str | None = None
    """``kPa``, ``bar``, ``mbar``, ``psi``, ``MPa``, or another of ``pressure_units.KPA``."""
    pressure_reference: str | None = None
    """``absolute`` or ``gauge``."""
    atmosphere_kpa: float = 101.325
    """The air's pressure, added to gauge readings; lower at height."""
    time_column: str | None = None
    """Name or number (from 1) of the column of times."""
    temperature_column: str | None = None
    """Name or number of the column of temperatures."""
    pressure_column: str | None = None
    """Name or number of the column of pressures; ``none`` to read none."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LoggedCycle:
    """A log, read."""

    readings: Readings
    """As computing takes them."""
    guesses: tuple[Guess, ...]
    """Everything that had to be known, with its basis."""
    oddities: tuple[Oddity, ...]
    """Everything odd, in the order of lines; beyond a hundred of a kind only their number is told."""
    started_at: datetime | None
    """The logger's own clock at the first reading, without a zone; None if it wrote none."""
    rows: int
    """Rows of the file that hold readings."""
