"""``tracelabels labels`` and ``align``: labels from a list, and a page to measure a printer with."""

import sys
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tracelabels.cli.answers import WRONG_INPUT, answer, progress, say
from tracelabels.cli.options import Asked, practice_options
from tracelabels.errors import InputError

if TYPE_CHECKING:
    from tracelabels.labels import Layout, Sheet
    from tracelabels.workflows.label_list import LabelList, ListRules
    from tracelabels.workflows.print_labels import LabelJob, ProvedLabels


MOST_WARNINGS = 10


def sheet_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add what every printing command asks: where on the sheet, how many, at which resolution."""
    for option in (
        click.option("--outlines", is_flag=True, help="Draw the labels' edges, for a test on plain paper."),
        click.option("--copies", type=int, default=1, show_default=True, help="Labels for each serial; they say so."),
        click.option(
            "--skip", type=int, default=0, show_default=True, help="Labels already gone from the first sheet."
        ),
        click.option("--dpi", type=int, help="The printer's dots per inch (else the practice's; else 300)."),
    ):
        command = option(command)
    return command


@click.command()
@click.option(
    "--list", "show", is_flag=True, help="Show layouts and sheets with their millimetres, and which go together."
)
@click.option("--from", "source", metavar="LIST.csv", help="The list; '-' for standard input.")
@click.option("--layout", metavar="NAME", help="What goes where on a label.")
@click.option("--sheet", metavar="NAME", help="The adhesive sheet or roll.")
@click.option("--out", type=click.Path(path_type=Path, dir_okay=False), help="The PDF (or .png: one picture a label).")
@sheet_options
@practice_options
def labels(
    asked: Asked,
    show: bool,
    source: str | None,
    layout: str | None,
    sheet: str | None,
    out: Path | None,
    dpi: int | None,
    skip: int,
    copies: int,
    outlines: bool,
) -> int:
    """Print labels straight from a list, proofed before the file appears.

    LIST.csv has a first line with column names: product, lot, use_by, prepared, serial, and if wanted item, gtin,
    lot_kind, volume, contents, steriliser, load_number, processed_on, operator, notes. A row with a GTIN becomes
    a GS1 code, one without an in-house code.
    """
    folder, day = asked.practice, asked.day()
    if show:
        return _show_templates(folder, as_json=asked.as_json)
    _require_all({"source": source, "layout": layout, "sheet": sheet, "out": out})
    plain = _job(folder, str(layout), str(sheet), dpi)
    job = replace(plain, skip=skip, copies=copies, outlines=outlines)
    rules = _rules(folder, job, day)
    _print_list(_open_list(str(source)), rules, job, Path(str(out)), as_json=asked.as_json)
    return 0


def _job(folder: Path | None, layout: str, sheet: str, dpi: int | None) -> "LabelJob":
    from tracelabels.workflows import templates
    from tracelabels.workflows.check_legibility import stock_here
    from tracelabels.workflows.print_labels import LabelJob

    own = templates.own_templates(folder)
    return LabelJob(
        layout=templates.require_layout(layout, own),
        sheet=templates.require_sheet(sheet, own),
        printer=templates.printer_of(templates.printing_here(folder), dpi=dpi),
        stock=stock_here(folder),
        title=f"Labels {layout} on {sheet}",
    )


def _rules(folder: Path | None, job: "LabelJob", today: date) -> "ListRules":
    from tracelabels.workflows.label_list import ListRules, Trial
    from tracelabels.workflows.templates import settings_here

    trial = Trial(layout=job.layout, sheet=job.sheet, printer=job.printer)
    return ListRules(today=today, trial=trial, settings=settings_here(folder))


def _require_all(given: dict[str, object]) -> None:
    for name, value in given.items():
        if value is None:
            option = "--from" if name == "source" else f"--{name}"
            raise InputError(
                given=f"no {option}",
                expected="--from LIST.csv --layout NAME --sheet NAME --out FILE.pdf",
                remedy="add it, or see 'tracelabels labels --list' for names",
            )


def _open_list(source: str) -> "LabelList":
    from tracelabels.workflows.label_list import open_label_list

    if source != "-":
        return open_label_list(Path(source))
    return open_label_list(Path("standard input"), sys.stdin.buffer.read())


def _print_list(rows: "LabelList", rules: "ListRules", job: "LabelJob", out: Path, *, as_json: bool) -> None:
    from tracelabels.workflows.label_list import as_sentences
    from tracelabels.workflows.print_labels import write_labels, write_pictures

    checked = rows.check(rules)
    for problem, sentence in zip(checked.problems, as_sentences(rows.file, checked.problems), strict=True):
        if as_json:
            answer({"line": problem.line, "error": problem.sentence})
        say(sentence)
    if checked.problems:
        raise InputError(
            given=f"{len(checked.problems)} bad of {checked.good + len(checked.problems)} rows",
            expected="every row good",
            remedy="mend them and print again; no file was left",
        )
    for sentence in as_sentences(rows.file, checked.warnings[:MOST_WARNINGS]):
        say(f"look again: {sentence}")
    if len(checked.warnings) > MOST_WARNINGS:
        say(f"look again: {len(checked.warnings) - MOST_WARNINGS} more such rows")
    with progress("printing labels") as advance:
        if out.suffix.lower() == ".png":
            files = write_pictures(rows.contents(), job, out, progress=advance)
            say(f"{len(files)} pictures, {files[0].name} to {files[-1].name}, every code read back.")
            if as_json:
                answer({"files": [str(file) for file in files], "labels": len(files)})
            return
        done = write_labels(rows.contents(), job, out, progress=advance)
    report(done, out, as_json=as_json)


def report(done: "ProvedLabels", out: Path, *, as_json: bool, run: str | None = None) -> None:
    """Say what was printed."""
    for sentence in done.warnings:
        say(f"note: {sentence}")
    say(f"{out}: {done.labels} labels on {done.pages} sheets, every code read back from the rasterised file.")
    if as_json:
        answer(
            {
                "file": str(out),
                "labels": done.labels,
                "sheets": done.pages,
                "sha256": done.digest,
                "warnings": list(done.warnings),
            }
            | ({"run": run} if run else {})
        )


def _show_templates(folder: Path | None, *, as_json: bool) -> int:
    """Show what is at hand; return the exit code: 2 if a file is wrong."""
    from tracelabels.workflows import templates

    own = templates.own_templates(folder)
    (sheets, wrong_sheets), (layouts, wrong_layouts) = templates.survey_sheets(own), templates.survey_layouts(own)
    problems = (*wrong_sheets, *wrong_layouts)
    for problem in problems:
        say(f"left out: {problem}")
    if as_json:
        for layout in layouts:
            answer(_layout_record(layout, templates.sheets_for(layout, sheets)))
        for sheet in sheets:
            answer(_sheet_record(sheet))
        for problem in problems:
            answer({"error": str(problem)})
        return WRONG_INPUT if problems else 0
    click.echo("Layouts (millimetres)")
    for layout in layouts:
        size = f"{layout.width:g}" if layout.is_round else f"{layout.width:g} x {layout.height:g}"
        click.echo(f"  {layout.name:<24} {size:<12} {layout.title}")
        click.echo(
            f"  {'':<24} {'':<12} goes on: {', '.join(templates.sheets_for(layout, sheets)) or 'none of the sheets'}"
        )
    click.echo("\nSheets and rolls (millimetres)")
    for sheet in sheets:
        size = f"{sheet.label_width:g}" if sheet.is_round else f"{sheet.label_width:g} x {sheet.label_height:g}"
        click.echo(f"  {sheet.name:<24} {size:<12} {sheet.columns} x {sheet.rows} labels; {sheet.title}")
    return WRONG_INPUT if problems else 0


def _layout_record(layout: "Layout", goes_on: tuple[str, ...]) -> dict[str, object]:
    return {
        "layout": layout.name,
        "title": layout.title,
        "purpose": layout.purpose,
        "set": layout.label_set,
        "width_mm": layout.width,
        "height_mm": layout.height,
        "round": layout.is_round,
        "tube_diameter_mm": layout.tube.diameter if layout.tube else None,
        "sheets": list(goes_on),
    }


def _sheet_record(sheet: "Sheet") -> dict[str, object]:
    return {
        "sheet": sheet.name,
        "title": sheet.title,
        "page_mm": [sheet.page_width, sheet.page_height],
        "label_mm": [sheet.label_width, sheet.label_height],
        "columns": sheet.columns,
        "rows": sheet.rows,
        "round": sheet.is_round,
        "roll": sheet.is_roll,
    }


@click.command()
@click.option("--sheet", required=True, metavar="NAME", help="The adhesive sheet or roll.")
@click.option("--out", required=True, type=click.Path(path_type=Path, dir_okay=False), help="The PDF.")
@click.option("--dpi", type=int, help="The printer's dots per inch (else the practice's; else 300).")
@practice_options
def align(asked: Asked, sheet: str, out: Path, dpi: int | None) -> None:
    """Print a page on which to measure how far a printer is off; it says how, and what to enter where."""
    from tracelabels.workflows import templates
    from tracelabels.workflows.print_labels import write_alignment_page

    folder = asked.practice
    printer = templates.printer_of(templates.printing_here(folder), dpi=dpi)
    write_alignment_page(templates.require_sheet(sheet, templates.own_templates(folder)), printer, out)
    if asked.as_json:
        answer({"file": str(out), "sheet": sheet, "dpi": printer.dpi})
    say(f"{out}: print it at 100 % on plain paper, hold it against a sheet of labels, and follow what it says.")
