"""Pages for the inspector's folder: a load, a steriliser's logbook; a load's numbers and curve."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from tracelabels.cli.answers import answer, say
from tracelabels.cli.options import Asked, parse_day, practice_options
from tracelabels.words import in_words

if TYPE_CHECKING:
    from tracelabels.reports import LoadReport

_OUT = click.Path(path_type=Path, dir_okay=False)


@click.command(name="load-report")
@click.argument("number", metavar="LOAD")
@click.option("--out", type=_OUT, required=True, help="The PDF to leave.")
@click.option("--numbers", type=_OUT, help="Leave every reading as CSV too, and what was computed beside it.")
@practice_options
def load_report(asked: Asked, number: str, out: Path, numbers: Path | None) -> None:
    """Leave the page of LOAD: contents, curve, lethality, indicators, spore tests, verdict, release, cautions.

    Readings are computed anew from the file that was kept. The page declares nothing sterile.
    """
    from tracelabels.workflows.leave_curve import leave_numbers, require_curve_places
    from tracelabels.workflows.report_load import leave_load_report

    require_curve_places(None, numbers)
    with asked.opened() as here:
        report = leave_load_report(here, number, out)
    charted = report.charted
    if numbers is not None and charted is not None and charted.chart is not None:
        leave_numbers(charted.chart, numbers)
    _tell(report, out)
    if asked.as_json:
        answer(
            {
                "load": number,
                "file": str(out),
                "readings": report.verdict.value,
                "released": report.is_released,
                "rejected": report.rejected,
            }
        )


def _tell(report: "LoadReport", out: Path) -> None:
    released = "released" if report.is_released else "not released"
    say(f"Load {report.load.number}: readings {in_words(report.verdict)}, {released}; its page: {out}")


@click.command()
@click.argument("code", metavar="STERILISER")
@click.option("--from", "first", metavar="DATE", help="First day; else thirty days before the last.")
@click.option("--to", "last", metavar="DATE", help="Last day; else today.")
@click.option("--out", type=_OUT, required=True, help="The PDF to leave.")
@practice_options
def logbook(asked: Asked, code: str, first: str | None, last: str | None, out: Path) -> None:
    """Leave the logbook of STERILISER: loads, spore tests, cleaning, tests of the day, gaps of its counter."""
    from datetime import timedelta

    from tracelabels.workflows.report_logbook import leave_logbook

    with asked.opened() as here:
        end = here.today if last is None else parse_day(last, what="--to")
        begin = end - timedelta(days=30) if first is None else parse_day(first, what="--from")
        book = leave_logbook(here, code, out, first=begin, last=end)
    say(f"Steriliser {code}, {begin} to {end}: {len(book.entries)} entries in {out}")
    if asked.as_json:
        answer({"steriliser": code, "from": begin, "to": end, "entries": len(book.entries), "file": str(out)})
