"""Labels: sheets, layouts, fitting text and placing it; records of what each label says become the bytes of a PDF.

This room writes no file: a sheet leaves the house only through the print workflow, which proves it first.

Modules, from the bottom up:
    sheets: geometry of sheets and rolls.
    content: what a label says.
    layouts: what goes where.
    legible: the smallest type.
    boxes: the room that the parts of a layout take.
    layout_file: reading layouts.
    catalogue: the shipped files and a practice's own.
    matching: which layout goes on which sheet.
    fitting: text by measured widths.
    printers: resolution and corrections.
    grid: places of labels in printer dots.
    placed: what the proof needs to know of each label.
    symbol_choice, composing: the code and the words of one label.
    trial: whether a label can be set.
    typesetting: the run.
    pictures: a PNG a label.
    alignment: a page to measure a printer with.
"""

from tracelabels.labels.alignment import alignment_page
from tracelabels.labels.catalogue import (
    list_layouts,
    list_sheets,
    require_layout,
    require_sheet,
    survey_layouts,
    survey_sheets,
)
from tracelabels.labels.content import ContentField, ContentLine, LabelContent, LotKind, grouped_serial
from tracelabels.labels.layout_file import load_layout
from tracelabels.labels.layouts import Layout
from tracelabels.labels.legible import SMALLEST_DIGIT_HEIGHT, SMALLEST_X_HEIGHT, smallest_legible
from tracelabels.labels.matching import Fit, fits, require_fit
from tracelabels.labels.pictures import typeset_pictures
from tracelabels.labels.placed import PlacedLabel, PrintedSymbol
from tracelabels.labels.printers import Printer
from tracelabels.labels.sheets import Sheet, load_sheet
from tracelabels.labels.trial import Trial
from tracelabels.labels.typesetting import Typeset, typeset

__all__ = [
    "SMALLEST_DIGIT_HEIGHT",
    "SMALLEST_X_HEIGHT",
    "ContentField",
    "ContentLine",
    "Fit",
    "LabelContent",
    "Layout",
    "LotKind",
    "PlacedLabel",
    "PrintedSymbol",
    "Printer",
    "Sheet",
    "Trial",
    "Typeset",
    "alignment_page",
    "fits",
    "grouped_serial",
    "list_layouts",
    "list_sheets",
    "load_layout",
    "load_sheet",
    "require_fit",
    "require_layout",
    "require_sheet",
    "smallest_legible",
    "survey_layouts",
    "survey_sheets",
    "typeset",
    "typeset_pictures",
]
