"""Packing: put tubes into pouches, print the labels of tubes and pouches."""

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tracelabels.cli.answers import answer, progress, say
from tracelabels.cli.labels import report, sheet_options
from tracelabels.cli.options import Recording, bench_options
from tracelabels.errors import InputError

if TYPE_CHECKING:
    from tracelabels.workflows.practice import Practice
    from tracelabels.workflows.print_labels import Override
    from tracelabels.workflows.print_run import PrintOrder


@click.command()
@click.argument("tubes", nargs=-1, metavar="[TUBE...]")
@click.option("--preparation", metavar="NUMBER", help="All tubes of a preparation, instead of serials.")
@click.option("--in-one", type=int, default=1, show_default=True, help="Tubes in one pouch.")
@click.option(
    "--instrument", "instruments", multiple=True, help="An instrument by name, in a pouch of its own; repeat."
)
@click.option("--material-lot", required=True, help="Lot of the pouch material, as on its box.")
@bench_options
def pack(
    asked: Recording,
    tubes: tuple[str, ...],
    preparation: str | None,
    in_one: int,
    instruments: tuple[str, ...],
    material_lot: str,
) -> None:
    """Put TUBEs (by serial) into pouches; each pouch gets a serial of its own."""
    from tracelabels.workflows.pack_pouches import Pouching, one_each, pack_pouches
    from tracelabels.workflows.print_run import serials_of_preparation

    _require_one_way(tubes, preparation)
    with asked.opened() as here:
        serials = tubes or (serials_of_preparation(here, preparation) if preparation else ())
        contents = [*one_each(serials, in_one=in_one), *(Pouching(instruments=(name,)) for name in instruments)]
        pouches = pack_pouches(here, contents, material_lot=material_lot, by=asked.by)
    for pouch in pouches:
        say(f"Pouch {pouch.serial}: {', '.join((*pouch.tubes, *pouch.instruments))}")
        if asked.as_json:
            answer({"pouch": pouch.serial, "tubes": list(pouch.tubes), "instruments": list(pouch.instruments)})


@click.command(name="print")
@click.argument("serials", nargs=-1, metavar="[SERIAL...]")
@click.option("--preparation", metavar="NUMBER", help="All tubes of a preparation, instead of serials.")
@click.option(
    "--reprint", metavar="RUN", help="Print a run again (all of it, or the serials named); voids the first labels."
)
@click.option(
    "--layout", required=True, metavar="NAME", help="What goes where on a label; see 'tracelabels labels --list'."
)
@click.option("--sheet", metavar="NAME", help="The adhesive sheet or roll (else the practice's).")
@click.option("--stock-lot", help="Lot of the label stock.")
@click.option(
    "--stock-withstands-steam/--stock-not-for-steam",
    default=None,
    help="Whether the label stock goes through a steriliser.",
)
@click.option("--override", metavar="REASON", help="Let the run through although its check fails; recorded.")
@click.option(
    "--out", type=click.Path(path_type=Path, dir_okay=False), help="The PDF (else in printed/, named after the run)."
)
@sheet_options
@bench_options
def print_labels(
    asked: Recording,
    serials: tuple[str, ...],
    preparation: str | None,
    reprint: str | None,
    layout: str,
    sheet: str | None,
    stock_lot: str | None,
    stock_withstands_steam: bool | None,
    override: str | None,
    out: Path | None,
    dpi: int | None,
    skip: int,
    copies: int,
    outlines: bool,
) -> None:
    """Print the labels of recorded tubes or pouches by SERIAL; every code is read back before the file appears."""
    from tracelabels.workflows.print_run import PrintOrder, serials_of_preparation, serials_of_run
    from tracelabels.workflows.templates import label_job

    _require_one_way(serials, preparation)
    with asked.opened() as here:
        job = label_job(here, layout=layout, sheet=sheet, dpi=dpi)
        order = PrintOrder(
            serials=serials
            or (serials_of_preparation(here, preparation) if preparation else ())
            or (serials_of_run(here, reprint) if reprint else ()),
            job=replace(job, skip=skip, copies=copies, outlines=outlines, override=_override(override, asked.by)),
            stock_lot=stock_lot,
            stock_withstands_steam=stock_withstands_steam,
            reprint_of=reprint,
        )
        _print(here, order, by=asked.by, out=out, as_json=asked.as_json)


def _override(reason: str | None, by: str) -> "Override | None":
    from tracelabels.workflows.print_labels import Override

    if reason is None:
        return None
    if not reason.strip():
        raise InputError(given="an override without a reason", expected="the reason in words", remedy="write it")
    return Override(by=by, reason=reason.strip())


def _require_one_way(serials: tuple[str, ...], preparation: str | None) -> None:
    if serials and preparation:
        raise InputError(given="serials and --preparation together", expected="one of them", remedy="leave one out")


def _print(here: "Practice", order: "PrintOrder", *, by: str, out: Path | None, as_json: bool) -> None:
    from tracelabels.workflows.print_run import print_run

    with progress("printing labels") as advance:
        done = print_run(here, order, by=by, out=out, progress=advance)
    voids = f"; it voids the same labels of {order.reprint_of}" if order.reprint_of else ""
    say(f"Print run {done.run.number} is on record{voids}.")
    report(done.proved, done.file, as_json=as_json, run=done.run.number)
