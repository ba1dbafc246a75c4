"""The report of a check, for people to read and keep: what is said, with pictures.

Modules:
    section: what a report says about one design or one sheet, as values.
    margin_rows: margins as rows on a common scale.
    html: one self-contained page.
    pdf: the same on paper.
    marked_code: a graded code enlarged, its bad modules marked.
"""

from tracelabels.legibility.report.html import as_html
from tracelabels.legibility.report.marked_code import mark_code
from tracelabels.legibility.report.pdf import as_pdf
from tracelabels.legibility.report.section import Report, ReportPicture, ReportSection

__all__ = ["Report", "ReportPicture", "ReportSection", "as_html", "as_pdf", "mark_code"]
