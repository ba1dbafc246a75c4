"""Pages for people about what a steriliser did: a load's record, a logbook, the curve of a cycle, its numbers as CSV.

Values in, pages out: nothing here asks the ledger, and no file is written.

Modules:
    marks: where every text, line and area of a page lies.
    drawing: laid out pages as PDF, PNG or SVG.
    thinning: a curve of any number of readings as the few points that can be seen.
    ticks: round values for axes.
    panel: values over time within a frame, and labels that never overlap.
    curve_chart: the curve of a cycle.
    curve_picture: the same as a picture of its own, with a few words: PDF, PNG or SVG.
    figures: the computed numbers, each with its interval and what the programme asks.
    numbers: readings and computed numbers as CSV.
    rows: pieces of text and tables with their height.
    flow: rows put on pages from top to foot.
    load_report: what the record of one load says, as one value.
    load_wording: a load's record in words.
    load_page: a load's record on paper.
    logbook: what a steriliser's logbook says over some days, and gaps of its cycle counter.
    logbook_page: the logbook on paper.
"""

from tracelabels.reports.curve_chart import CurveChart
from tracelabels.reports.curve_picture import CurvePicture, PictureKind, draw_curve
from tracelabels.reports.load_page import load_report_pdf
from tracelabels.reports.load_report import (
    DecisionShown,
    LoadReport,
    PageSize,
    PouchShown,
    ReadingsShown,
    SporeTestShown,
)
from tracelabels.reports.logbook import EventEntry, LoadEntry, Logbook, SporeEntry
from tracelabels.reports.logbook_page import logbook_pdf
from tracelabels.reports.numbers import figures_csv, readings_csv

__all__ = [
    "CurveChart",
    "CurvePicture",
    "DecisionShown",
    "EventEntry",
    "LoadEntry",
    "LoadReport",
    "Logbook",
    "PageSize",
    "PictureKind",
    "PouchShown",
    "ReadingsShown",
    "SporeEntry",
    "SporeTestShown",
    "draw_curve",
    "figures_csv",
    "load_report_pdf",
    "logbook_pdf",
    "readings_csv",
]
