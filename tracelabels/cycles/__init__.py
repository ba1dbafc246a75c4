"""What a steriliser really did: a log or typed readings in; lethality, plateau, saturation and a verdict out.

Nothing here says that anything is sterile: a verdict says whether readings meet a programme, and where the probe was.
No log is opened here, and no clock is looked at.

Modules:
    steam: pressure and temperature of saturated steam, both ways.
    gaps: which steps from reading to reading nobody saw.
    lethality: F0 of a curve, its interval, and how it grows.
    gauge: readings typed from a gauge.
    readings: temperatures and pressures over time, as the computing takes them.
    programme: what a programme asks of its readings.
    programme_file: programmes as files, shipped and a practice's own.
    findings: what was computed, and the verdict with every reason.

Rooms within:
    log: the text of a logger's file to readings, with everything that had to be assumed.
"""

from tracelabels.cycles.findings import CycleFindings, Lethality, Plateau, Saturation, Suspicion
from tracelabels.cycles.programme import Band, Programme
from tracelabels.cycles.programme_file import list_programmes, load_programme, require_programme, survey_programmes
from tracelabels.cycles.readings import Readings, Span

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
    "list_programmes",
    "load_programme",
    "require_programme",
    "survey_programmes",
]
