"""Sterilisers and their days, and lots of what is used up."""

from dataclasses import replace
from typing import TYPE_CHECKING

import click

from tracelabels.cli.answers import answer, refuse, say
from tracelabels.cli.options import AT, Recording, bench_options, find_day, parse_day, parse_moment, parse_number
from tracelabels.words import in_words

if TYPE_CHECKING:
    from tracelabels.custody import Consumable

CYCLES = ("air_removal", "gravity", "type_n", "liquid")
LOTS = ("tubes", "pouch_material", "syringes", "indicators", "spore_tests", "label_stock", "needle_cartridges")
EVENTS = (
    "repaired", "moved", "validated", "calibrated", "serviced", "cleaned", "air_removal_test", "leak_test", "taken_out",
)  # fmt: skip


@click.command()
@click.argument("kind", type=click.Choice(LOTS))
@click.argument("lot")
@click.option("--name", "product", help="What the maker calls it.")
@click.option("--maker", help="Who made it.")
@click.option("--expiry", metavar="DATE", help="Last day of use, as on the box.")
@click.option("--reference", help="What a turned indicator of this lot looks like, in the box's own words.")
@click.option("--from", "from_day", metavar="DATE", help="First day of use.")
@click.option("--to", "to_day", metavar="DATE", help="Last day of use, of a lot on record.")
@click.option("--withdraw", metavar="REASON", help="Take a lot on record out of use: all that comes from it is STOP.")
@AT
@bench_options
def consumable(
    asked: Recording,
    kind: str,
    lot: str,
    product: str | None,
    maker: str | None,
    expiry: str | None,
    reference: str | None,
    from_day: str | None,
    to_day: str | None,
    withdraw: str | None,
) -> None:
    """Enter a lot of KIND with the number LOT on its box; or say how long it was in use, or withdraw it."""
    from tracelabels.workflows.enter_consumable import enter_consumable, use_consumable, withdraw_consumable

    value = replace(_lot(kind, lot, expiry), product=product, maker=maker, reference=reference)
    first = find_day(from_day, "--from")
    with asked.opened() as here:
        if withdraw is not None:
            hold = withdraw_consumable(here, value.name, by=asked.by, reason=withdraw, at=asked.moment(here))
            say(f"Withdrew {value.name}: hold {hold.number}.")
        elif to_day is not None:
            use_consumable(
                here, value.name, by=asked.by, from_day=first or here.today, to_day=parse_day(to_day, what="--to")
            )
            say(f"{value.name} was in use to {to_day}.")
        else:
            enter_consumable(here, value, by=asked.by, in_use_from=first)
            say(f"Entered {value.name}.")
    if asked.as_json:
        answer({"consumable": value.name.text, "withdrawn": withdraw is not None})


def _lot(kind: str, lot: str, expiry: str | None) -> "Consumable":
    from tracelabels.custody import Consumable, ConsumableKind

    return Consumable(kind=ConsumableKind(kind), lot=lot, expiry=find_day(expiry, "--expiry"))


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
