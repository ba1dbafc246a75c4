"""A small steam steriliser as heat and mass balances of one well-mixed chamber, many runs side by side.

The chamber holds air and steam (Dalton: their pressures add). Steam comes from a boiler or valve, condenses on wall
and load until they are as hot as steam of its own partial pressure, flashes off again when pressure falls, and leaves
with the air through a pump or a vent. The condensing film is hindered by air. A tube of liquid follows the chamber
with one time constant and boils if it is hotter than steam at the chamber's pressure. Everything is stepped
explicitly at one second; the exchange with the walls, which is faster, is damped by what the vapour itself can take
up.

Saturation pressure: W. Wagner, A. Pruss, "International equations for the saturation properties of ordinary water
substance", J. Phys. Chem. Ref. Data 22 (1993) 783, equation 1; another formula than the one of the project.
Coefficients from memory; test_cycles_steriliser_model.py compares them with the table that is derived from IAPWS-
IF97. Sizes of machines are common practice, no source.
"""

from dataclasses import dataclass, field, fields
from enum import Enum

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

STEP_S = 1.0
STEAM_J_KG_K = 461.5
AIR_J_KG_K = 287.05
LATENT_J_KG = 2.2e6
ALWAYS = float("inf")
NEVER = -float("inf")


_WAGNER = (
    (-7.85951783, 1), (1.84408259, 1.5), (-11.7866497, 3), (22.6807411, 3.5), (-15.9618719, 4), (1.80122502, 7.5),
)  # fmt: skip


def saturation_kpa(celsius: Floats) -> Floats:
    """Return the pressure of saturated steam in kPa, absolute."""
    kelvin = np.asarray(celsius, dtype=float) + 273.15
    v = 1 - kelvin / 647.096
    return np.asarray(22064.0 * np.exp(647.096 / kelvin * sum(a * v**n for a, n in _WAGNER)))


_GRID_C = np.arange(-10.0, 180.0, 0.05)
_GRID_KPA = saturation_kpa(_GRID_C)
_GRID_KG_M3 = _GRID_KPA * 1e3 / (STEAM_J_KG_K * (_GRID_C + 273.15))
_GRID_SLOPE = np.gradient(_GRID_KG_M3, _GRID_C)


def saturation_celsius(kpa: Floats) -> Floats:
    """Return the temperature of saturated steam in degrees Celsius at an absolute pressure in kPa."""
    return np.interp(kpa, _GRID_KPA, _GRID_C)


@dataclass(frozen=True, slots=True, kw_only=True)
class Phase:
    """What the controller does, and what ends it: whichever of its ends comes first."""

    steam_c: float = NEVER
    """Steam is let in up to this chamber temperature; ``ALWAYS`` for as much as there is."""
    steam_kpa: float = ALWAYS
    """Steam is let in up to this pressure."""
    pump: float = 0.0
    """Vacuum pump, part of its power."""
    vent: float = 0.0
    """Opening to the outside, part of full."""
    inlet: float = 0.0
    """Air let in through the filter, part of full."""
    door: float = 0.0
    """Door open: how fast chamber air is exchanged, per second."""
    until_kpa_below: float = NEVER
    until_kpa_above: float = ALWAYS
    until_c_above: float = ALWAYS
    until_liquid_above: float = ALWAYS
    until_liquid_below: float = NEVER
    at_most_s: float = ALWAYS


class AfterCut(Enum):
    """What the controller does when power comes back."""

    CONTINUE = 0
    """Its timer goes on where it stood, whatever the temperature is."""
    RESTART = 1
    """It heats up again and begins the hold anew."""
    ABORT = 2
    """It exhausts and ends."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Machine:
    """One steriliser with its load; sizes for the whole chamber."""

    litres: float = 20.0
    wall_j_k: float = 7000.0
    load_j_k: float = 1500.0
    wall_w_k: float = 500.0
    """Heat that condensing steam gives to the wall, per kelvin."""
    load_w_k: float = 80.0
    loss_w_k: float = 2.4
    steam_kg_s: float = 1.0e-3
    steam_lag_s: float = 6.0
    """How slowly boiler or valve answers."""
    steam_band_k: float = 1.2
    """Proportional band of the temperature control."""
    steam_is_switched: float = 0.0
    """1: on and off around the aim (throttled close to it), instead of in proportion."""
    wet_part: float = 0.03
    """Part of the steam that comes as droplets."""
    jacket_c: float = NEVER
    """Temperature at which the wall is heated from outside."""
    jacket_w: float = 900.0
    pump_l_s: float = 0.9
    pump_floor_kpa: float = 6.0
    exhaust_l_s: float = 3.0
    displacement: float = 1.6
    """How much more air than the mixture holds goes out by the vent at the bottom."""
    leak_kg_s: float = 2e-8
    atmosphere_kpa: float = 101.325
    room_c: float = 22.0
    wall_start_c: float = 30.0
    liquid_lag_s: float = 120.0
    """Time constant of the tube of liquid."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """One run of one machine."""

    machine: Machine
    phases: tuple[Phase, ...]
    hold: int
    """Number of the phase that is the hold."""
    cut_from_s: float = ALWAYS
    """When power fails, in seconds after the hold began."""
    cut_s: float = 0.0
    after_cut: AfterCut = AfterCut.CONTINUE
    abort_s: float = ALWAYS
    """When somebody breaks the run off, in seconds after the hold began."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Course:
    """What truly happened, at every second."""

    seconds: Floats
    kpa: Floats
    chamber_c: Floats
    load_c: Floats
    liquid_c: Floats
    phase: NDArray[np.int8]


@dataclass(slots=True)
class _State:
    """All runs at one moment; each array has shape (runs,)."""

    air_kg: Floats
    steam_kg: Floats
    gas_c: Floats
    wall_c: Floats
    load_c: Floats
    liquid_c: Floats
    control_c: Floats
    flow_kg_s: Floats
    wall_wet_kg: Floats
    load_wet_kg: Floats
    is_steam_on: NDArray[np.bool_]
    phase: NDArray[np.int64]
    phase_s: Floats
    since_hold_s: Floats
    """Seconds since the hold first began, on the wall clock; -1 before."""
    does: dict[str, Floats] = field(default_factory=dict)
    """What each controller does now: the fields of its phase."""
    has_moved: bool = True
    """Whether any controller went on to another phase."""


class _Chambers:
    """Parameters of all runs as arrays, and one step of all of them."""

    def __init__(self, runs: list[Run]) -> None:
        self.m = {f.name: np.array([getattr(r.machine, f.name) for r in runs], dtype=float) for f in fields(Machine)}
        self.m3 = self.m["litres"] / 1000
        longest = max(len(r.phases) for r in runs)
        filled = [r.phases + (Phase(),) * (longest + 1 - len(r.phases)) for r in runs]
        self.p = {f.name: np.array([[getattr(p, f.name) for p in r] for r in filled]) * 1.0 for f in fields(Phase)}
        self.last = np.array([len(r.phases) for r in runs])
        self.hold = np.array([r.hold for r in runs])
        self.cut_from = np.array([r.cut_from_s for r in runs])
        self.cut_to = self.cut_from + np.array([r.cut_s for r in runs])
        self.after = np.array([r.after_cut.value for r in runs])
        self.abort = np.array([r.abort_s for r in runs])
        self.rows = np.arange(len(runs))

    def start(self) -> _State:
        n, m = len(self.rows), self.m
        steam_kpa = 0.6 * saturation_kpa(m["room_c"])
        kelvin = m["room_c"] + 273.15
        zero = np.zeros(n)
        return _State(
            air_kg=(m["atmosphere_kpa"] - steam_kpa) * 1e3 * self.m3 / (AIR_J_KG_K * kelvin),
            steam_kg=steam_kpa * 1e3 * self.m3 / (STEAM_J_KG_K * kelvin),
            gas_c=m["room_c"] + 0.5 * (m["wall_start_c"] - m["room_c"]),
            wall_c=m["wall_start_c"].copy(),
            load_c=m["room_c"].copy(),
            liquid_c=m["room_c"].copy(),
            control_c=m["room_c"].copy(),
            flow_kg_s=zero.copy(),
            wall_wet_kg=zero.copy(),
            load_wet_kg=zero.copy(),
            is_steam_on=np.ones(n, dtype=bool),
            phase=np.zeros(n, dtype=int),
            phase_s=zero.copy(),
            since_hold_s=zero - 1,
        )

    def pressures(self, s: _State) -> tuple[Floats, Floats]:
        """Return the pressures of steam and of air, in kPa."""
        kelvin = s.gas_c + 273.15
        return (
            s.steam_kg * STEAM_J_KG_K * kelvin / self.m3 / 1e3,
            s.air_kg * AIR_J_KG_K * kelvin / self.m3 / 1e3,
        )

    def step(self, s: _State) -> None:
        steam_kpa, air_kpa = self.pressures(s)
        total = steam_kpa + air_kpa
        powered = ~((s.since_hold_s >= self.cut_from) & (s.since_hold_s < self.cut_to))
        if s.has_moved:
            s.does = {name: values[self.rows, np.minimum(s.phase, self.last)] for name, values in self.p.items()}
        does = s.does
        self._let_steam_in(s, does, total, powered)
        self._let_out(s, does, total, powered)
        self._exchange_heat(s, steam_kpa, total, powered & (does["door"] == 0))
        self._follow(s, does, saturation_celsius(total))
        self._control(s, does, total, powered)

    def _let_steam_in(self, s: _State, does: dict[str, Floats], total: Floats, powered: NDArray[np.bool_]) -> None:
        m = self.m
        with np.errstate(invalid="ignore"):
            proportional = np.clip((does["steam_c"] - s.control_c) / m["steam_band_k"], 0, 1)
        s.is_steam_on |= s.control_c < does["steam_c"] - 0.35
        s.is_steam_on &= s.control_c <= does["steam_c"] + 0.05
        with np.errstate(invalid="ignore"):
            throttled = np.where(does["steam_c"] - s.control_c < 2.5, 0.5, 1.0)
        wanted = np.where(m["steam_is_switched"] > 0, s.is_steam_on * throttled, proportional)
        wanted = np.minimum(wanted, np.clip((does["steam_kpa"] - total) / 8, 0, 1)) * powered
        s.flow_kg_s += (wanted * m["steam_kg_s"] - s.flow_kg_s) * STEP_S / (m["steam_lag_s"] + STEP_S)
        s.steam_kg += s.flow_kg_s * (1 - m["wet_part"]) * STEP_S
        s.load_wet_kg += s.flow_kg_s * m["wet_part"] * STEP_S

    def _let_out(self, s: _State, does: dict[str, Floats], total: Floats, powered: NDArray[np.bool_]) -> None:
        m = self.m
        outside = m["atmosphere_kpa"]
        pumped = m["pump_l_s"] * does["pump"] * np.clip(1 - m["pump_floor_kpa"] / total, 0, 1) * powered
        vented = m["exhaust_l_s"] * does["vent"] * np.sqrt(np.clip(1 - outside / total, 0, 1)) * powered
        change = (pumped + vented) / m["litres"] * STEP_S
        richer = np.where(vented > 0, m["displacement"], 1.0)
        s.air_kg *= np.exp(-change * richer)
        s.steam_kg *= np.exp(-change)
        pull = np.sqrt(np.clip(1 - total / outside, 0, 1))
        s.air_kg += (m["leak_kg_s"] + 1.5e-5 * m["litres"] * does["inlet"] * powered) * pull * STEP_S
        fresh = outside * 1e3 * self.m3 / (AIR_J_KG_K * (s.gas_c + 273.15))
        mixed = 1 - np.exp(-does["door"] * STEP_S)
        s.air_kg += (fresh - s.air_kg) * mixed
        s.steam_kg -= s.steam_kg * mixed
        s.gas_c += (m["room_c"] - s.gas_c) * mixed

    def _exchange_heat(self, s: _State, steam_kpa: Floats, total: Floats, is_shut: NDArray[np.bool_]) -> None:
        m = self.m
        steam_c = saturation_celsius(steam_kpa)
        room = self.m3 * np.interp(steam_c, _GRID_C, _GRID_SLOPE) * LATENT_J_KG
        hindered = np.clip(steam_kpa / 50, 0.04, 1) / (1 + 25 * np.clip(1 - steam_kpa / total, 0, 1))
        damped = 1 + (m["wall_w_k"] + m["load_w_k"]) * hindered * STEP_S / room
        for name in ("wall", "load"):
            surface, wet = getattr(s, f"{name}_c"), getattr(s, f"{name}_wet_kg")
            watts = m[f"{name}_w_k"] * hindered * (steam_c - surface) / damped
            kg = np.clip(watts * STEP_S / LATENT_J_KG, -wet, 0.5 * s.steam_kg)
            s.steam_kg -= kg
            wet += kg
            surface += (kg * LATENT_J_KG + 0.012 * m[f"{name}_w_k"] * (s.gas_c - surface) * STEP_S) / m[f"{name}_j_k"]
        jacket = np.clip((m["jacket_c"] - s.wall_c) * 200, 0, 1) * m["jacket_w"] * is_shut
        s.wall_c += (jacket - m["loss_w_k"] * (s.wall_c - m["room_c"])) * STEP_S / m["wall_j_k"]
        s.wall_wet_kg *= 1 - STEP_S / 90
        dry = 1 - np.clip(s.wall_wet_kg / 0.004, 0, 1)
        aim = steam_c + 0.75 * dry * np.clip(s.wall_c - steam_c, 0, None)
        s.gas_c = np.maximum(s.gas_c + (aim - s.gas_c) * STEP_S / (1.2 + 4 * dry), steam_c)

    def _follow(self, s: _State, does: dict[str, Floats], boiling_c: Floats) -> None:
        s.control_c += (s.gas_c - s.control_c) * STEP_S / 2.5
        s.liquid_c += (s.gas_c - s.liquid_c) * STEP_S / self.m["liquid_lag_s"]
        s.liquid_c -= np.clip(s.liquid_c - boiling_c - 0.3, 0, None) * STEP_S / 8 * (does["door"] == 0)

    def _control(self, s: _State, does: dict[str, Floats], total: Floats, powered: NDArray[np.bool_]) -> None:
        s.phase_s += STEP_S * powered
        ended = (total <= does["until_kpa_below"]) | (total >= does["until_kpa_above"])
        ended |= (s.control_c >= does["until_c_above"]) | (s.liquid_c >= does["until_liquid_above"])
        ended |= (s.liquid_c <= does["until_liquid_below"]) | (s.phase_s >= does["at_most_s"])
        back = (s.since_hold_s >= self.cut_to) & (s.since_hold_s < self.cut_to + STEP_S)
        restart, abort = back & (self.after == 1), back & (self.after == 2)
        abort |= (s.since_hold_s >= self.abort) & (s.phase <= self.hold)
        following = np.where(ended & powered, s.phase + 1, s.phase)
        following = np.where(restart, self.hold - 1, np.where(abort, self.hold + 1, following))
        s.phase_s = np.where((following != s.phase) | restart, 0.0, s.phase_s)
        s.has_moved = bool((following != s.phase).any())
        s.phase = following
        s.since_hold_s = np.where(s.since_hold_s >= 0, s.since_hold_s + STEP_S, s.since_hold_s)
        s.since_hold_s = np.where((s.since_hold_s < 0) & (s.phase == self.hold), 0.0, s.since_hold_s)


def simulate(runs: list[Run], *, longest_s: int = 12_000) -> list[Course]:
    """Step all runs until the last has ended, at most ``longest_s``; return what happened in each."""
    chambers = _Chambers(runs)
    s = chambers.start()
    kept: list[tuple[Floats, ...]] = []
    for _ in range(int(longest_s / STEP_S)):
        steam, air = chambers.pressures(s)
        kept.append((steam + air, s.gas_c.copy(), s.load_c.copy(), s.liquid_c.copy(), s.phase.astype(float)))
        if (s.phase >= chambers.last).all():
            break
        chambers.step(s)
    whole = np.array(kept).transpose(2, 1, 0)
    return [_course(whole[i], len(run.phases)) for i, run in enumerate(runs)]


def _course(rows: Floats, phases: int) -> Course:
    ended = np.flatnonzero(rows[4] >= phases)
    end = ended[0] if len(ended) else rows.shape[1]
    kpa, chamber, load, liquid = rows[:4, :end].copy()
    return Course(
        seconds=np.arange(end, dtype=float), kpa=kpa, chamber_c=chamber, load_c=load, liquid_c=liquid,
        phase=rows[4, :end].astype(np.int8),
    )  # fmt: skip
