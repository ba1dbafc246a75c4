"""Leave the report of a check as a PDF or as one self-contained page."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

import numpy as np

from tracelabels.errors import InputError
from tracelabels.legibility.findings import SEVEREST_FIRST
from tracelabels.legibility.grades import INDICATIVE, Parameter, SymbolGrade
from tracelabels.legibility.judgement import worst_picture
from tracelabels.legibility.report import Report, ReportPicture, ReportSection, as_html, as_pdf, mark_code
from tracelabels.legibility.run_rules import design_of
from tracelabels.legibility.subject import Subject
from tracelabels.symbols import TubeAxis
from tracelabels.workflows.check_first_sheet import CheckedSheet, GradedLabel
from tracelabels.workflows.check_legibility import UNKNOWN_STOCK, CheckedLabel, Trials, is_stock_unknown
from tracelabels.workflows.leave_file import FileKind, leave_file, require_place

if TYPE_CHECKING:
    from numpy.typing import NDArray

_CAUTION: Final = (
    "Nothing here was compared with a real printer and a real camera. Only a calibrated verifier gives an ISO grade. "
    "Local codes, the steriliser's and the pigment maker's instructions come first; no label declares anything sterile."
)


def write_report(labels: Sequence[CheckedLabel], trials: Trials, out: Path) -> None:
    """Leave the report of labels that were checked before the run.

    Raises:
        InputError: the name ends in neither .pdf nor .html, or no file may be left there.
    """
    designs: dict[tuple[object, ...], list[CheckedLabel]] = {}
    for label in labels:
        designs.setdefault(design_of(label.subject), []).append(label)
    report = Report(
        title=f"Will these labels read? Labels: {len(labels)}, designs: {len(designs)}",
        basis="simulated: rules, and photographs simulated from the printed file",
        sections=tuple(_design(group, trials) for group in designs.values()),
        notes=(f"Note: {UNKNOWN_STOCK}.", _CAUTION) if is_stock_unknown(trials.stock) else (_CAUTION,),
    )
    _leave(report, out)


def _design(group: Sequence[CheckedLabel], trials: Trials) -> ReportSection:
    worst = min(group, key=lambda label: SEVEREST_FIRST.index(label.verdict))
    subject, judgement = worst.subject, worst.judgement
    seen = worst_picture(subject, trials.envelope, trials.seed)
    caption = "as the camera sees the code, every factor at its limit"
    pictures = (
        ReportPicture(caption="as it is printed", pixels=_upright(subject, subject.picture)),
        ReportPicture(caption=caption, pixels=_upright(subject, seen)),
    )
    others = f" and {len(group) - 1} more" if len(group) > 1 else ""
    return ReportSection(
        title=f"{subject.label}{others} ({subject.code.version}, X {subject.x_dimension:.3f} mm at {subject.dpi} dpi)",
        verdict=worst.verdict,
        sentence=judgement.sentence,
        findings=worst.findings,
        margins=judgement.margins,
        pictures=pictures,
    )


def _upright(subject: Subject, pixels: "NDArray[np.uint8]") -> "NDArray[np.uint8]":
    """Turn a label whose long words run up the sheet, so that people can read it."""
    return np.ascontiguousarray(np.rot90(pixels, -1)) if subject.axis is TubeAxis.HEIGHT else pixels


def write_sheet_report(sheets: Sequence[CheckedSheet], out: Path) -> None:
    """Leave the report of a first sheet's picture, with the weakest label enlarged and its bad modules marked.

    Raises:
        InputError: the name ends in neither .pdf nor .html, or no file may be left there.
    """
    sections = [section for sheet in sheets for section in _sheet(sheet)]
    report = Report(
        title="The first printed sheet",
        basis=f"print quality from a picture: {INDICATIVE}",
        sections=tuple(sections),
        notes=(_CAUTION,),
    )
    _leave(report, out)


def _sheet(sheet: CheckedSheet) -> list[ReportSection]:
    whole = [
        ReportSection(
            title=f"{sheet.picture.name}, page {sheet.picture.page}",
            verdict=sheet.verdict,
            sentence=f"codes read: {len(sheet.labels)}",
            findings=sheet.findings,
        )
    ]
    weakest = [_weakest(sheet, sheet.weakest)] if sheet.weakest is not None else []
    return whole + weakest + [_alike(group) for group in sheet.alike]


def _weakest(sheet: CheckedSheet, label: GradedLabel) -> ReportSection:
    grade, title = label.grade, f"The weakest: {label.label}"
    if not isinstance(grade, SymbolGrade):
        return ReportSection(title=title, verdict=label.verdict, sentence=grade.reason, findings=())
    caption = "enlarged; wrong modules framed red, weak ones amber"
    return ReportSection(
        title=title,
        verdict=label.verdict,
        sentence=grade.overall,
        findings=(),
        pictures=(ReportPicture(caption=caption, pixels=mark_code(sheet.picture.grey, grade)),),
        grades=tuple(
            (one.name.value, _value(one), "" if one.grade is None else f"{one.grade:.1f}") for one in grade.parameters
        ),
    )


def _value(parameter: Parameter) -> str:
    if parameter.value is None:
        return ""
    shown = {"share": f"{100.0 * parameter.value:.1f} %", "share of X": f"{parameter.value:.3f} X"}
    return shown.get(parameter.unit, f"{parameter.value:.3g} {parameter.unit}")


def _alike(group: Sequence[GradedLabel]) -> ReportSection:
    first = group[0]
    others = f" and {len(group) - 1} more like it" if len(group) > 1 else ""
    return ReportSection(
        title=f"{first.label}{others}",
        verdict=first.verdict,
        sentence=", ".join(label.label for label in group) if others else "",
        findings=first.findings,
    )


def require_report(out: Path) -> FileKind:
    """See that a report may be left at a place, before any work is done for it; return its kind.

    Raises:
        InputError: the name ends in neither .pdf nor .html, or no file may be left there.
    """
    kind = {".pdf": FileKind.PDF, ".html": FileKind.HTML}.get(out.suffix.lower())
    if kind is None:
        raise InputError(given=f"{out}", expected="a report name ending in .pdf or .html", remedy="name it so")
    require_place(out, kind)
    return kind


def _leave(report: Report, out: Path) -> None:
    kind = require_report(out)
    leave_file(out, as_pdf(report) if kind is FileKind.PDF else as_html(report).encode())
