"""The computed numbers of a cycle, each with its interval and what the programme asks: one list for page and CSV."""

from collections.abc import Iterator
from dataclasses import dataclass

from tracelabels.cycles import CycleFindings, Plateau, Programme
from tracelabels.reports.ticks import as_figure


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """One number."""

    what: str
    """What it is."""
    value: float
    """How much."""
    unit: str
    """Of what."""
    decimals: int
    """With how many decimals people read it."""
    between: tuple[float, float] | None = None
    """Lowest and highest that the probe's error leaves possible; None if that was not computed."""
    asked: str = ""
    """What the programme asks; nothing if it asks nothing."""

    @property
    def written(self) -> str:
        """Return value and unit for people."""
        return f"{as_figure(self.value, self.decimals)} {self.unit}"

    @property
    def interval(self) -> str:
        """Return the interval for people; nothing if there is none."""
        if self.between is None:
            return ""
        low, high = (as_figure(end, self.decimals) for end in self.between)
        return f"{low} to {high}"


def figures_of(found: CycleFindings) -> tuple[Figure, ...]:
    """Return every number that was computed from a cycle."""
    lethality, programme = found.lethality, found.programme
    least = None if programme is None else programme.least_f0
    name = f"F0 (at {lethality.reference_c:g} °C, z {lethality.z_k:g} K)"
    asked = "" if least is None else f"at least {least:g}"
    f0 = Figure(what=name, value=lethality.f0, unit="min", decimals=1, between=lethality.interval, asked=asked)
    plateau = () if found.plateau is None else tuple(_of_plateau(found.plateau, programme))
    return (f0, *plateau, *_of_saturation(found))


def _of_plateau(plateau: Plateau, programme: Programme | None) -> Iterator[Figure]:
    hold = "" if programme is None else f"at least {programme.hold_minutes:g}"
    between = plateau.hold_interval
    yield Figure(what="holding time", value=plateau.hold_minutes, unit="min", decimals=1, between=between, asked=hold)
    low, high, spread, before = ("",) * 4
    if programme is not None:
        band = programme.band
        low = f"at least {band.set_c:g}"
        high = "" if band.above_k is None else f"at most {band.set_c + band.above_k:g}"
        spread = "" if programme.fluctuation_k is None else f"at most {programme.fluctuation_k:g}"
        before = "" if programme.equilibration_s is None else f"at most {programme.equilibration_s:g}"
    lowest, highest = plateau.lowest_c, plateau.highest_c
    yield Figure(what="lowest in the hold", value=lowest, unit="°C", decimals=1, asked=low)
    yield Figure(what="highest in the hold", value=highest, unit="°C", decimals=1, asked=high)
    yield Figure(what="these two apart", value=highest - lowest, unit="K", decimals=1, asked=spread)
    yield Figure(what="equilibration", value=plateau.equilibration_s, unit="s", decimals=0, asked=before)
    yield Figure(what="come-up", value=plateau.come_up_s / 60, unit="min", decimals=1)
    yield Figure(what="hold to last reading", value=plateau.cooling_s / 60, unit="min", decimals=1)
    yield Figure(what="time at set or above", value=plateau.minutes_above, unit="min", decimals=1)


def _of_saturation(found: CycleFindings) -> Iterator[Figure]:
    if found.saturation is None:
        return
    asked = "" if found.programme is None else f"within ±{found.programme.saturation_k:g}"
    worst = found.saturation.worst_difference_k
    yield Figure(what="off saturated steam, lasting", value=worst, unit="K", decimals=1, asked=asked)
