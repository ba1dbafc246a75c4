"""Lots of what is used up on the way from the bottle to the client."""

from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tracelabels.cli.answers import answer, say
from tracelabels.cli.options import AT, Recording, bench_options, find_day, gathered, parse_day, parse_number
from tracelabels.errors import InputError

if TYPE_CHECKING:
    from tracelabels.custody import Consumable
    from tracelabels.workflows.enter_consumable import LotPictures
    from tracelabels.workflows.practice import Practice

LOTS = ("tubes", "pouch_material", "syringes", "indicators", "spore_tests", "label_stock", "needle_cartridges")
_PICTURE = click.Path(path_type=Path, exists=True, dir_okay=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """What the command was called with."""

    kind: str
    lot: str
    product: str | None
    maker: str | None
    expiry: str | None
    reference: str | None
    type_number: int | None
    population: str | None
    d_value: str | None
    reference_picture: Path | None
    turned: Path | None
    unturned: Path | None
    from_day: str | None
    to_day: str | None
    withdraw: str | None


@click.command()
@click.argument("kind", type=click.Choice(LOTS))
@click.argument("lot")
@click.option("--name", "product", help="What the maker calls it.")
@click.option("--maker", help="Who made it.")
@click.option("--expiry", metavar="DATE", help="Last day of use, as on the box.")
@click.option("--reference", help="What a turned indicator of this lot looks like, in the box's own words.")
@click.option("--type", "type_number", type=click.IntRange(1, 6), help="Of indicators, after ISO 11140-1; no ranking.")
@click.option("--population", metavar="SPORES", help="Of spore tests, as on the certificate: 2.3e6.")
@click.option("--d-value", metavar="MINUTES", help="Of spore tests at 121 C, as on the certificate.")
@click.option("--reference-picture", type=_PICTURE, help="Of the lot's own printed reference; kept as evidence.")
@click.option("--turned", type=_PICTURE, help="Your own picture of one that turned.")
@click.option("--unturned", type=_PICTURE, help="Your own picture of one that has not.")
@click.option("--from", "from_day", metavar="DATE", help="First day of use.")
@click.option("--to", "to_day", metavar="DATE", help="Last day of use, of a lot on record.")
@click.option("--withdraw", metavar="REASON", help="Take a lot on record out of use: all that comes from it is STOP.")
@AT
@bench_options
@gathered(Chosen)
def consumable(asked: Recording, chosen: Chosen) -> None:
    """Enter a lot of KIND with the number LOT on its box; or say how long it was in use, or withdraw it."""
    value = _value(chosen)
    with asked.opened() as here:
        _record(here, asked, chosen, value)
    if asked.as_json:
        answer({"consumable": value.name.text, "withdrawn": chosen.withdraw is not None})


def _record(here: "Practice", asked: Recording, chosen: Chosen, value: "Consumable") -> None:
    from tracelabels.workflows.enter_consumable import enter_consumable, use_consumable, withdraw_consumable

    first = find_day(chosen.from_day, "--from")
    if chosen.withdraw is not None:
        hold = withdraw_consumable(here, value.name, by=asked.by, reason=chosen.withdraw, at=asked.moment(here))
        say(f"Withdrew {value.name}: hold {hold.number}.")
    elif chosen.to_day is not None:
        last = parse_day(chosen.to_day, what="--to")
        use_consumable(here, value.name, by=asked.by, from_day=first or here.today, to_day=last)
        say(f"{value.name} was in use to {chosen.to_day}.")
    else:
        enter_consumable(here, value, by=asked.by, in_use_from=first, pictures=_pictures(chosen))
        say(f"Entered {value.name}.")
        _tell_times(value)


def _value(chosen: Chosen) -> "Consumable":
    from tracelabels.custody import Consumable, ConsumableKind

    return Consumable(
        kind=ConsumableKind(chosen.kind),
        lot=chosen.lot,
        expiry=find_day(chosen.expiry, "--expiry"),
        product=chosen.product,
        maker=chosen.maker,
        reference=chosen.reference,
        type_number=chosen.type_number,
        population=None if chosen.population is None else _population(chosen.population),
        d_value_minutes=None if chosen.d_value is None else parse_number(chosen.d_value, "--d-value"),
    )


def _pictures(chosen: Chosen) -> "LotPictures | None":
    from tracelabels.workflows.enter_consumable import LotPictures

    if not (chosen.reference_picture or chosen.turned or chosen.unturned):
        return None
    return LotPictures(reference=chosen.reference_picture, turned=chosen.turned, unturned=chosen.unturned)


def _population(text: str) -> Decimal:
    try:
        number = Decimal(text.strip())
    except InvalidOperation:
        number = Decimal(0)
    if not number.is_finite() or number <= 0:
        raise InputError(
            given=f"--population {text!r}", expected="a number such as 2.3e6", remedy="copy it from the certificate"
        )
    return number


def _tell_times(value: "Consumable") -> None:
    """Say how long spores of the lot live at 121 C."""
    if value.population is None or value.d_value_minutes is None:
        return
    from tracelabels.workflows.enter_consumable import spore_times

    times = spore_times(population=float(value.population), d_minutes=float(value.d_value_minutes))
    say(
        f"At 121 C its spores outlive {times.survival_minutes:.1f} min and are killed by {times.kill_minutes:.1f} min "
        "(USP 35)."
    )
