"""Sterilisers and their days."""

from decimal import Decimal

import click

from tracelabels.cli.answers import answer, refuse, say
from tracelabels.cli.options import AT, Recording, bench_options, find_day, parse_moment, parse_number
from tracelabels.words import in_words

CYCLES = ("air_removal", "gravity", "type_n", "liquid")
EVENTS = (
    "repaired", "moved", "validated", "calibrated", "serviced", "cleaned", "air_removal_test", "leak_test",
    "clock_compared", "taken_out",
)  # fmt: skip


@click.command()
@click.argument("code")
@click.option("--name", required=True, help="What people call it.")
@click.option("--serial-number", required=True, help="The maker's serial number.")
@click.option("--cycle", "cycles", multiple=True, required=True, type=click.Choice(CYCLES), help="A kind; repeat.")
@click.option("--litres", help="Volume of the chamber.")
@click.option("--validation", help="Where its validation is filed.")
@click.option("--installed", metavar="MOMENT", help="When it was installed, if not now.")
@bench_options
def steriliser(
    asked: Recording,
    code: str,
    name: str,
    serial_number: str,
    cycles: tuple[str, ...],
    litres: str | None,
    validation: str | None,
    installed: str | None,
) -> None:
    """Enter a steriliser under the practice's own CODE; it is untested until a spore test has passed."""
    from tracelabels.custody import CycleKind, Steriliser
    from tracelabels.workflows.enter_steriliser import enter_steriliser

    value = Steriliser(
        code=code,
        name=name,
        serial_number=serial_number,
        cycle_kinds=tuple(map(CycleKind, dict.fromkeys(cycles))),
        chamber_litres=None if litres is None else parse_number(litres, "--litres"),
        validation=validation,
    )
    with asked.opened() as here:
        moment = parse_moment(installed, here.settings.zone, what="--installed")
        enter_steriliser(here, value, by=asked.by, installed_at=moment)
    say(f"Entered steriliser {code}; until a spore test of a cycle kind has passed, one rides along in every load.")
    if asked.as_json:
        answer({"steriliser": code, "cycles": list(cycles)})


@click.command(name="steriliser-day")
@click.argument("code")
@click.argument("event", type=click.Choice(EVENTS))
@click.option("--passed/--failed", "passed", default=None, help="Whether a test passed.")
@click.option("--cycle", type=click.Choice(CYCLES), help="The cycle kind it is about (else the whole steriliser).")
@click.option("--next-due", metavar="DATE", help="When the same is due again.")
@click.option("--error", "error_k", metavar="K", help="calibrated: how far the probe may be off.")
@click.option("--offset", "offset_s", type=int, metavar="S", help="clock_compared: seconds the logger is ahead.")
@click.option("--note", help="Anything else; no names of people.")
@AT
@bench_options
def steriliser_day(
    asked: Recording,
    code: str,
    event: str,
    passed: bool | None,
    cycle: str | None,
    next_due: str | None,
    error_k: str | None,
    offset_s: int | None,
    note: str | None,
) -> None:
    """Record what was done to steriliser CODE, or tested on it."""
    from tracelabels.custody import CycleKind, Kind, Name, SteriliserEvent, SteriliserEventKind
    from tracelabels.workflows.enter_steriliser import record_event

    with asked.opened() as here:
        value = SteriliserEvent(
            steriliser=Name(Kind.STERILISER, code),
            event=SteriliserEventKind(event),
            at=here.when(asked.moment(here)),
            passed=passed,
            cycle_kind=CycleKind(cycle) if cycle else None,
            next_due=find_day(next_due, "--next-due"),
            note=note,
            error_k=None if error_k is None else parse_number(error_k, "--error"),
            offset_s=None if offset_s is None else Decimal(offset_s),
        )
        record_event(here, value, by=asked.by)
    result = "" if passed is None else f", {'passed' if passed else 'FAILED'}"
    say(f"Steriliser {code}: {in_words(event)}{result}.")
    if asked.as_json:
        answer({"steriliser": code, "event": event, "passed": passed, "at": value.at})


@click.command(name="return-to-service")
@click.argument("code")
@click.option("--cycle", type=click.Choice(CYCLES), help="For this kind of cycle only.")
@click.option(
    "--override", metavar="REASON", help="Return it without three consecutive passes; recorded with your code."
)
@AT
@bench_options
def return_to_service(asked: Recording, code: str, cycle: str | None, override: str | None) -> int:
    """Return steriliser CODE to service: three consecutive spore tests have passed since it was taken out."""
    from tracelabels.custody import CycleKind
    from tracelabels.workflows.enter_steriliser import return_to_service as bring_back

    with asked.opened() as here:
        done = bring_back(
            here,
            code,
            by=asked.by,
            cycle_kind=CycleKind(cycle) if cycle else None,
            override=override,
            at=asked.moment(here),
        )
    if done.event is None:
        return refuse(f"Return of steriliser {code} to service", done.refused, as_json=asked.as_json)
    say(f"Steriliser {code} is back in service{f' ({done.event.note})' if done.event.note else ''}.")
    if done.refused:
        say("What a growth reaches goes on until three consecutive spore tests have passed.")
    if asked.as_json:
        answer({"done": True, "steriliser": code, "overridden": [one.sentence for one in done.refused]})
    return 0
