"""Steriliser loads: start, end, unload, readings, indicators."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from tracelabels.cli.answers import FINDING, answer, refuse, say, sentences
from tracelabels.cli.options import AT, Recording, bench_options, parse_number, recording_options
from tracelabels.cli.steriliser import CYCLES
from tracelabels.errors import InputError
from tracelabels.words import in_words

if TYPE_CHECKING:
    from tracelabels.custody import GaugeReading
    from tracelabels.workflows.read_indicators import IndicatorsRead
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
@click.option("--programme", required=True, help="Name of the programme.")
@click.option("--hold", required=True, nargs=2, metavar="DEGREES MINUTES", help="Set temperature and holding time.")
@click.option("--drying", help="Set drying time in minutes.")
@click.option("--goods", type=click.Choice(GOODS), default="wrapped", show_default=True, help="What it is for.")
@click.option("--cycle-number", type=int, help="What the steriliser's own counter says.")
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
    hold: tuple[str, str],
    drying: str | None,
    goods: str,
    cycle_number: int | None,
    spore_test: tuple[str, str] | None,
    in_reference_tube: bool,
) -> int:
    """Start a load of STERILISER with the POUCHes scanned in; its contents are closed from then on."""
    from tracelabels.custody import CycleKind, Goods
    from tracelabels.workflows.run_load import LoadOrder, start_load

    with asked.opened() as here:
        order = LoadOrder(
            steriliser=steriliser,
            cycle_kind=CycleKind(cycle),
            programme=programme,
            temperature_c=parse_number(hold[0], "--hold"),
            hold_minutes=parse_number(hold[1], "--hold"),
            goods=Goods(goods),
            counted=count,
            pouches=pouches,
            drying_minutes=None if drying is None else parse_number(drying, "--drying"),
            cycle_number=cycle_number,
            spore_test=_rides(spore_test, is_inside=in_reference_tube) if spore_test else None,
            at=asked.moment(here),
        )
        return _tell_started(start_load(here, order, by=asked.by, request_key=asked.request), as_json=asked.as_json)


def _rides(spore_test: tuple[str, str], *, is_inside: bool) -> "SporeOrder":
    from tracelabels.workflows.record_spore_test import SporeOrder

    return SporeOrder(lot=spore_test[0], placement=spore_test[1], in_reference_tube=is_inside)


def _tell_started(done: "Started", *, as_json: bool) -> int:
    for warning in done.warnings:
        say(f"note: {warning.sentence}")
    if done.load is None:
        return refuse("Load", done.refused, as_json=as_json)
    test = done.test.number if done.test else None
    say(f"Load {done.load.number} of {done.load.steriliser.text} started with {done.load.counted} pouches.")
    if done.test:
        say(f"Spore test {done.test.number} rides along; read it from {done.test.due_at:%Y-%m-%d %H:%M} UTC.")
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
@click.option("--verdict", required=True, type=click.Choice(("met", "not_met", "cannot_tell")), help="Your judgement.")
@click.option("--reading", "typed", multiple=True, metavar="MINUTE=DEGREES[@KPA]", help="As read; repeat.")
@click.option("--source", type=click.Choice(("gauge", "printout", "logger")), default="gauge", show_default=True)
@click.option("--file", type=click.Path(path_type=Path, exists=True, dir_okay=False), help="Kept as evidence.")
@click.option(
    "--probe",
    type=click.Choice(("chamber", "reference_tube", "unknown")),
    default="chamber",
    show_default=True,
    help="Where it was measured; the chamber says nothing of the inside of a closed tube.",
)
@click.option("--reason", "reasons", multiple=True, help="Why it is not met, or cannot be told; repeat.")
@bench_options
def readings(
    asked: Recording,
    number: str,
    verdict: str,
    typed: tuple[str, ...],
    source: str,
    file: Path | None,
    probe: str,
    reasons: tuple[str, ...],
) -> None:
    """Record the readings of LOAD, and whether they meet its programme by your judgement."""
    from tracelabels.custody import ProbePlace, ReadingsSource, ReadingsVerdict
    from tracelabels.workflows.record_readings import ReadingsFile, ReadingsOrder, record_readings

    order = ReadingsOrder(
        source=ReadingsSource(source),
        probe=ProbePlace(probe),
        verdict=ReadingsVerdict(verdict),
        typed=tuple(map(_reading, typed)),
        reasons=reasons,
    )
    kept = ReadingsFile(name=file.name, content=file.read_bytes()) if file else None
    with asked.opened() as here:
        done = record_readings(here, number, order, by=asked.by, file=kept)
    say(f"Load {number}: readings {in_words(verdict)}, {done.reasons[-1]}.")
    if asked.as_json:
        answer({"load": number, "verdict": verdict, "reasons": list(done.reasons), "evidence": done.evidence})


def _reading(text: str) -> "GaugeReading":
    from tracelabels.custody import GaugeReading

    minute, equals, rest = text.partition("=")
    degrees, _, pressure = rest.partition("@")
    if not equals:
        raise InputError(
            given=f"--reading {text!r}",
            expected="MINUTE=DEGREES or MINUTE=DEGREES@KPA",
            remedy="write it as 0=134.2@306",
        )
    return GaugeReading(
        minute=parse_number(minute, "--reading"),
        temperature_c=parse_number(degrees, "--reading"),
        pressure_kpa=parse_number(pressure, "--reading") if pressure else None,
    )


@click.command()
@click.argument("number", metavar="LOAD")
@click.argument("pouches", nargs=-1, metavar="[POUCH=RESULT...]")
@click.option("--all", "all_pouches", type=click.Choice(RESULTS), help="The same result for every other pouch.")
@click.option("--place", type=click.Choice(("outside", "inside")), default="outside", show_default=True)
@click.option("--of-load", type=click.Choice(RESULTS), help="One that stands for the whole load.")
@click.option("--type", "type_number", type=int, help="Type after ISO 11140-1, 1 to 6; the types are no ranking.")
@click.option("--lot", help="Lot of the indicators.")
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
) -> int:
    """Record the chemical indicators of LOAD, compared with their lot's own reference: exposure, not sterility."""
    from tracelabels.custody import IndicatorPlace, IndicatorResult
    from tracelabels.workflows.read_indicators import IndicatorSeen, pouches_of, read_indicators

    results = dict(map(_result, pouches))
    with asked.opened() as here:
        if all_pouches:
            results = {**dict.fromkeys(pouches_of(here, number), all_pouches), **results}
        seen = [
            IndicatorSeen(
                pouch=serial,
                place=IndicatorPlace(place) if serial else IndicatorPlace.IN_LOAD,
                result=IndicatorResult(result),
                type_number=type_number,
                lot=lot,
            )
            for serial, result in [*results.items(), *([(None, of_load)] if of_load else [])]
        ]
        done = read_indicators(here, number, seen, by=asked.by, at=asked.moment(here))
    return _tell_indicators(number, done, as_json=asked.as_json)


def _tell_indicators(number: str, done: "IndicatorsRead", *, as_json: bool) -> int:
    if done.refused:
        return refuse(f"Indicators of load {number}", done.refused, as_json=as_json)
    bad = [one.pouch.text if one.pouch else number for one in done.recorded if one.result.value != "turned"]
    not_turned = f"; NOT turned: {', '.join(bad)}" if bad else ""
    say(f"Load {number}: {len(done.recorded)} indicators read{not_turned}.")
    if as_json:
        answer({"done": True, "load": number, "read": len(done.recorded), "not_turned": bad})
    return FINDING if bad else 0


def _result(text: str) -> tuple[str | None, str]:
    serial, _, result = text.partition("=")
    if result not in RESULTS:
        raise InputError(
            given=f"indicator {text!r}",
            expected=f"a pouch's serial, = and one of {', '.join(RESULTS)}",
            remedy="write it as 010000012=turned",
        )
    return serial, result
