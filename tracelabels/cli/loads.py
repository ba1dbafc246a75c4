"""Steriliser loads: start, end, unload, indicators."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from tracelabels.cli.answers import FINDING, answer, refuse, say, sentences
from tracelabels.cli.options import AT, Recording, bench_options, parse_number, recording_options
from tracelabels.cli.steriliser import CYCLES
from tracelabels.errors import InputError
from tracelabels.words import local_minute

if TYPE_CHECKING:
    from datetime import tzinfo

    from tracelabels.workflows.read_indicators import IndicatorPicture, IndicatorsRead
    from tracelabels.workflows.record_spore_test import SporeOrder
    from tracelabels.workflows.run_load import Started
    from tracelabels.workflows.unload import CameOut, Unloading

GOODS = ("wrapped", "unwrapped", "liquid")
STATES = ("sound", "wet", "torn", "not_turned", "other")
RESULTS = ("turned", "not_turned", "unclear")


@click.command()
@click.argument("steriliser")
@click.argument("pouches", nargs=-1, metavar="[POUCH...]")
@click.option("--count", required=True, type=int, help="Pouches counted by hand; as many must be scanned.")
@click.option("--cycle", required=True, type=click.Choice(CYCLES), help="Kind of cycle.")
@click.option("--programme", required=True, help="Its name; those on file: tracelabels lethality --list.")
@click.option("--hold", nargs=2, metavar="DEGREES MINUTES", help="Set temperature and time, if not as on file.")
@click.option("--drying", help="Set drying time in minutes.")
@click.option("--goods", type=click.Choice(GOODS), help="What it is for; else as on file, else wrapped.")
@click.option("--cycle-number", type=click.IntRange(min=0), help="What the steriliser's own counter says.")
@click.option(
    "--spore-test", nargs=2, metavar="LOT PLACE", help="A spore test (BI) rides along: its lot, where it sits."
)
@click.option("--in-reference-tube", is_flag=True, help="The spore test sits in a tube of the same fill.")
@recording_options
def load(
    asked: Recording,
    steriliser: str,
    pouches: tuple[str, ...],
    count: int,
    cycle: str,
    programme: str,
    hold: tuple[str, str] | None,
    drying: str | None,
    goods: str | None,
    cycle_number: int | None,
    spore_test: tuple[str, str] | None,
    in_reference_tube: bool,
) -> int:
    """Start a load of STERILISER with the POUCHes scanned in; its contents are closed from then on."""
    from tracelabels.custody import CycleKind, Goods
    from tracelabels.workflows.run_load import LoadOrder, start_load

    if in_reference_tube and spore_test is None:
        raise InputError(
            given="--in-reference-tube without a spore test", expected="a spore test", remedy="add --spore-test"
        )
    with asked.opened() as here:
        order = LoadOrder(
            steriliser=steriliser,
            cycle_kind=CycleKind(cycle),
            programme=programme,
            temperature_c=parse_number(hold[0], "--hold") if hold else None,
            hold_minutes=parse_number(hold[1], "--hold") if hold else None,
            goods=Goods(goods) if goods else None,
            counted=count,
            pouches=pouches,
            drying_minutes=None if drying is None else parse_number(drying, "--drying"),
            cycle_number=cycle_number,
            spore_test=_rides(spore_test, is_inside=in_reference_tube) if spore_test else None,
            at=asked.moment(here),
        )
        done = start_load(here, order, by=asked.by, request_key=asked.request)
        return _tell_started(done, here.settings.zone, as_json=asked.as_json)


def _rides(spore_test: tuple[str, str], *, is_inside: bool) -> "SporeOrder":
    from tracelabels.workflows.record_spore_test import SporeOrder

    return SporeOrder(lot=spore_test[0], placement=spore_test[1], in_reference_tube=is_inside)


def _tell_started(done: "Started", zone: "tzinfo", *, as_json: bool) -> int:
    for warning in done.warnings:
        say(f"note: {warning.sentence}")
    if done.load is None:
        return refuse("Load", done.refused, as_json=as_json)
    test = done.test.number if done.test else None
    say(f"Load {done.load.number} of {done.load.steriliser.text} started with {done.load.counted} pouches.")
    if done.test:
        say(f"Spore test {done.test.number} rides along; read it from {local_minute(done.test.due_at, zone)}.")
    if as_json:
        pouches = [pouch.text for pouch in done.load.pouches]
        answer(
            {
                "done": True,
                "load": done.load.number,
                "pouches": pouches,
                "spore_test": test,
                "warnings": sentences(done.warnings),
            }
        )
    return 0


@click.command(name="load-end")
@click.argument("number", metavar="LOAD")
@click.argument("outcome", type=click.Choice(("complete", "aborted")))
@click.option("--note", help="What the steriliser showed.")
@AT
@bench_options
def load_end(asked: Recording, number: str, outcome: str, note: str | None) -> None:
    """Record how LOAD ended."""
    from tracelabels.custody import Outcome
    from tracelabels.workflows.run_load import end_load

    with asked.opened() as here:
        end = end_load(here, number, Outcome(outcome), by=asked.by, at=asked.moment(here), note=note)
    say(f"Load {number} was {outcome}.")
    if asked.as_json:
        answer({"load": number, "outcome": outcome, "at": end.at})


@click.command()
@click.argument("number", metavar="LOAD")
@click.argument("pouches", nargs=-1, required=True, metavar="POUCH[=STATE]...")
@AT
@bench_options
def unload(asked: Recording, number: str, pouches: tuple[str, ...]) -> int:
    """Scan every POUCH out of LOAD; add its state if it is not sound: wet, torn, not_turned, other."""
    from tracelabels.workflows.unload import unload as scan_out

    with asked.opened() as here:
        out = [_came_out(text) for text in pouches]
        done = scan_out(here, number, out, by=asked.by, at=asked.moment(here))
    if done.refused:
        return refuse(f"Unloading of load {number}", done.refused, as_json=asked.as_json)
    return _tell_unloaded(number, done, as_json=asked.as_json)


def _came_out(text: str) -> "CameOut":
    from tracelabels.custody import PouchState
    from tracelabels.workflows.unload import CameOut

    serial, _, state = text.partition("=")
    if state and state not in STATES:
        raise InputError(
            given=f"pouch {text!r}",
            expected=f"a serial, or a serial with one of {', '.join(STATES)} after =",
            remedy="write it as 010000012=wet",
        )
    return CameOut(serial=serial, state=PouchState(state or "sound"))


def _tell_unloaded(number: str, done: "Unloading", *, as_json: bool) -> int:
    say(f"Load {number}: {len(done.recorded)} pouches scanned out now.")
    for what, serials in (
        ("rejected", [pouch.text for pouch in done.rejected]),
        ("NOT scanned out yet", [pouch.text for pouch in done.missing]),
        ("NEVER scanned into this load, nothing recorded", list(done.extra)),
    ):
        if serials:
            say(f"  {what}: {', '.join(serials)}")
    if as_json:
        answer(
            {
                "load": number,
                "unloaded": [one.pouch.text for one in done.recorded],
                "rejected": [pouch.text for pouch in done.rejected],
                "missing": [pouch.text for pouch in done.missing],
                "extra": list(done.extra),
            }
        )
    return FINDING if done.rejected or done.missing or done.extra else 0


@click.command()
@click.argument("number", metavar="LOAD")
@click.argument("pouches", nargs=-1, metavar="[POUCH=RESULT...]")
@click.option("--all", "all_pouches", type=click.Choice(RESULTS), help="The same result for every other pouch.")
@click.option("--place", type=click.Choice(("outside", "inside")), default="outside", show_default=True)
@click.option("--of-load", type=click.Choice(RESULTS), help="One that stands for the whole load.")
@click.option("--type", "type_number", type=int, help="Type after ISO 11140-1, 1 to 6; the types are no ranking.")
@click.option("--lot", help="Lot of the indicators.")
@click.option("--picture", "pictures", multiple=True, metavar="POUCH=FILE", help="A photograph of one; kept, compared.")
@AT
@bench_options
def indicators(
    asked: Recording,
    number: str,
    pouches: tuple[str, ...],
    all_pouches: str | None,
    place: str,
    of_load: str | None,
    type_number: int | None,
    lot: str | None,
    pictures: tuple[str, ...],
) -> int:
    """Record the chemical indicators of LOAD, compared with their lot's own reference: exposure, not sterility."""
    from tracelabels.custody import IndicatorPlace, IndicatorResult
    from tracelabels.workflows.read_indicators import IndicatorSeen, pouches_of, read_indicators

    results = list(dict.fromkeys(map(_result, pouches)))
    shown = dict(map(_picture, pictures))
    with asked.opened() as here:
        if all_pouches:
            named = {serial for serial, _ in results}
            results = [*((one, all_pouches) for one in pouches_of(here, number) if one not in named), *results]
        _require_read(shown, results)
        seen = [
            IndicatorSeen(
                pouch=serial,
                place=IndicatorPlace(place) if serial else IndicatorPlace.IN_LOAD,
                result=IndicatorResult(result),
                type_number=type_number,
                lot=lot,
                picture=shown.get(serial) if serial else None,
            )
            for serial, result in [*results, *([(None, of_load)] if of_load else [])]
        ]
        done = read_indicators(here, number, seen, by=asked.by, at=asked.moment(here))
    return _tell_indicators(number, done, as_json=asked.as_json)


def _tell_indicators(number: str, done: "IndicatorsRead", *, as_json: bool) -> int:
    if done.refused:
        return refuse(f"Indicators of load {number}", done.refused, as_json=as_json)
    bad = [one.pouch.text if one.pouch else number for one in done.recorded if one.result.value != "turned"]
    not_turned = f"; NOT turned: {', '.join(bad)}" if bad else ""
    say(f"Load {number}: {len(done.recorded)} indicators read{not_turned}.")
    for one in done.recorded:
        if one.compared is not None:
            say(f"  {one.pouch.text if one.pouch else number}: {one.compared}")
    if as_json:
        answer(
            {"done": True, "load": number, "read": len(done.recorded), "not_turned": bad, "compared": _compared(done)}
        )
    return FINDING if bad else 0


def _require_read(shown: "dict[str, IndicatorPicture]", results: list[tuple[str | None, str]]) -> None:
    """Refuse a photograph of an indicator that nobody read: it would be lost."""
    lost = sorted(shown.keys() - {serial for serial, _ in results})
    if lost:
        raise InputError(
            given=f"--picture of {', '.join(lost)}, whose indicator is not among those read",
            expected="a photograph of one that is read now",
            remedy=f"add what it showed, such as {lost[0]}=turned",
        )


def _compared(done: "IndicatorsRead") -> dict[str, str]:
    return {one.pouch.text: one.compared for one in done.recorded if one.pouch and one.compared}


def _picture(text: str) -> "tuple[str, IndicatorPicture]":
    from tracelabels.workflows.keep_evidence import read_file
    from tracelabels.workflows.read_indicators import IndicatorPicture

    serial, equals, file = text.partition("=")
    if not equals:
        raise InputError(
            given=f"--picture {text!r}", expected="a pouch's serial, = and a file", remedy="write 010000012=seen.jpg"
        )
    return serial, IndicatorPicture(name=Path(file).name, content=read_file(Path(file)))


def _result(text: str) -> tuple[str | None, str]:
    serial, _, result = text.partition("=")
    if result not in RESULTS:
        raise InputError(
            given=f"indicator {text!r}",
            expected=f"a pouch's serial, = and one of {', '.join(RESULTS)}",
            remedy="write it as 010000012=turned",
        )
    return serial, result
