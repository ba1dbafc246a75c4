"""Deciding the units: an option, else the header, else the numbers; what is said is compared with what they show.

A header is corrected only where cold start and saturated steam at the plateau both speak for the same other reading.
An option is never corrected: that the numbers speak against it is said beside it. Numbers that no steam steriliser can
show in the unit that was said are refused, since they would count as lethal.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tracelabels.cycles.log.logged import Basis, Guess, LogOptions
from tracelabels.cycles.log.pressure_units import (
    GUESSABLE,
    PressureFit,
    all_fits,
    as_kpa,
    fit_pressure,
)
from tracelabels.cycles.log.temperature_units import STEAM_C, Fit, as_celsius, fits, likeliest
from tracelabels.errors import LogError

EQUAL_K: Final = 1.0
"""Two readings of a pressure that are as close to saturated steam are equally good."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Said:
    """A column's numbers and what the header, or what stands behind the numbers, says of them."""

    values: NDArray[np.float64]
    """As written, shape (rows,); NaN where there is none."""
    unit: str
    """Empty if not said."""
    reference: str = ""
    """Of a pressure; empty if not said."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Decided:
    """Temperatures and pressures in our units; arrays have shape (rows,)."""

    celsius: NDArray[np.float64]
    """Degrees Celsius."""
    temperature_unit: str
    """What they were written in."""
    kpa: NDArray[np.float64] | None
    """Absolute kilopascal; None if there is no pressure, or none that can be understood."""
    guesses: tuple[Guess, ...]
    """Units and zero, with their basis."""


def decide_units(name: str, temperature: Said, pressure: Said | None, options: LogOptions) -> Decided:
    """Decide units and zero.

    Raises:
        LogError: the temperatures are none of a steam steriliser.
    """
    guess = _temperature_unit(name, temperature, pressure, options)
    celsius = as_celsius(temperature.values, guess.value)
    if pressure is None:
        return Decided(celsius=celsius, temperature_unit=guess.value, kpa=None, guesses=(guess,))
    fit, guesses = _pressure_unit(pressure, celsius, options)
    kpa = None if fit is None else as_kpa(pressure.values, fit.unit, fit.reference, options.atmosphere_kpa)
    return Decided(celsius=celsius, temperature_unit=guess.value, kpa=kpa, guesses=(guess, *guesses))


def _temperature_unit(name: str, said: Said, pressure: Said | None, options: LogOptions) -> Guess:
    found = fits(said.values)
    likely = likeliest(found)
    unit = options.temperature_unit or said.unit
    if not unit:
        if likely is None:
            raise _no_temperature(
                name,
                said,
                "degrees Celsius, degrees Fahrenheit or kelvin",
                "name the column of temperatures with --temperature-column",
            )
        return Guess(what="temperature_unit", value=likely.unit, basis=Basis.GUESSED, because=_looks(likely))
    basis = Basis.GIVEN if options.temperature_unit else Basis.STATED
    if likely is None or likely.unit == unit or found[unit].reaches_steam:
        _require_possible(name, said, found[unit], likely, basis)
        return Guess(what="temperature_unit", value=unit, basis=basis)
    against = f"the numbers look like {likely.unit}: {_looks(likely)}"
    if basis is Basis.STATED and likely.starts_at_room and _steam_agrees(said, pressure, likely, options):
        because = f"the header says {unit}, but {against}, and the pressure agrees"
        return Guess(what="temperature_unit", value=likely.unit, basis=Basis.CORRECTED, because=because)
    _require_possible(name, said, found[unit], likely, basis)
    return Guess(what="temperature_unit", value=unit, basis=basis, because=f"but {against}; kept as it was said")


def _looks(fit: Fit) -> str:
    start = "from room temperature, " if fit.starts_at_room else "from "
    return f"{start}{fit.start_c:.1f} degrees C, to {fit.peak_c:.1f} degrees C"


def _require_possible(name: str, said: Said, fit: Fit, likely: Fit | None, basis: Basis) -> None:
    if fit.is_possible or fit.reaches_steam or (fit.outside <= 0.05 and fit.peak_c <= STEAM_C[1]):  # noqa: PLR2004 - a few broken readings
        return
    who = "given by option" if basis is Basis.GIVEN else "named by the header"
    hint = f"; they look like {likely.unit}, say so with --temperature-unit {likely.unit}" if likely else ""
    raise _no_temperature(
        name,
        said,
        f"at most {STEAM_C[1]:.0f} degrees C in the unit {fit.unit} {who}",
        f"check the column and its unit{hint}",
    )


def _no_temperature(name: str, said: Said, expected: str, remedy: str) -> LogError:
    numbers = said.values[np.isfinite(said.values)]
    span = f"from {numbers.min():g} to {numbers.max():g}" if numbers.size else "without any number"
    return LogError(
        given=f"{name}, whose column of temperatures goes {span}",
        expected=f"temperatures of a steam steriliser: {expected}",
        remedy=remedy,
    )


def _steam_agrees(said: Said, pressure: Said | None, likely: Fit, options: LogOptions) -> bool:
    """Whether with the other unit, and only with it, the pressure is that of saturated steam."""
    if pressure is None:
        return False
    celsius = as_celsius(said.values, likely.unit)
    proved = any(fit.is_proved for fit in _candidates(pressure, celsius, options))
    return proved or _correction(pressure, celsius, options) is not None


def _candidates(pressure: Said, celsius: NDArray[np.float64], options: LogOptions) -> list[PressureFit]:
    unit = options.pressure_unit or pressure.unit
    reference = options.pressure_reference or pressure.reference
    found = all_fits(pressure.values, celsius, (unit,) if unit else GUESSABLE, options.atmosphere_kpa)
    return [fit for fit in found if not reference or fit.reference == reference]


def _pressure_unit(
    said: Said, celsius: NDArray[np.float64], options: LogOptions
) -> tuple[PressureFit | None, tuple[Guess, ...]]:
    candidates = [fit for fit in _candidates(said, celsius, options) if fit.is_possible]
    best = _best(candidates)
    given = bool(options.pressure_unit), bool(options.pressure_reference)
    if (best is None or not best.is_proved) and not all(given):
        other = _correction(said, celsius, options)
        if other is not None:
            return other, _corrected(said, other, options)
    if best is None and (options.pressure_unit or said.unit):
        best = _first_candidate(said, celsius, options)
    is_said = bool(options.pressure_unit or said.unit)
    if best is None or not (is_said or best.is_likely):
        because = (
            "the numbers fit none at cold start and plateau; the pressure is left out; name it with --pressure-unit"
        )
        return None, (Guess(what="pressure_unit", value="unknown", basis=Basis.GUESSED, because=because),)
    return best, _as_said(said, best, options)


def _first_candidate(said: Said, celsius: NDArray[np.float64], options: LogOptions) -> PressureFit:
    unit = options.pressure_unit or said.unit
    reference = options.pressure_reference or said.reference or "gauge"
    return fit_pressure(said.values, celsius, unit, reference, options.atmosphere_kpa)


def _best(candidates: list[PressureFit]) -> PressureFit | None:
    """The cold start counts first: with air in the chamber a false zero may look like steam."""

    def rank(fit: PressureFit) -> tuple[bool, bool, float]:
        away = abs(fit.difference_k)
        return fit.rests_at_air is True, bool(np.isfinite(away)), -away if np.isfinite(away) else 0.0

    return max(candidates, key=rank, default=None)


def _correction(said: Said, celsius: NDArray[np.float64], options: LogOptions) -> PressureFit | None:
    """Find another unit or zero than was said, for which cold start and steam both speak; the least change counts."""
    if not said.unit and not said.reference:
        return None
    units = (
        (options.pressure_unit,) if options.pressure_unit else tuple(dict.fromkeys((said.unit or "kPa", *GUESSABLE)))
    )
    proved = [
        fit
        for fit in all_fits(said.values, celsius, units, options.atmosphere_kpa)
        if fit.is_proved and options.pressure_reference in {None, fit.reference}
    ]
    return min(
        proved,
        key=lambda fit: (fit.unit != said.unit, fit.reference != said.reference, abs(fit.difference_k)),
        default=None,
    )


def _witnesses(fit: PressureFit) -> str:
    rest = {
        True: "it starts or ends at the air's pressure",
        False: "it neither starts nor ends at the air's pressure",
        None: "nothing shows where it starts",
    }[fit.rests_at_air]
    if not np.isfinite(fit.difference_k):
        return rest
    return f"{rest}, and the plateau is {round(fit.difference_k, 1) + 0.0:+.1f} K from saturated steam"


def _corrected(said: Said, fit: PressureFit, options: LogOptions) -> tuple[Guess, ...]:
    def one(what: str, value: str, stated: str, given: str | None) -> Guess:
        if given:
            return Guess(what=what, value=value, basis=Basis.GIVEN)
        if stated == value:
            return Guess(what=what, value=value, basis=Basis.STATED)
        if not stated:
            return Guess(what=what, value=value, basis=Basis.GUESSED, because=_witnesses(fit))
        because = f"the header says {stated}, but as {fit.unit} {fit.reference} {_witnesses(fit)}"
        return Guess(what=what, value=value, basis=Basis.CORRECTED, because=because)

    return (
        one("pressure_unit", fit.unit, said.unit, options.pressure_unit),
        one("pressure_reference", fit.reference, said.reference, options.pressure_reference),
        *_atmosphere(fit, options),
    )


def _as_said(said: Said, fit: PressureFit, options: LogOptions) -> tuple[Guess, ...]:
    doubt = "" if fit.is_proved or not np.isfinite(fit.difference_k) else f"but {_witnesses(fit)}"

    def one(what: str, value: str, stated: str, given: str | None) -> Guess:
        if given or stated:
            return Guess(what=what, value=value, basis=Basis.GIVEN if given else Basis.STATED, because=doubt)
        return Guess(what=what, value=value, basis=Basis.GUESSED, because=_witnesses(fit))

    return (
        one("pressure_unit", fit.unit, said.unit, options.pressure_unit),
        one("pressure_reference", fit.reference, said.reference, options.pressure_reference),
        *_atmosphere(fit, options),
    )


def _atmosphere(fit: PressureFit, options: LogOptions) -> tuple[Guess, ...]:
    if fit.reference != "gauge":
        return ()
    usual = options.atmosphere_kpa == LogOptions().atmosphere_kpa
    because = (
        "added to the gauge's readings; the air at sea level, lower at height"
        if usual
        else "added to the gauge's readings"
    )
    basis = Basis.GUESSED if usual else Basis.GIVEN
    return (Guess(what="atmosphere", value=f"{options.atmosphere_kpa:g} kPa", basis=basis, because=because),)
