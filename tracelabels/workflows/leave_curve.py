"""Leave the curve of a cycle as a picture, and its numbers as CSV."""

from pathlib import Path
from typing import Final

from tracelabels.errors import InputError
from tracelabels.reports import CurveChart, CurvePicture, PictureKind, draw_curve, figures_csv, readings_csv
from tracelabels.workflows.judge_log import JudgedLog
from tracelabels.workflows.leave_file import FileKind, leave_file, require_place

_KINDS: Final = {
    ".pdf": (FileKind.PDF, PictureKind.PDF),
    ".png": (FileKind.PNG, PictureKind.PNG),
    ".svg": (FileKind.SVG, PictureKind.SVG),
}


def require_curve_places(plot: Path | None, numbers: Path | None, *, not_over: tuple[Path, ...] = ()) -> None:
    """Refuse places where nothing may be left, before any work is done.

    Raises:
        InputError: another ending, or a place that is taken.
    """
    if plot is not None:
        require_place(plot, _kinds_of(plot)[0], not_over=not_over)
    if numbers is not None:
        require_place(numbers, FileKind.CSV, not_over=not_over)


def _kinds_of(plot: Path) -> tuple[FileKind, PictureKind]:
    kinds = _KINDS.get(plot.suffix.lower())
    if kinds is None:
        raise InputError(
            given=f"{plot.name!r}", expected="a name that ends in .pdf, .png or .svg", remedy="choose one of them"
        )
    return kinds


def chart_of(judged: JudgedLog) -> CurveChart:
    """Return the curve of a judged log."""
    return CurveChart(readings=judged.logged.readings, findings=judged.findings, started_at=judged.logged.started_at)


def leave_plot(chart: CurveChart, plot: Path, *, title: str) -> None:
    """Leave the curve; the file's ending decides its kind."""
    leave_file(plot, draw_curve(CurvePicture(title=title, chart=chart), _kinds_of(plot)[1]))


def leave_numbers(chart: CurveChart, numbers: Path) -> Path:
    """Leave every reading, and the computed numbers in a file beside it; return that one's place."""
    beside = numbers.with_name(f"{numbers.stem}-computed{numbers.suffix}")
    require_place(beside, FileKind.CSV)
    leave_file(numbers, readings_csv(chart))
    leave_file(beside, figures_csv(chart))
    return beside
