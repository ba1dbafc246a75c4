"""What a programme asks, rule by rule: does it hold in a view, and how is it said.

A rule that holds in the worst view is kept; one that does not hold even in the best is broken; between the two it
cannot be told, and the sentence says what stands in the way.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from tracelabels.cycles.case import AS_READ, Case, View
from tracelabels.cycles.findings import Suspicion
from tracelabels.cycles.mix_ups import explain
from tracelabels.cycles.stretches import FLOAT_NOISE_K
from tracelabels.cycles.wording import PLACES, band_in_words, minute_of, plain, spans_in_words

_NOISE_S: Final = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """One thing that a programme asks."""

    is_kept: Callable[[Case, View], bool]
    """Whether it holds in a view; True where the programme does not ask it."""
    say: Callable[[Case], str]
    """What was found and what is asked, as a sentence."""


def holds_long_enough(case: Case, view: View) -> bool:
    """Say whether the temperature stayed within the band for as long as is asked."""
    held = case.hold(view)
    if view.over_gaps and case.is_cut_off(view):
        return True
    return held is not None and held.span.minutes >= case.programme.hold_minutes - _NOISE_S / 60


def _say_hold(case: Case) -> str:
    band, needed, place = case.programme.band, case.programme.hold_minutes, PLACES[case.probe]
    held, celsius = case.hold(AS_READ), case.readings.celsius
    if held is None and celsius.max() < band.set_c:
        at = minute_of(float(case.readings.seconds[celsius.argmax()]))
        highest = plain(float(celsius.max()), beside=band.set_c)
        return f"the temperature {place} never reached {plain(band.set_c)} °C: it was {highest} °C at most, at {at}"
    if held is None:
        return f"no reading {place} lies within {band_in_words(band)}, where {plain(needed)} min are needed"
    minutes = plain(held.span.minutes, beside=needed)
    return (
        f"the temperature {place} stayed at {band_in_words(band)} for {minutes} min without a break, "
        f"and {plain(needed)} min are needed"
    )


def _is_cool_enough(case: Case, view: View) -> bool:
    hottest = None if case.programme.band.above_k is None else case.hottest()
    return hottest is None or hottest[0] <= case.most_c - view.margin_k + FLOAT_NOISE_K


def _say_heat(case: Case) -> str:
    hottest = case.hottest()
    celsius, at_s = hottest if hottest is not None else (case.most_c, 0.0)
    return (
        f"the temperature {PLACES[case.probe]} rose to {plain(celsius, beside=case.most_c)} °C at {minute_of(at_s)}, "
        f"and {plain(case.most_c)} °C is the most that the programme allows"
    )


def _settles_in_time(case: Case, view: View) -> bool:
    allowed = case.programme.equilibration_s
    if not holds_long_enough(case, view):
        return True  # there is no hold for it to settle into, which is told already
    return allowed is None or case.equilibration_s(view) <= allowed + _NOISE_S


def _say_wavering(case: Case) -> str:
    allowed = case.programme.equilibration_s or 0.0
    took = case.equilibration_s(AS_READ)
    return (
        f"the temperature {PLACES[case.probe]} first reached {plain(case.programme.band.set_c)} °C "
        f"{plain(took, beside=allowed)} s before it stayed there, and {plain(allowed)} s are allowed"
    )


def _is_steady(case: Case, view: View) -> bool:  # noqa: ARG001 - an error of the probe moves all readings alike
    allowed, held = case.programme.fluctuation_k, case.plateau
    return allowed is None or held is None or held.highest_c - held.lowest_c <= allowed + FLOAT_NOISE_K


def _say_fluctuation(case: Case) -> str:
    allowed, held = case.programme.fluctuation_k or 0.0, case.plateau
    low, high = (held.lowest_c, held.highest_c) if held is not None else (0.0, 0.0)
    return (
        f"the temperature {PLACES[case.probe]} moved by {plain(high - low, beside=allowed)} K during the hold, from "
        f"{plain(low)} to {plain(high)} °C, and {plain(allowed)} K are allowed"
    )


def _is_saturated(case: Case, view: View) -> bool:
    if case.saturation is None:
        return True
    limit = case.programme.saturation_k - view.margin_k + FLOAT_NOISE_K
    return abs(case.saturation.worst_difference_k) <= limit


def _say_saturation(case: Case) -> str:
    worst = case.saturation.worst_difference_k if case.saturation is not None else 0.0
    allowed = case.programme.saturation_k
    side = "below" if worst < 0 else "above"
    said = (
        f"the temperature {PLACES[case.probe]} was {plain(abs(worst), beside=allowed)} K {side} that of saturated "
        f"steam at the pressure read with it, and {plain(allowed)} K are allowed"
    )
    return f"{said}: {explain(case.readings, case.steam, _suspicion_of(worst))}"


def say_agreement(case: Case) -> str:
    """Say that temperature and pressure fit each other."""
    worst = case.saturation.worst_difference_k if case.saturation is not None else 0.0
    return (
        f"the temperature {PLACES[case.probe]} was within {plain(abs(worst))} K of that of saturated steam at the "
        f"pressure read with it, and {plain(case.programme.saturation_k)} K are allowed"
    )


def _suspicion_of(worst_k: float) -> Suspicion:
    return Suspicion.AIR if worst_k < 0 else Suspicion.SUPERHEAT


def _kills_enough(case: Case, view: View) -> bool:
    least = case.programme.least_f0
    return least is None or case.f0(view) >= least


def _say_f0(case: Case) -> str:
    least = case.programme.least_f0 or 0.0
    return f"F0 {PLACES[case.probe]} is {plain(case.f0(AS_READ), beside=least)} min, and {plain(least)} min are needed"


HOLD: Final = Rule(is_kept=holds_long_enough, say=_say_hold)
RULES: Final = (
    HOLD,
    Rule(is_kept=_is_cool_enough, say=_say_heat),
    Rule(is_kept=_settles_in_time, say=_say_wavering),
    Rule(is_kept=_is_steady, say=_say_fluctuation),
    Rule(is_kept=_is_saturated, say=_say_saturation),
    Rule(is_kept=_kills_enough, say=_say_f0),
)
"""In the order in which they are told."""


def say_doubt(case: Case, rule: Rule) -> str:
    """Say a rule of which it cannot be told whether it is kept, and why not."""
    doubts = []
    if not rule.is_kept(case, AS_READ) and rule.is_kept(case, View(over_gaps=True)):
        if case.readings.gaps:
            doubts.append(f"nothing was read from {spans_in_words(case.readings.gaps)}")
        if case.is_cut_off(AS_READ):
            doubts.append("the readings begin or end within the hold")
    else:
        doubts.append(f"every reading may be wrong by {plain(case.error_k or 0.0, beside=0.0)} K")
    return f"{rule.say(case)}; {' and '.join(doubts)}, so it cannot be told"
