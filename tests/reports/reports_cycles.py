"""Cycles for the tests of pages: what a logger of a small steriliser may have written, and what follows from it."""

from dataclasses import replace

import numpy as np

from tracelabels.custody import CycleKind, Goods, ProbePlace
from tracelabels.cycles import Band, CycleFindings, Programme, Readings, judge
from tracelabels.cycles.steam import saturation_pressure_kpa

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


def findings(of: Readings, *, programme: Programme | None = WRAPPED_134, **facts: object) -> CycleFindings:
    """What is computed and judged of them, changed by facts that a test wants to see."""
    return replace(judge(of, programme=programme, probe=ProbePlace.CHAMBER), **facts)
