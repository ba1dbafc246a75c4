"""Two hundred logs of the modelled steriliser from one seed, each with its truth fixed before anybody reads the file.

A scenario is a plan (what the machine is meant to do, what goes wrong), a measuring chain, a dialect and faults of
the logger. The truth comes from the curve without noise at every second, with the published numbers of each programme
written here once more, and counts as unambiguous only if it stays the same when the band is made narrower and wider
by a margin (0.3 K, or what noise and steps can hide) and the hold is asked with 3 per cent more or less and one
reading.

Sources of the programmes' numbers: CDC 2008, Guideline for Disinfection and Sterilization, table 7 (least times, no
upper limit); EN 285 / EN 13060 as quoted by WHO/PAHO 2016 (0 to 3 K above the set temperature; from memory).
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import numpy as np
from steriliser_logger import Dialect, Faults, Reference, Sensor
from steriliser_model import ALWAYS, AfterCut, Machine, Phase, Run, saturation_kpa

SATURATION_K = 2.0
MARGIN_K = 0.3


@dataclass(frozen=True, slots=True, kw_only=True)
class Ask:
    """What a programme asks, by the published numbers."""

    programme: str
    """Name of its file."""
    way: str
    """``vacuum``, ``gravity`` or ``liquid``: how air is driven out, and what for."""
    set_c: float
    hold_minutes: float
    above_k: float | None = None
    equilibration_s: float | None = None

    @property
    def name(self) -> str:
        return f"{self.way} {self.set_c:g}/{self.hold_minutes:g}"


def _banded(programme: str, set_c: float, hold_minutes: float) -> Ask:
    return Ask(
        programme=programme, way="vacuum", set_c=set_c, hold_minutes=hold_minutes, above_k=3.0, equilibration_s=15.0
    )


V121 = _banded("wrapped-121c-15min", 121, 15)
V126 = _banded("wrapped-126c-10min", 126, 10)
V134 = _banded("wrapped-134c-3min", 134, 3)
V134_SMALL = _banded("own-134c-3.5min", 134, 3.5)
V134_LONG = _banded("own-134c-18min", 134, 18)
V132 = Ask(programme="wrapped-instruments-air-removal-132c-4min", way="vacuum", set_c=132, hold_minutes=4)
G121 = Ask(programme="wrapped-instruments-gravity-121c-30min", way="gravity", set_c=121, hold_minutes=30)
G132 = Ask(programme="wrapped-instruments-gravity-132c-15min", way="gravity", set_c=132, hold_minutes=15)
L121 = Ask(programme="liquid-121c-15min", way="liquid", set_c=121, hold_minutes=15, above_k=3.0)
VACUUM = (V134_SMALL, V121, V134, V132, V134_LONG, V126)
BANDED = (V134_SMALL, V121, V134_LONG, V126)
WRAPPED = (*VACUUM, G121, G132)
ALL = (*WRAPPED, L121)


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """What the machine does."""

    machine: Machine
    target_above_k: float
    """Its control's aim above the set temperature."""
    hold_s: float
    pulses: int = 3
    vacuum_kpa: float = 15.0
    pulse_kpa: float = 160.0
    dry_s: float = 500.0
    steam_kpa: float = ALWAYS
    """Control by pressure, if finite."""
    come_up_at_most_s: float = 4000.0
    vent_s: float = 120.0
    """How long a gravity cycle vents once the vent is hot."""
    vents_at_c: float = 100.5
    excursion: tuple[float, float, float] | None = None
    """Runs hot in the hold: after how many seconds, for how long, kelvin above the set temperature."""
    door_after_hold: bool = False
    cut_from_s: float = ALWAYS
    cut_s: float = 0.0
    after_cut: AfterCut = AfterCut.CONTINUE
    abort_s: float = ALWAYS
    hold_by_chamber: bool = False
    """A liquid cycle that counts from the chamber's temperature on."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Hold:
    """What the controller took for the hold, and how often the logger takes a reading; in seconds."""

    begin: float
    end: float
    every: float

    def at(self, part: float) -> float:
        return self.begin + part * (self.end - self.begin)


@dataclass(frozen=True, slots=True, kw_only=True)
class Scenario:
    """One log to be."""

    family: str
    ask: Ask
    judged_by: Ask
    probe: str
    plan: Plan
    thermometer: Sensor
    gauge: Sensor
    every_s: int
    dialect: Dialect
    intended: str | None
    """Verdict that the family is made for; None where it is meant to be doubtful."""
    allowed: frozenset[str] | None = None
    """Verdicts that are right, where the truth alone does not say."""
    drift_k: float = 0.0
    """What the probe has drifted by when the hold begins."""
    faults: Callable[[Hold], Faults] = lambda _: Faults()
    """Faults of the logger, placed by the hold."""


# --- the plan as phases ----------------------------------------------------------------------------------------------


def run_of(plan: Plan, ask: Ask) -> Run:
    target = ask.set_c + plan.target_above_k
    arrives = min(ask.set_c + 0.3, target - 0.4)
    steam = {"steam_c": target, "steam_kpa": plan.steam_kpa}
    if plan.steam_kpa != ALWAYS:
        steam["steam_c"] = ALWAYS
    before = _vacuum_phases(plan) if ask.way == "vacuum" else _gravity_phases(plan)
    ends: dict[str, float] = {"until_c_above": arrives}
    if plan.steam_kpa != ALWAYS:
        ends = {"until_kpa_above": plan.steam_kpa - 6}
    elif ask.way == "liquid" and not plan.hold_by_chamber:
        ends = {"until_liquid_above": min(ask.set_c + 0.4, target - 0.3)}
    come_up = Phase(**steam, **ends, at_most_s=plan.come_up_at_most_s)
    hold = [Phase(**steam, at_most_s=plan.hold_s)]
    if plan.excursion is not None:
        after, lasting, above = plan.excursion
        hot = {"steam_c": ask.set_c + above, "steam_kpa": ALWAYS}
        hold = [Phase(**steam, at_most_s=after), Phase(**hot, at_most_s=lasting), *hold]
        hold[-1] = Phase(**steam, at_most_s=plan.hold_s - after)
    phases = (*before, come_up, *hold, *_phases_after(plan, ask))
    return Run(
        machine=plan.machine, phases=phases, hold=len(before) + 1, cut_from_s=plan.cut_from_s, cut_s=plan.cut_s,
        after_cut=plan.after_cut, abort_s=plan.abort_s,
    )  # fmt: skip


def _vacuum_phases(plan: Plan) -> tuple[Phase, ...]:
    one = (
        Phase(pump=1, until_kpa_below=plan.vacuum_kpa, at_most_s=400),
        Phase(steam_c=ALWAYS, steam_kpa=plan.pulse_kpa + 10, until_kpa_above=plan.pulse_kpa, at_most_s=1500),
        Phase(vent=1, until_kpa_below=plan.machine.atmosphere_kpa + 8, at_most_s=60),
    )
    return (Phase(at_most_s=20), *(one * plan.pulses))


def _gravity_phases(plan: Plan) -> tuple[Phase, ...]:
    return (
        Phase(at_most_s=20),
        Phase(steam_c=ALWAYS, vent=0.5, until_c_above=plan.vents_at_c, at_most_s=2400),
        Phase(steam_c=ALWAYS, vent=0.5, at_most_s=plan.vent_s),
    )


def _phases_after(plan: Plan, ask: Ask) -> tuple[Phase, ...]:
    outside = plan.machine.atmosphere_kpa
    exhaust = Phase(vent=1, until_kpa_below=outside + 6, at_most_s=400)
    if plan.door_after_hold:
        return (exhaust, Phase(door=0.02, at_most_s=120))
    if ask.way == "liquid":
        cooling = Phase(until_liquid_below=95, until_kpa_below=outside + 2, at_most_s=3600)
        return (cooling, Phase(vent=0.2, inlet=0.3, until_liquid_below=80, at_most_s=1200))
    if ask.way == "gravity":
        return (exhaust, Phase(vent=1, inlet=0.2, at_most_s=plan.dry_s))
    inlet = Phase(inlet=1, until_kpa_above=outside - 3, at_most_s=300)
    return (exhaust, Phase(pump=1, at_most_s=plan.dry_s), inlet, Phase(inlet=1, at_most_s=60))


# --- normal draws ----------------------------------------------------------------------------------------------------


def _machine(rng: np.random.Generator, ask: Ask) -> Machine:
    litres, is_switched = rng.uniform(15, 58), rng.random() < 0.3

    def about(each: float) -> float:
        return float(litres * each * rng.uniform(0.85, 1.15))

    return Machine(
        litres=litres, wall_j_k=about(350), load_j_k=about(80), wall_w_k=about(25), load_w_k=about(4),
        loss_w_k=about(0.11), steam_kg_s=about(5e-5), pump_l_s=about(0.045), exhaust_l_s=about(0.15),
        steam_lag_s=rng.uniform(0.5, 1) if is_switched else rng.uniform(2, 5),
        steam_band_k=rng.uniform(1.0, 1.6), steam_is_switched=float(is_switched), wet_part=rng.uniform(0.01, 0.05),
        atmosphere_kpa=rng.uniform(99.8, 102.4), room_c=rng.uniform(17, 27), wall_start_c=rng.uniform(22, 60),
        displacement=rng.uniform(1.5, 2.2), liquid_lag_s=rng.uniform(60, 200) if ask.way == "liquid" else 100.0,
    )  # fmt: skip


def _plan(rng: np.random.Generator, ask: Ask, every_s: int) -> Plan:
    machine = _machine(rng, ask)
    return Plan(
        machine=machine, target_above_k=rng.uniform(1.1, 1.6) + 0.2 * machine.steam_is_switched,
        hold_s=ask.hold_minutes * 60 * rng.uniform(1.08, 1.2) + 2 * every_s, pulses=int(rng.integers(3, 5)),
        vacuum_kpa=rng.uniform(12, 20), pulse_kpa=rng.uniform(140, 160), dry_s=rng.uniform(240, 800),
        vent_s=rng.uniform(180, 360),
    )  # fmt: skip


EVERY_S = (5, [1, 2, 2, 5, 5, 10]), (15, [2, 5, 10, 15, 20, 30]), (ALWAYS, [5, 10, 20, 30, 60])
"""Holds shorter than so many minutes are logged with one of these intervals."""
UNITS = {"kPa": (0.1, 1.0), "bar": (0.001, 0.01), "mbar": (1.0,), "psi": (0.01, 0.1), "MPa": (0.001,)}


def _dialect(rng: np.random.Generator, *, fahrenheit: bool, pressure: bool) -> Dialect:
    language = str(rng.choice(["en", "en", "de", "fr", "es", "it", "nl", "pt", "sv"]))
    separator, mark = (",", ".") if language == "en" else (";", ",")
    if rng.random() < 0.25:
        separator = str(rng.choice(["\t", ";", "|"]))
    date = "mdy" if language == "en" else "dmy"
    times = ["iso", "elapsed_s", "elapsed_min", "elapsed_hms", "clock", date, "two_columns"]
    unit = str(rng.choice(list(UNITS)))
    reference = Reference.GAUGE if rng.random() < 0.4 else Reference.ABSOLUTE
    letter = "F" if fahrenheit else "C"
    return Dialect(
        language=language, separator=separator, decimal_mark=mark, time=str(rng.choice(times)),
        temperature_unit=letter, said_temperature=letter,
        temperature_step=float(rng.choice([0.1, 0.1, 1.0] if fahrenheit else [0.01, 0.1, 0.1, 0.5])),
        pressure_unit=unit if pressure else None, pressure_step=float(rng.choice(UNITS[unit])), said_pressure=unit,
        reference=reference, said_reference=None if rng.random() < 0.4 else reference,
        units_in_own_row=rng.random() < 0.15, preamble=int(rng.choice([0, 0, 3, 5])), has_index=rng.random() < 0.2,
        has_phase=rng.random() < 0.15, encoding=str(rng.choice(["utf-8", "utf-8-sig", "cp1252", "utf-16"])),
        newline=str(rng.choice(["\r\n", "\n"])),
        begin=datetime(2026, 1, 1) + timedelta(minutes=int(rng.integers(0, 365 * 24 * 60))),  # noqa: DTZ001
    )  # fmt: skip


def _normal(rng: np.random.Generator, ask: Ask, family: str, intended: str | None, *, fahrenheit: bool | None = None,
            pressure: bool = True) -> Scenario:  # fmt: skip
    every_s = int(rng.choice(next(often for longest, often in EVERY_S if ask.hold_minutes < longest)))
    is_fahrenheit = rng.random() < 0.12 if fahrenheit is None else fahrenheit
    return Scenario(
        family=family, ask=ask, judged_by=ask, probe="reference-tube" if ask.way == "liquid" else "chamber",
        plan=_plan(rng, ask, every_s),
        thermometer=Sensor(lag_s=rng.uniform(1, 4), offset=float(np.clip(rng.normal(0, 0.08), -0.15, 0.15)),
                           noise=rng.uniform(0.005, 0.05)),
        gauge=Sensor(lag_s=0.5, offset=rng.uniform(-0.6, 0.6), noise=rng.uniform(0.03, 0.25)),
        every_s=every_s, dialect=_dialect(rng, fahrenheit=is_fahrenheit, pressure=pressure), intended=intended,
    )  # fmt: skip


# --- families: what goes wrong ---------------------------------------------------------------------------------------

Maker = Callable[[np.random.Generator, Ask], Scenario]


def _good(rng, ask):
    return _normal(rng, ask, "good", "met", pressure=rng.random() < 0.85)


def _short_hold(rng, ask):
    s = _normal(rng, ask, "short hold", "not_met", pressure=rng.random() < 0.85)
    asked = ask.hold_minutes * 60
    return replace(s, plan=replace(s.plan, hold_s=max(5.0, asked * rng.uniform(0.35, 0.8) - 2 * s.every_s)))


def _too_cold(rng, ask):
    s = _normal(rng, ask, "too cold", "not_met", pressure=rng.random() < 0.85)
    return replace(s, plan=replace(s.plan, target_above_k=-rng.uniform(1.3, 5)))


def _air_by_pressure(rng, ask):
    s = _normal(rng, ask, "air, controlled by pressure", "not_met")
    trapped = {"pulses": 1, "vacuum_kpa": rng.uniform(28, 45), "vents_at_c": rng.uniform(70, 80), "vent_s": 2.0}
    return replace(s, plan=replace(s.plan, steam_kpa=float(saturation_kpa(ask.set_c + 1.2)), **trapped))


def _air_by_temperature(rng, ask):
    s = _normal(rng, ask, "air, controlled by temperature", "not_met")
    plan = replace(s.plan, pulses=1, vacuum_kpa=rng.uniform(46, 58), vents_at_c=rng.uniform(70, 78), vent_s=2.0)
    return replace(s, plan=plan)


def _little_air(rng, ask):
    s = _normal(rng, ask, "a little air", "met")
    return replace(s, plan=replace(s.plan, pulses=2, vacuum_kpa=rng.uniform(26, 30)))


def _wet_steam(rng, ask):
    s = _normal(rng, ask, "wet steam", "met")
    return replace(s, plan=replace(s.plan, machine=replace(s.plan.machine, wet_part=rng.uniform(0.12, 0.25))))


def _superheat(rng, ask):
    s = _normal(rng, ask, "superheat", "not_met")
    hot = replace(s.plan.machine, jacket_c=ask.set_c + rng.uniform(3.0, 3.8), jacket_w=s.plan.machine.litres * 60)
    return replace(
        s, plan=replace(s.plan, machine=hot, steam_kpa=float(saturation_kpa(ask.set_c - rng.uniform(3.2, 4.0))) + 6)
    )


def _slow_come_up(rng, ask):
    s = _normal(rng, ask, "slow come-up", "met")
    return replace(
        s, plan=replace(s.plan, machine=replace(s.plan.machine, steam_kg_s=s.plan.machine.steam_kg_s * 0.45))
    )


def _never_arrives(rng, ask):
    s = _normal(rng, ask, "never arrives", "not_met")
    weak = replace(s.plan.machine, steam_kg_s=s.plan.machine.steam_kg_s * 0.3)
    return replace(s, plan=replace(s.plan, machine=weak, come_up_at_most_s=60, hold_s=max(30.0, ask.hold_minutes * 24)))


def _abort(rng, ask):
    s = _normal(rng, ask, "broken off in the hold", "not_met")
    return replace(s, plan=replace(s.plan, abort_s=ask.hold_minutes * 60 * rng.uniform(0.2, 0.7)))


def _early_door(rng, ask):
    s = _normal(rng, ask, "door opened instead of drying", "met")
    return replace(s, plan=replace(s.plan, door_after_hold=True))


def _small_drift(rng, ask):
    return replace(_normal(rng, ask, "small drift", "met"), drift_k=float(rng.choice([-1, 1]) * rng.uniform(0.1, 0.2)))


def _drifted_low(rng, ask):
    return replace(_normal(rng, ask, "drifted low", "not_met"), drift_k=-rng.uniform(3.2, 5))


def _drifted_high(rng, ask):
    s = _normal(rng, ask, "drifted high", "not_met")
    return replace(s, drift_k=rng.uniform(3.3, 4.0), plan=replace(s.plan, target_above_k=-rng.uniform(1.9, 2.3)))


def _cut(rng, ask, family, intended, after):
    s = _normal(rng, ask, family, intended)
    plan = replace(
        s.plan, cut_from_s=ask.hold_minutes * 60 * rng.uniform(0.3, 0.6), cut_s=rng.uniform(300, 480), after_cut=after
    )
    return replace(s, plan=replace(plan, machine=replace(plan.machine, loss_w_k=plan.machine.litres * 0.16)))


def _cut_continued(rng, ask):
    return _cut(rng, ask, "power cut, timer went on", "not_met", AfterCut.CONTINUE)


def _cut_restarted(rng, ask):
    return _cut(rng, ask, "power cut, hold begun anew", "met", AfterCut.RESTART)


def _cut_ended(rng, ask):
    return _cut(rng, ask, "power cut, not resumed", "not_met", AfterCut.ABORT)


def _cut_blip(rng, ask):
    s = _normal(rng, ask, "power cut of seconds", "met")
    return replace(s, plan=replace(s.plan, cut_from_s=ask.hold_minutes * 20, cut_s=rng.uniform(2, 6)))


def _wrong_reference(rng, ask):
    s = _normal(rng, ask, "gauge and absolute mixed up", "met", fahrenheit=False)
    other = Reference.ABSOLUTE if s.dialect.reference == Reference.GAUGE else Reference.GAUGE
    return replace(s, dialect=replace(s.dialect, said_reference=other))


def _wrong_reference_short(rng, ask):
    s = _wrong_reference(rng, ask)
    plan = replace(s.plan, hold_s=ask.hold_minutes * 60 * 0.7 - 2 * s.every_s)
    return replace(s, family="gauge and absolute mixed up, short hold", intended="not_met", plan=plan)


def _wrong_temperature_unit(rng, ask):
    s = _normal(rng, ask, "Celsius and Fahrenheit mixed up", "met")
    return replace(s, dialect=replace(s.dialect, said_temperature="F" if s.dialect.temperature_unit == "C" else "C"))


def _unlabelled(rng, ask):
    s = _normal(rng, ask, "no units in the header", "met")
    return replace(s, dialect=replace(s.dialect, said_temperature=None, said_pressure=None, said_reference=None))


def _fahrenheit(rng, ask):
    return _normal(rng, ask, "Fahrenheit", "met", fahrenheit=True)


def _fahrenheit_cold(rng, ask):
    s = _normal(rng, ask, "Fahrenheit, too cold", "not_met", fahrenheit=True)
    return replace(s, plan=replace(s.plan, target_above_k=-rng.uniform(1.8, 4)))


def _decimal_comma(rng, ask):
    s = _normal(rng, ask, "decimal comma", "met")
    separator = str(rng.choice([";", "\t", "|"]))
    return replace(s, dialect=replace(s.dialect, decimal_mark=",", separator=separator, temperature_step=0.1))


def _late_before_hold(rng, ask):
    s = _normal(rng, ask, "log starts hot", "met")
    return replace(
        s, dialect=_said(s.dialect), faults=lambda hold: Faults(starts_s=hold.begin - max(90, 2 * hold.every))
    )


def _said(dialect: Dialect) -> Dialect:
    return replace(dialect, said_reference=dialect.reference)


def _late_enough(rng, ask):
    s = _normal(rng, ask, "log starts in the hold, enough is left", "met")
    plan = replace(s.plan, hold_s=s.plan.hold_s + 180)
    return replace(s, plan=plan, dialect=_said(s.dialect), faults=lambda hold: Faults(starts_s=hold.begin + 120))


def _late_too_late(rng, ask):
    s = _normal(rng, ask, "log starts too late in the hold", None)
    return replace(s, dialect=_said(s.dialect), faults=lambda hold: Faults(starts_s=hold.at(0.5)))


def _ends_early(rng, ask):
    s = _normal(rng, ask, "log ends in the hold", None)
    return replace(s, faults=lambda hold: Faults(ends_s=hold.at(0.5)))


def _gap_before(rng, ask):
    s = _normal(rng, ask, "gap in the come-up", "met")
    return replace(
        s, faults=lambda hold: Faults(gap=(hold.begin - 330 - 4 * hold.every, hold.begin - 40 - 2 * hold.every))
    )


def _gap_not_needed(rng, ask):
    s = _normal(rng, ask, "gap in a long hold", "met")
    longer = max(400.0, 16 * s.every_s)
    plan = replace(s.plan, hold_s=s.plan.hold_s + longer + 120)
    return replace(s, plan=plan, faults=lambda hold: Faults(gap=(hold.begin + 60, hold.begin + longer)))


def _gap_needed(rng, ask):
    s = _normal(rng, ask, "gap in the hold", "cannot_tell")
    s = replace(s, every_s=min(s.every_s, 10))
    return replace(s, faults=lambda hold: Faults(gap=(hold.at(0.4), hold.at(0.7))))


def _liquid_by_chamber(rng, ask):
    return replace(_normal(rng, ask, "liquid judged in the chamber", "cannot_tell"), probe="chamber")


def _liquid_by_chamber_cold(rng, ask):
    s = _normal(rng, ask, "liquid, the chamber itself too cold", "not_met")
    return replace(s, probe="chamber", plan=replace(s.plan, target_above_k=-rng.uniform(1.3, 4)))


def _liquid_lags(rng, ask):
    s = _normal(rng, ask, "liquid lags behind the chamber", "not_met")
    slow = replace(s.plan.machine, liquid_lag_s=rng.uniform(420, 700))
    return replace(s, plan=replace(s.plan, machine=slow, hold_by_chamber=True, hold_s=ask.hold_minutes * 60 * 1.1))


def _wrapped_for_liquid(rng, ask):
    s = _normal(rng, ask, "programme for wrapped goods on a liquid", None)
    return replace(s, judged_by=V121, allowed=frozenset({"not_met", "cannot_tell"}))


def _too_hot(rng, ask):
    s = _normal(rng, ask, "beyond the band in the hold", "not_met")
    asked = ask.hold_minutes * 60
    strong = replace(s.plan.machine, steam_kg_s=s.plan.machine.litres * 1.2e-4, steam_is_switched=0.0)
    hot = (asked * rng.uniform(0.3, 0.55), max(60.0, 4.0 * s.every_s, 0.15 * asked), rng.uniform(4.6, 6))
    return replace(s, plan=replace(s.plan, machine=strong, hold_s=asked * 0.95, excursion=hot))


def _hot_without_limit(rng, ask):
    s = _normal(rng, ask, "hot, and no upper limit", "met")
    return replace(s, plan=replace(s.plan, target_above_k=rng.uniform(3.5, 4.5)))


def _clock_step(rng, ask):
    s = _normal(rng, ask, "clock set in the come-up", "met")
    step, timed = float(rng.choice([-3600, 3600])), str(rng.choice(["iso", "two_columns"]))
    return replace(s, dialect=replace(s.dialect, time=timed),
                   faults=lambda hold: Faults(clock_step=(hold.begin - 200 - 3 * hold.every, step)))  # fmt: skip


def _clock_in_hold(rng, ask):
    s = _normal(rng, ask, "clock set in the hold", None)
    step = float(rng.choice([-3600, 3600]))
    return replace(s, dialect=replace(s.dialect, time="iso"),
                   faults=lambda hold: Faults(clock_step=(hold.at(0.5), step)))  # fmt: skip


def _clock_in_short_hold(rng, ask):
    s = replace(_clock_in_hold(rng, ask), family="clock set ahead in a short hold")
    return replace(s, plan=replace(s.plan, hold_s=ask.hold_minutes * 60 * 0.6 - s.every_s),
                   faults=lambda hold: Faults(clock_step=(hold.at(0.5), 3600.0)))  # fmt: skip


def _doubled(rng, ask):
    s = _normal(rng, ask, "rows written twice", "met")
    return replace(s, faults=lambda hold: Faults(doubled=(hold.begin - 100, hold.at(0.5), hold.end + 60)))


def _spiked(rng, ask):
    s = _normal(rng, ask, "spikes", "met", fahrenheit=False)
    value = float(rng.choice([0.0, -200.0, 850.0, 999.9, 60.0, 175.0]))
    s = replace(s, every_s=min(s.every_s, 15))
    return replace(s, faults=lambda hold: Faults(spikes=((hold.begin - 150, value), (hold.at(0.6), value))))


def _marginal_hold(rng, ask):
    s = _normal(rng, ask, "hold just long or short enough", None)
    s = replace(s, every_s=1 if ask.hold_minutes < 5 else 5)
    factor = float(rng.choice([rng.uniform(0.9, 0.94), rng.uniform(1.0, 1.03)]))
    return replace(s, plan=replace(s.plan, hold_s=ask.hold_minutes * 60 * factor))


def _marginal_temperature(rng, ask):
    s = _normal(rng, ask, "just warm enough", None, fahrenheit=False)
    steady = replace(s.plan.machine, steam_is_switched=0.0, steam_lag_s=1.0, steam_band_k=1.0)
    s = replace(s, dialect=replace(s.dialect, temperature_step=0.01), thermometer=replace(s.thermometer, noise=0.01))
    return replace(s, plan=replace(s.plan, machine=steady, target_above_k=rng.uniform(0.55, 0.7)))


FAMILIES: tuple[tuple[Maker, int, tuple[Ask, ...]], ...] = (
    (_short_hold, 12, ALL),
    (_too_cold, 10, ALL),
    (_air_by_pressure, 5, (V134_SMALL, V121, V132, V134_LONG, G121)),
    (_air_by_temperature, 6, (V134_SMALL, V121, G121, V132, V126, V134)),
    (_little_air, 3, (V134_SMALL, V121, V132)),
    (_wet_steam, 4, (V134_SMALL, V121, G121, V126)),
    (_superheat, 6, VACUUM),
    (_slow_come_up, 4, (V134_LONG, G121, V121, V132)),
    (_never_arrives, 4, (V134_SMALL, V126, G132, V132)),
    (_abort, 4, (V134_LONG, V121, G121, L121)),
    (_early_door, 3, (V134_SMALL, G132, V132)),
    (_small_drift, 4, (V134_SMALL, V121, G121, L121)),
    (_drifted_low, 2, (V134, V121)),
    (_drifted_high, 3, (V134_SMALL, V126, G121)),
    (_cut_continued, 3, (V121, V134_LONG, G121)),
    (_cut_restarted, 2, (G132, V132)),
    (_cut_ended, 3, (V121, V134_LONG, G121)),
    (_cut_blip, 2, (V121, V134_LONG)),
    (_wrong_reference, 7, WRAPPED),
    (_wrong_reference_short, 1, (V121,)),
    (_wrong_temperature_unit, 2, (V134_SMALL, V121)),
    (_unlabelled, 5, (V134_SMALL, V121, G121, V132, V126)),
    (_fahrenheit, 6, (G121, V132, L121, V121, G132, V126)),
    (_fahrenheit_cold, 2, (G121, V132)),
    (_decimal_comma, 8, WRAPPED),
    (_late_before_hold, 3, (V134_SMALL, V121, G121)),
    (_late_enough, 2, (V134_LONG, G121)),
    (_late_too_late, 2, (V121, V134_LONG)),
    (_ends_early, 2, (V121, V134_LONG)),
    (_gap_before, 3, (V134_SMALL, V121, G132)),
    (_gap_not_needed, 3, (V121, G132, V134_LONG)),
    (_gap_needed, 4, (V121, V134_LONG, G121, V126)),
    (_liquid_by_chamber, 5, (L121,)),
    (_liquid_by_chamber_cold, 2, (L121,)),
    (_liquid_lags, 4, (L121,)),
    (_wrapped_for_liquid, 3, (L121,)),
    (_too_hot, 5, BANDED),
    (_hot_without_limit, 2, (V132, G121)),
    (_clock_step, 3, (V121, V134_SMALL, G121)),
    (_clock_in_hold, 2, (V121, G121)),
    (_clock_in_short_hold, 1, (V121,)),
    (_doubled, 2, (V134_SMALL, V121)),
    (_spiked, 5, (V134_SMALL, V121, G121, V132, L121)),
    (_marginal_hold, 5, (V121, V134, G121, V132, V126)),
    (_marginal_temperature, 3, (G132, V132, G121)),
)
COUNT = 200


def draw(seed: int) -> list[Scenario]:
    """Return the scenarios of a seed; good cycles of every kind fill up what the families leave."""
    makers = [(maker, asks[i % len(asks)]) for maker, count, asks in FAMILIES for i in range(count)]
    makers += [(_good, ALL[i % len(ALL)]) for i in range(COUNT - len(makers))]
    return [maker(np.random.default_rng([seed, i]), ask) for i, (maker, ask) in enumerate(makers)]
