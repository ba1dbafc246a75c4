"""Which columns are the temperature and the pressure that are judged, and which others were seen.

Of several temperatures the one is taken that was coldest while they were hot, among those that the header places in
chamber or load, else among those that it places nowhere: a load is as good as its coldest place.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tracelabels.cycles.log.columns import Layout, TimeColumns, named_column
from tracelabels.cycles.log.logged import Basis, Guess, LogOptions
from tracelabels.cycles.log.numbers import parse_numbers
from tracelabels.cycles.log.pressure_units import GUESSABLE, all_fits
from tracelabels.cycles.log.shapes import SUFFIXES, Shape
from tracelabels.cycles.log.temperature_units import as_celsius, fits, likeliest
from tracelabels.cycles.log.vocabulary import Place, Role, find_unit, plain
from tracelabels.errors import LogError
from tracelabels.words import some

ROWS_COMPARED: Final = 2000
HOT_SHARE: Final = 95
"""Percentile of the hottest column above which it is hot."""
COLD_C: Final = 60.0
"""A column that stays below while another reaches steam is not in the chamber, or broken."""
NEAR_STEAM_K: Final = 8.0
"""A pressure without a name must be this close to saturated steam."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredColumns:
    """Where temperature and pressure stand."""

    temperature: int
    """Of the temperature that is judged."""
    pressure: int | None
    """Of its pressure; None if there is none."""
    guesses: tuple[Guess, ...]
    """How they were found, and what else was seen."""


def find_measured_columns(layout: Layout, times: TimeColumns, options: LogOptions) -> MeasuredColumns:
    """Find temperature and pressure.

    Raises:
        LogError: no column of temperatures is found, or an option names none.
    """
    sample = _Sample(layout, taken={times.time, times.date, times.half})
    temperature, guess = _temperature(sample, options)
    pressure, pressure_guess = _pressure(sample, temperature, options)
    return MeasuredColumns(temperature=temperature, pressure=pressure, guesses=(guess, *pressure_guess))


class _Sample:
    """Numbers of some rows, evenly spread, of the columns that are looked at."""

    def __init__(self, layout: Layout, taken: set[int | None]) -> None:
        """Take the rows; ``taken`` are columns that hold times."""
        self.layout = layout
        self.taken = taken
        self.lines = layout.lines[:: max(1, -(-len(layout.lines) // ROWS_COMPARED))]
        self._read: dict[int, NDArray[np.float64]] = {}

    def values(self, place: int) -> NDArray[np.float64]:
        """Return the numbers of a column, shape (sample,); NaN where there is none."""
        if place not in self._read:
            column = self.layout.table.column(place, self.lines)
            self._read[place] = parse_numbers(column, self.layout.dialect.decimal_mark, SUFFIXES).values
        return self._read[place]

    def celsius(self, place: int) -> NDArray[np.float64]:
        """Return a column's temperatures in degrees Celsius, by its header or by its looks."""
        values = self.values(place)
        likely = likeliest(fits(values))
        return as_celsius(values, self.unit(place) or (likely.unit if likely else "C"))

    def unit(self, place: int) -> str:
        """Return the unit over a column, or behind its numbers; empty if there is none."""
        return self.layout.headings[place].unit or self.suffix_unit(place, Role.TEMPERATURE)

    def suffix_unit(self, place: int, role: Role) -> str:
        """Return the unit behind the numbers of a column."""
        column = self.layout.table.column(place, self.lines[:50])
        suffix = parse_numbers(column, self.layout.dialect.decimal_mark, SUFFIXES).suffix
        return find_unit(f"[{plain(suffix)}]", role) if suffix else ""

    def of_role(self, role: Role) -> list[int]:
        """Return the columns of numbers that hold something by their words, or by the unit behind their numbers."""
        found = []
        for place, heading in enumerate(self.layout.headings):
            if place in self.taken or self.layout.shapes[place] is not Shape.NUMBER:
                continue
            if heading.role is role or (heading.role is Role.UNKNOWN and self.suffix_unit(place, role)):
                found.append(place)
        return found


def _temperature(sample: _Sample, options: LogOptions) -> tuple[int, Guess]:
    layout = sample.layout
    if options.temperature_column:
        place = named_column(layout, options.temperature_column, "--temperature-column")
        return place, Guess(what="temperature_column", value=layout.title(place), basis=Basis.GIVEN)
    named = sample.of_role(Role.TEMPERATURE)
    if named:
        place, because = _coldest(sample, named)
        return place, Guess(what="temperature_column", value=layout.title(place), basis=Basis.STATED, because=because)
    likely = [place for place in sample.of_role(Role.UNKNOWN) if likeliest(fits(sample.values(place)))]
    if not likely:
        raise _no_temperature(layout)
    place = min(likely, key=lambda one: (not _starts_at_room(sample, one), _away_from_steam(sample, one)))
    others = [layout.title(one) for one in likely if one != place]
    because = "its numbers are those of a steam steriliser" + (f"; also seen: {some(others)}" if others else "")
    return place, Guess(what="temperature_column", value=layout.title(place), basis=Basis.GUESSED, because=because)


def _starts_at_room(sample: _Sample, place: int) -> bool:
    fit = likeliest(fits(sample.values(place)))
    return fit is not None and fit.starts_at_room


def _no_temperature(layout: Layout) -> LogError:
    return LogError(
        given=f"{layout.table.text.name}, in which no column of temperatures is found; its columns are "
        + some(layout.title(place) for place in range(len(layout.headings))),
        expected="a column of numbers whose words or values are temperatures of a steam steriliser",
        remedy="name it with --temperature-column, by its words or its number",
    )


def _coldest(sample: _Sample, named: list[int]) -> tuple[int, str]:
    """Choose among several temperatures by place, then the one that is coldest while it is hot."""
    places = [sample.layout.headings[one].place for one in named]
    best = next(place for place in (Place.INSIDE, Place.UNSAID, Place.OUTSIDE) if place in places)
    left = [one for one, place in zip(named, places, strict=True) if place is best]
    left = [one for one in left if not _is_setting(sample.values(one))] or left
    others = some(sample.layout.title(one) for one in named)
    if len(left) == 1:
        why = {Place.INSIDE: "it is the one in the chamber or load", Place.UNSAID: "the others are elsewhere"}.get(
            best, ""
        )
        return left[0], "" if len(named) == 1 else f"of {others}: {why}"
    celsius = np.stack([sample.celsius(one) for one in left])
    hottest = np.max(np.where(np.isfinite(celsius), celsius, -np.inf), axis=0)
    known = hottest[np.isfinite(hottest)]
    hot = hottest >= (np.percentile(known, HOT_SHARE) if known.size else np.inf)
    while_hot = [one[hot & np.isfinite(one)] for one in celsius]
    middles = [float(np.median(one)) if one.size else np.inf for one in while_hot]
    warm = [middle for middle in middles if middle >= COLD_C] or middles
    place = left[middles.index(min(warm))]
    return place, f"of {others}: the coldest while they are hot, since a load is as good as its coldest place"


def _is_setting(values: NDArray[np.float64]) -> bool:
    """A column with a few different numbers is what was asked of the steriliser, not what was measured."""
    known = values[np.isfinite(values)]
    return len(known) > 20 and len(set(known.tolist())) <= 3  # noqa: PLR2004 - a set point for each phase


def _away_from_steam(sample: _Sample, place: int) -> float:
    """Return how far a column is from saturated steam with the pressure that fits it best; 100 with none."""
    celsius = sample.celsius(place)
    others = [one for one in (*sample.of_role(Role.UNKNOWN), *sample.of_role(Role.PRESSURE)) if one != place]
    differences = [
        abs(fit.difference_k)
        for one in others
        for fit in all_fits(sample.values(one), celsius, GUESSABLE, 101.325)
        if fit.is_possible and fit.rests_at_air and np.isfinite(fit.difference_k)
    ]
    return min(differences, default=100.0)


def _pressure(sample: _Sample, temperature: int, options: LogOptions) -> tuple[int | None, tuple[Guess, ...]]:
    layout = sample.layout
    if options.pressure_column:
        if options.pressure_column.strip().casefold() == "none":
            return None, (Guess(what="pressure_column", value="none", basis=Basis.GIVEN),)
        place = named_column(layout, options.pressure_column, "--pressure-column")
        return place, (Guess(what="pressure_column", value=layout.title(place), basis=Basis.GIVEN),)
    named = [place for place in sample.of_role(Role.PRESSURE) if place != temperature]
    if named:
        order = (Place.INSIDE, Place.UNSAID, Place.OUTSIDE)
        place = min(named, key=lambda one: order.index(layout.headings[one].place))
        others = [layout.title(one) for one in named if one != place]
        because = f"also seen: {some(others)}" if others else ""
        return place, (Guess(what="pressure_column", value=layout.title(place), basis=Basis.STATED, because=because),)
    return _pressure_by_values(sample, temperature)


def _pressure_by_values(sample: _Sample, temperature: int) -> tuple[int | None, tuple[Guess, ...]]:
    layout, celsius = sample.layout, sample.celsius(temperature)
    away = {
        place: min(
            (
                abs(fit.difference_k)
                for fit in all_fits(sample.values(place), celsius, GUESSABLE, 101.325)
                if fit.is_possible and fit.rests_at_air and np.isfinite(fit.difference_k)
            ),
            default=np.inf,
        )
        for place in sample.of_role(Role.UNKNOWN)
        if place != temperature
    }
    place = min(away, key=lambda one: away[one], default=None)
    if place is None or away[place] > NEAR_STEAM_K:
        return None, (Guess(what="pressure_column", value="none", basis=Basis.GUESSED, because="no column is one"),)
    because = f"it starts or ends at the air's pressure and is {away[place]:.1f} K from saturated steam at the plateau"
    return place, (Guess(what="pressure_column", value=layout.title(place), basis=Basis.GUESSED, because=because),)
