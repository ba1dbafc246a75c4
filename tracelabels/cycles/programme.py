"""What a programme asks of its readings."""

from dataclasses import dataclass

from tracelabels.custody import CycleKind, Goods


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """Within what the temperature must stay while it counts as held."""

    set_c: float
    """Set temperature in degrees Celsius: the least that counts."""
    above_k: float | None = None
    """How far above it may be, in kelvin; None for no limit."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Programme:
    """One programme of a steriliser, with the source of its numbers."""

    name: str
    """The file's name without its ending."""
    title: str
    """What it is, in words."""
    goods: Goods
    """What it is for; a programme for one kind of goods is never accepted for another."""
    cycle_kinds: tuple[CycleKind, ...]
    """The kinds of cycle that it may be run as."""
    band: Band
    """The temperature that must be held."""
    hold_minutes: float
    """For how long at least."""
    source: str
    """Where the numbers come from: document, edition, table or clause; or whose decision they are."""
    equilibration_s: float | None = None
    """Seconds from the first reading at the set temperature to the start of the hold, at most; None: no limit."""
    fluctuation_k: float | None = None
    """How far highest and lowest reading of the hold may lie apart, in kelvin; None: no limit."""
    saturation_k: float = 2.0
    """How far the measured temperature may be from that of saturated steam at the measured pressure, in kelvin."""
    least_f0: float | None = None
    """The least F0 in minutes, at the probe; None if the programme asks for none."""
    drying_minutes: float | None = None
    """The least drying time in minutes, told but not judged; None if the source gives none."""
    cautions: tuple[str, ...] = ()
    """What must be said with every verdict of it."""
