"""What a steriliser really did: a log or typed readings in; lethality, plateau, saturation and a verdict out.

Nothing here says that anything is sterile: a verdict says whether readings meet a programme, and where the probe was.
No log is opened here, and no clock is looked at.

Modules, from the bottom up:
    readings: temperatures and pressures over time, as the computing takes them.
    programme: what a programme asks of its readings.
    programme_file: programmes as files, shipped and a practice's own.
    findings: what was computed, and the verdict with every reason.
    gauge: readings typed from a gauge.
    steam: pressure and temperature of saturated steam, both ways.
    gaps: which steps from reading to reading nobody saw.
    stretches: unbroken stretches of a curve within a band.
    lethality: F0 of a curve, its interval, and how it grows.
    plateau: come-up, equilibration, hold, cooling; and where a cycle was held if no programme says so.
    saturation: temperature against that of steam at the measured pressure.
    mix_ups: what a difference between the two points at.
    case: one cycle before its judge, at its worst, as read, at its best.
    wording: numbers and places in words.
    rules: what a programme asks, rule by rule, and how each is said.
    judging: the verdict, its reasons and notes.

Rooms within:
    log: the text of a logger's file to readings, with everything that had to be assumed.
"""

from tracelabels.cycles.findings import CycleFindings, Lethality, Plateau, Saturation, Suspicion
from tracelabels.cycles.gauge import readings_from_gauge
from tracelabels.cycles.judging import judge
from tracelabels.cycles.programme import Band, Programme
from tracelabels.cycles.programme_file import (
    find_programme_file,
    list_programmes,
    load_programme,
    parse_programme,
    require_programme,
    survey_programmes,
)
from tracelabels.cycles.readings import Readings, Span
from tracelabels.cycles.steam import saturation_pressure_kpa

__all__ = [
    "Band",
    "CycleFindings",
    "Lethality",
    "Plateau",
    "Programme",
    "Readings",
    "Saturation",
    "Span",
    "Suspicion",
    "find_programme_file",
    "judge",
    "list_programmes",
    "load_programme",
    "parse_programme",
    "readings_from_gauge",
    "require_programme",
    "saturation_pressure_kpa",
    "survey_programmes",
]
