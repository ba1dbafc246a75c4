"""Cycles for the tests of pages: what a logger of a small steriliser may have written, and what follows from it."""

import numpy as np

from tracelabels.custody import CycleKind, Goods, ProbePlace, ReadingsVerdict
from tracelabels.cycles import (
    Band,
    CycleFindings,
    Lethality,
    Plateau,
    Programme,
    Readings,
    Saturation,
    Span,
    Suspicion,
)
from tracelabels.cycles.steam import saturation_pressure_kpa, saturation_temperature_c

WRAPPED_134 = Programme(
    name="wrapped-134",
    title="Wrapped instruments, air removal, 134 °C",
    goods=Goods.WRAPPED,
    cycle_kinds=(CycleKind.AIR_REMOVAL,),
    band=Band(set_c=134.0, above_k=3.0),
    hold_minutes=3.5,
    source="invented for the tests",
    equilibration_s=15.0,
    fluctuation_k=2.0,
    least_f0=15.0,
)


def readings(
    *, step_s: float = 1.0, set_c: float = 135.2, hold_s: float = 300.0, with_pressure: bool = True, gaps=()
) -> Readings:
    """Three pulses of vacuum and steam, come-up, a hold with a slow swing, blow-down and drying under vacuum."""
    corners = [(0, 22), (90, 45), (180, 104), (240, 62), (330, 112), (390, 66), (480, 118), (540, 70)]
    corners += [(780, set_c), (780 + hold_s, set_c), (840 + hold_s, 104), (930 + hold_s, 72), (1700 + hold_s, 61)]
    times, levels = zip(*corners, strict=True)
    seconds = np.arange(0.0, times[-1], step_s)
    for gap in gaps:
        seconds = seconds[(seconds <= gap.start_s) | (seconds >= gap.end_s)]
    celsius = np.interp(seconds, times, levels) + 0.25 * np.sin(seconds / 37.0)
    kpa = np.maximum(saturation_pressure_kpa(celsius), 8.0) + 0.4 * np.sin(seconds / 11.0)
    kpa[seconds < 90] = 101.3
    return Readings(seconds=seconds, celsius=celsius, kpa=kpa if with_pressure else None, gaps=gaps)


def findings(
    of: Readings,
    *,
    programme: Programme | None = WRAPPED_134,
    verdict: ReadingsVerdict | None = ReadingsVerdict.MET,
    reasons: tuple[str, ...] = ("the temperature was held for as long as asked; the probe sat in the chamber",),
    has_plateau: bool = True,
    notes: tuple[str, ...] = (),
) -> CycleFindings:
    """What a simple computing finds in them: enough for a picture, not for a verdict."""
    rate = 10 ** ((of.celsius - 121.1) / 10) / 60
    steps = np.diff(of.seconds, prepend=of.seconds[0])
    grown = np.cumsum(np.nan_to_num(rate) * steps)
    f0 = float(grown[-1])
    lethality = Lethality(f0=f0, interval=(f0 * 0.89, f0 * 1.12), reference_c=121.1, z_k=10.0, grown=grown)
    is_held = np.nan_to_num(of.celsius) >= 134.0
    plateau = None
    if has_plateau and is_held.any():
        held = of.seconds[is_held]
        span = Span(start_s=float(held[0]), end_s=float(held[-1]))
        plateau = Plateau(
            span=span,
            hold_minutes=span.minutes,
            hold_interval=(span.minutes - 0.2, span.minutes + 0.1),
            lowest_c=float(np.min(of.celsius[is_held])),
            highest_c=float(np.max(of.celsius[is_held])),
            equilibration_s=6.0,
            come_up_s=span.start_s,
            cooling_s=float(of.seconds[-1]) - span.end_s,
            minutes_above=span.minutes,
        )
    saturation = None
    if of.kpa is not None:
        differences = of.celsius - saturation_temperature_c(of.kpa)
        saturation = Saturation(worst_difference_k=-0.4, suspicion=Suspicion.NONE, differences_k=differences)
    return CycleFindings(
        lethality=lethality,
        plateau=plateau,
        saturation=saturation,
        programme=programme,
        probe=ProbePlace.CHAMBER,
        probe_error_k=0.5,
        verdict=verdict if programme is not None else None,
        reasons=reasons,
        notes=notes,
    )
