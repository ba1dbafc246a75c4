"""The truth of each scenario, fixed from the curve without noise at every second before anybody reads the log.

Saturation counts only where the probe is in the steam: a tube of liquid lags behind it. What counts as unambiguous is
told in steriliser_scenarios.py.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from steriliser_logger import Faults, Reference, Sampled, sample, write_log
from steriliser_model import Course, Floats, saturation_celsius, simulate
from steriliser_scenarios import MARGIN_K, SATURATION_K, Ask, Hold, Scenario, draw, run_of

Where = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True)
class Truth:
    """What is right."""

    expected: str
    is_unambiguous: bool
    allowed: frozenset[str]
    """Verdicts that a careful reader may come to; where it is unambiguous, the expected one alone."""
    reason: str
    f0: float
    """Minutes, of the curve at the probe without noise, over the time that the log covers."""
    f0_tolerance: float
    hold_between: tuple[float, float]
    """Minutes of the longest stretch within the band, at least and at most: by the margin, by a reading at each end,
    and by dips that are over before the next reading."""
    is_whole: bool
    """Whether no rows and no time are missing, so that F0 and hold can be compared."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Trial:
    """A log and its truth."""

    number: int
    scenario: Scenario
    content: bytes
    truth: Truth
    course: Course
    taken: Sampled


def trials(seed: int) -> list[Trial]:
    """Return the logs of a seed with their truths."""
    scenarios = draw(seed)
    courses = simulate([run_of(s.plan, s.ask) for s in scenarios])
    return [
        _trial(number, scenario, course, np.random.default_rng([seed, number, 1]))
        for number, (scenario, course) in enumerate(zip(scenarios, courses, strict=True))
    ]


def _trial(number: int, s: Scenario, course: Course, rng: np.random.Generator) -> Trial:
    hold = _hold(s, course)
    faults = s.faults(hold)
    place = course.liquid_c if s.probe == "reference-tube" else course.chamber_c
    drifting = replace(s.thermometer, drift_per_hour=s.drift_k / max(hold.begin, 60.0) * 3600)
    celsius, kpa = drifting.follow(course.seconds, place), s.gauge.follow(course.seconds, course.kpa)
    taken = sample(course, (celsius, kpa), (s.thermometer.noise, s.gauge.noise), s.every_s, faults, rng)
    # A reader who is not told otherwise adds the standard atmosphere to gauge readings.
    shift = 101.325 - s.plan.machine.atmosphere_kpa if s.dialect.reference == Reference.GAUGE else 0.0
    seen = Curve(course.seconds, celsius, kpa + shift, faults, (taken.true_s[0], taken.true_s[-1]))
    return Trial(
        number=number, scenario=s, course=course, taken=taken, truth=_truth(s, seen),
        content=write_log(taken, s.dialect, faults, s.plan.machine.atmosphere_kpa),
    )  # fmt: skip


def _hold(s: Scenario, course: Course) -> Hold:
    seconds = np.flatnonzero(course.phase == run_of(s.plan, s.ask).hold)
    return Hold(begin=float(seconds[0]), end=float(seconds[-1]), every=s.every_s)


class Curve:
    """What the probe would show without noise, and which of it the log covers and shows."""

    def __init__(
        self, seconds: Floats, celsius: Floats, kpa: Floats, faults: Faults, ends: tuple[float, float]
    ) -> None:
        self.seconds, self.celsius, self.kpa, self.faults = seconds, celsius, kpa, faults
        self.whole = np.ones(len(seconds), dtype=bool)
        self.covered = (seconds >= ends[0]) & (seconds <= ends[1])
        gap = faults.gap or (np.inf, -np.inf)
        self.shown = self.covered & ((seconds <= gap[0]) | (seconds >= gap[1]))

    def stretch(self, ask: Ask, narrower_k: float, where: Where, unseen_s: float = 0) -> tuple[float, float]:
        """Return begin and end of the longest stretch within a band made narrower, ends by straight lines.

        What is over within ``unseen_s`` does not break it.
        """
        low, high = ask.set_c + narrower_k, np.inf if ask.above_k is None else ask.set_c + ask.above_k - narrower_k
        inside = (self.celsius >= low) & (self.celsius <= high) & where
        edges = np.flatnonzero(np.diff(np.concatenate([[False], inside, [False]]).astype(int)))
        if not len(edges):
            return 0.0, 0.0
        is_break = edges[2::2] - edges[1:-1:2] > unseen_s
        firsts, lasts = edges[::2][np.r_[True, is_break]], edges[1::2][np.r_[is_break, True]] - 1
        best = int(np.argmax(lasts - firsts))
        first, last = int(firsts[best]), int(lasts[best])
        return self._crossing(first, first - 1, (low, high), where), self._crossing(last, last + 1, (low, high), where)

    def _crossing(self, within: int, beyond: int, band: tuple[float, float], where: Where) -> float:
        if not 0 <= beyond < len(self.seconds) or not where[beyond]:
            return float(self.seconds[within])
        a, b = self.celsius[within], self.celsius[beyond]
        limit = band[0] if b < band[0] else band[1]
        return float(self.seconds[within] + (a - limit) / (a - b) * (self.seconds[beyond] - self.seconds[within]))

    def held_s(self, ask: Ask, narrower_k: float, where: Where, unseen_s: float = 0) -> float:
        begin, end = self.stretch(ask, narrower_k, where, unseen_s)
        return end - begin


def _truth(s: Scenario, seen: Curve) -> Truth:
    step_k = s.dialect.temperature_step / (1.8 if s.dialect.temperature_unit == "F" else 1)
    hidden = 0.5 * step_k + 3.5 * s.thermometer.noise
    margin_k = max(MARGIN_K, hidden)
    expected, is_clear = _verdict(s, seen, margin_k)
    held = seen.held_s(s.judged_by, 0, seen.shown)
    least = seen.held_s(s.judged_by, margin_k, seen.covered) - 2 * s.every_s
    most = seen.held_s(s.judged_by, -margin_k, seen.covered, unseen_s=s.every_s) + 2 * s.every_s
    f0, f0_tolerance = _f0(s, seen, step_k)
    return Truth(
        expected=expected, is_unambiguous=is_clear,
        allowed=s.allowed or frozenset({expected} if is_clear else {expected, "cannot_tell"}),
        reason=f"shown in the band {held / 60:.2f} min of {s.judged_by.hold_minutes:g}",
        f0=f0, f0_tolerance=f0_tolerance,
        hold_between=(least / 60, most / 60),
        is_whole=seen.faults.gap is None and seen.faults.clock_step is None,
    )  # fmt: skip


def _verdict(s: Scenario, seen: Curve, margin_k: float) -> tuple[str, bool]:
    """Return the right verdict, and whether margins leave no doubt of it."""
    ask, asked = s.judged_by, s.judged_by.hold_minutes * 60
    if s.intended is None:  # what truly was, also where the log does not show it
        is_held = seen.held_s(ask, 0, seen.whole) >= asked and _settles(ask, seen, seen.whole, spare_s=0)
        return ("met" if is_held else "not_met"), False
    enough, too_little = 1.03 * asked + s.every_s, 0.97 * asked - s.every_s
    agrees, differs = _saturation(s, seen)
    if seen.held_s(ask, -margin_k, seen.covered) <= too_little or differs:
        return "not_met", True
    if agrees and _settles(ask, seen, seen.covered, spare_s=5) and seen.held_s(ask, margin_k, seen.covered) >= enough:
        if seen.held_s(ask, -margin_k, seen.shown) <= too_little:
            return "cannot_tell", True  # only with what the gap hides
        if s.ask.way == "liquid" and s.probe == "chamber":
            return "cannot_tell", True
        if seen.held_s(ask, margin_k, seen.shown) >= enough:
            return "met", True
    return ("met" if seen.held_s(ask, 0, seen.shown) >= asked else "not_met"), False


def _settles(ask: Ask, seen: Curve, where: Where, *, spare_s: float) -> bool:
    """Whether the hold begins as soon as the equilibration of a programme allows, and with seconds to spare."""
    first = np.flatnonzero((seen.celsius >= ask.set_c) & where)
    if ask.equilibration_s is None or not len(first):
        return True
    return bool(seen.stretch(ask, 0, where)[0] - seen.seconds[first[0]] <= ask.equilibration_s - spare_s)


def _saturation(s: Scenario, seen: Curve) -> tuple[bool, bool]:
    """Whether measured and saturated temperature clearly agree in the hold, and whether they clearly differ."""
    begin, end = seen.stretch(s.judged_by, 0, seen.shown)
    if s.dialect.pressure_unit is None or s.probe == "reference-tube" or end - begin < 30:
        return True, False
    inside = (seen.seconds >= begin) & (seen.seconds <= end) & seen.shown
    difference = np.abs(seen.celsius[inside] - saturation_celsius(seen.kpa[inside]))
    agrees = (difference <= SATURATION_K - 0.5).mean() > 0.95
    return bool(agrees), bool((difference >= SATURATION_K + 0.3).mean() > 0.8)


def _f0(s: Scenario, seen: Curve, step_k: float) -> tuple[float, float]:
    """F0 of the covered curve in minutes, and how far readings may be from it.

    By when the first reading fell (a control that swings as often as readings are taken shows one side of its swing),
    by what the steps hide, and by one reading at the end.
    """
    rate = 10 ** ((seen.celsius[seen.covered] - 121.1) / 10)
    f0 = float(np.trapezoid(rate, dx=1.0) / 60)
    thinned = [float(np.trapezoid(rate[first :: s.every_s], dx=s.every_s) / 60) for first in range(s.every_s)]
    sampling = max(abs(some - f0) for some in thinned)
    steps = f0 * (10 ** (0.5 * step_k / 10) - 1 + 0.005)
    return f0, sampling + steps + 0.2 * s.every_s * float(rate.max()) / 60 + 0.005
