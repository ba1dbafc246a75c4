"""``tracelabels check``: will these labels read? Before the run, on the first sheet, and after the steriliser."""

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tracelabels.cli.answers import FINDING, answer, progress, say
from tracelabels.cli.options import Asked, practice_options
from tracelabels.errors import InputError

if TYPE_CHECKING:
    from tracelabels.legibility.findings import Finding
    from tracelabels.legibility.margins import Margin
    from tracelabels.workflows.check_first_sheet import CheckedSheet
    from tracelabels.workflows.check_legibility import CheckedLabel, Checking, Trials

_WIDTH = 110
_MARKS = {"pass": "ok  ", "warn": "warn", "fail": "FAIL"}


@click.command()
@click.option("--pdf", type=click.Path(path_type=Path, dir_okay=False), help="A PDF of labels, ours or not.")
@click.option(
    "--photo", type=click.Path(path_type=Path, dir_okay=False), help="A photograph or flatbed scan of a sheet."
)
@click.option("--layout", metavar="NAME", help="A layout, before anything is printed; with --sheet.")
@click.option("--sheet", metavar="NAME", help="The adhesive sheet or roll.")
@click.option("--dpi", type=int, help="The printer's dots per inch (else the practice's; else 300).")
@click.option("--tube-diameter", type=float, metavar="MM", help="Outer diameter of the tube; measure yours.")
@click.option("--quick", is_flag=True, help="Six factors and fewer trials: under three seconds.")
@click.option(
    "--report", type=click.Path(path_type=Path, dir_okay=False), help="Leave a report: .pdf, or .html in one file."
)
@click.option("--advise", is_flag=True, help="With --layout: the best layout, and the smallest change that mends it.")
@practice_options
def check(
    asked: Asked,
    pdf: Path | None,
    photo: Path | None,
    layout: str | None,
    sheet: str | None,
    dpi: int | None,
    tube_diameter: float | None,
    quick: bool,
    report: Path | None,
    advise: bool,
) -> int:
    """Say whether labels will read, and what is weakest: by rules with their sources, and by simulated photographs.

    Give one of --pdf, --photo, or --layout with --sheet. What is predicted is simulated; grades from a photograph are
    indicative, not a verifier's. Exit 1 if a label fails.
    """
    day = asked.day()
    _require_one(pdf, photo, layout, sheet)
    _require_place(report)
    folder = asked.practice
    if photo is not None:
        return _check_photo(photo, folder, day, report, as_json=asked.as_json)
    from tracelabels.workflows.check_legibility import checking_here

    here = checking_here(folder, dpi=dpi, tube_diameter=tube_diameter, quick=quick)
    with progress("trying labels") as advance:
        if pdf is not None:
            labels, problems = here.check_pdf(pdf, sheet=sheet, progress=advance)
        else:
            labels, problems = here.check_layout(str(layout), str(sheet), progress=advance), ()
    code = _tell(labels, problems, here.trials, report, as_json=asked.as_json)
    if advise and layout is not None:
        _advise(here, layout, str(sheet), as_json=asked.as_json)
    return code


def _advise(here: "Checking", layout: str, sheet: str, *, as_json: bool) -> None:
    from tracelabels.workflows.check_legibility import advise

    with progress("looking for something better"):
        found = advise(here, layout, sheet)
    if as_json:
        best = [
            {"layout": one[0], "sheet": one[1], "verdict": one[2].value, "x_mm": round(one[3], 4)}
            for one in found.layouts
        ]
        answer({"advice": {"change": found.change, "layouts": best, "refused": list(found.refused)}})
        return
    click.echo(f"smallest change: {found.change or 'none was found that mends it'}")
    for name, on, verdict, x in found.layouts:
        click.echo(f"  {_MARKS[verdict.value]}  {name:<20} on {on:<24} X {x:.3f} mm")
    for sentence in found.refused:
        click.echo(f"        {sentence}")


def _require_place(report: Path | None) -> None:
    """Refuse a report's name before any work is done for it."""
    if report is not None:
        from tracelabels.workflows.report_legibility import require_report

        require_report(report)


def _require_one(pdf: Path | None, photo: Path | None, layout: str | None, sheet: str | None) -> None:
    asked = [pdf is not None, photo is not None, layout is not None]
    if sum(asked) != 1 or (layout is not None and sheet is None):
        raise InputError(
            given="not exactly one thing to check",
            expected="--pdf FILE, or --photo FILE, or --layout NAME with --sheet NAME",
            remedy="give one of the three",
        )


def _tell(
    labels: "tuple[CheckedLabel, ...]",
    problems: tuple[str, ...],
    trials: "Trials",
    report: Path | None,
    *,
    as_json: bool,
) -> int:
    from tracelabels.workflows.check_legibility import UNKNOWN_STOCK, is_stock_unknown

    for label in labels:
        if as_json:
            answer(_label_record(label))
    if not as_json:
        _show(labels)
    if is_stock_unknown(trials.stock):
        say(f"note: {UNKNOWN_STOCK}")
    for sentence in problems:
        say(f"not checked: {sentence}")
        if as_json:
            answer({"label": None, "verdict": "fail", "findings": [], "margins": [], "error": sentence})
    if report is not None:
        from tracelabels.workflows.report_legibility import write_report

        write_report(labels, trials, report)
        say(f"{report}: the report, simulated")
    failed = bool(problems) or not labels or any(label.verdict.value == "fail" for label in labels)
    return FINDING if failed else 0


def _label_record(label: "CheckedLabel") -> dict[str, object]:
    judgement = label.judgement
    return {
        "label": label.subject.label,
        "verdict": label.verdict.value,
        "findings": [_finding_record(finding) for finding in label.findings],
        "margins": [_margin_record(margin) for margin in judgement.margins],
        "sentence": judgement.sentence,
        "joint": {
            "read": judgement.joint.read,
            "trials": judgement.joint.trials,
            "low": round(judgement.joint.low, 4),
            "high": round(judgement.joint.high, 4),
        },
        "basis": "simulated",
    }


def _finding_record(finding: "Finding") -> dict[str, object]:
    return {
        "rule": finding.rule,
        "verdict": finding.verdict.value,
        "measured": finding.measured,
        "required": finding.required,
        "source": finding.source,
        "fix": finding.fix,
    }


def _margin_record(margin: "Margin") -> dict[str, object]:
    return {
        "factor": margin.factor,
        "unit": margin.unit,
        "nominal": margin.nominal,
        "limit": margin.limit,
        "reads_to": margin.reads_to,
        "fails_at": margin.fails_at,
        "room": margin.room,
    }


def _show(labels: "tuple[CheckedLabel, ...]") -> None:
    """Print one table for each design: labels that stand alike are named together."""
    alike: dict[tuple[object, ...], list[CheckedLabel]] = {}
    for label in labels:
        stands = tuple((finding.rule, finding.verdict) for finding in label.findings)
        alike.setdefault((stands, label.judgement.sentence), []).append(label)
    for group in alike.values():
        first = group[0]
        names = first.subject.label if len(group) == 1 else f"{first.subject.label} and {len(group) - 1} more like it"
        click.echo(f"{_MARKS[first.verdict.value]}  {names}")
        said = set()  # two releases of a table say the same of most labels
        for finding in first.findings:
            line = f"  {_MARKS[finding.verdict.value]}  {finding.rule:<24} {finding.measured}"
            if line not in said or finding.verdict.value != "pass":
                click.echo(line)
            said.add(line)
            if finding.verdict.value != "pass":
                click.echo(f"        {'':<24} required: {finding.required} ({finding.source})")
                if finding.fix:
                    click.echo(f"        {'':<24} {finding.fix}")
        click.echo(f"  simulated: {first.judgement.sentence}")


def _check_photo(photo: Path, folder: Path | None, day: date, report: Path | None, *, as_json: bool) -> int:
    from tracelabels.workflows.check_first_sheet import check_first_sheet
    from tracelabels.workflows.practice import open_practice_here

    with open_practice_here(folder, today=day) as here:
        sheets = list(check_first_sheet(photo, today=day, practice=here, name=photo.name))
    for sheet in sheets:
        _tell_sheet(sheet, as_json=as_json)
    if report is not None:
        from tracelabels.workflows.report_legibility import write_sheet_report

        write_sheet_report(sheets, report)
        say(f"{report}: the report; grades are indicative, not a verifier's")
    return FINDING if any(sheet.verdict.value == "fail" for sheet in sheets) else 0


def _tell_sheet(sheet: "CheckedSheet", *, as_json: bool) -> None:
    from textwrap import fill

    whole = [("the picture", sheet.verdict_of_picture.value, sheet.findings)] if sheet.findings else []
    if as_json:
        labels = [(label.label, label.verdict.value, label.findings) for label in sheet.labels]
        for name, verdict, findings in [*whole, *labels]:
            answer(
                {
                    "label": name,
                    "verdict": verdict,
                    "findings": [_finding_record(one) for one in findings],
                    "margins": [],
                    "basis": sheet.basis,
                }
            )
        return
    groups = [
        (", ".join(label.label for label in group), group[0].verdict.value, group[0].findings) for group in sheet.alike
    ]
    for names, verdict, findings in [*whole, *groups]:
        click.echo(fill(names, width=_WIDTH, initial_indent=f"{_MARKS[verdict]}  ", subsequent_indent=" " * 6))
        for finding in findings:
            click.echo(f"  {_MARKS[finding.verdict.value]}  {finding.rule:<24} {finding.measured}")
            if finding.verdict.value != "pass":
                click.echo(f"        {'':<24} required: {finding.required}; {finding.fix}")
