"""The bench: enter a pigment, receive, open and withdraw bottles, prepare tubes."""

import re
from decimal import Decimal, InvalidOperation
from typing import TYPE_CHECKING, Any

import click

from tracelabels.cli.answers import FINDING, answer, say
from tracelabels.cli.options import Recording, bench_options, find_day, parse_day
from tracelabels.errors import InputError
from tracelabels.words import in_words

if TYPE_CHECKING:
    from datetime import date

    from tracelabels.custody import Bottle, Expiry
    from tracelabels.workflows.prepare_tubes import Prepared

CARRIERS = ("water_based", "alcohol_bearing", "oil_or_anhydrous", "unknown")


@click.command()
@click.argument("name")
@click.option("--item", required=True, help="The maker's item number.")
@click.option("--maker", required=True, help="Who makes it.")
@click.option(
    "--carrier", type=click.Choice(CARRIERS), default="unknown", show_default=True, help="What carries the pigment."
)
@click.option("--gtin", help="The GTIN on the bottle, if any.")
@click.option("--swatch", metavar="#RRGGBB", help="A colour to show on screens.")
@click.option("--statement", help="Where the maker's written statement on re-sterilising is filed.")
@bench_options
def product(
    asked: Recording,
    name: str,
    item: str,
    maker: str,
    carrier: str,
    gtin: str | None,
    swatch: str | None,
    statement: str | None,
) -> None:
    """Enter a pigment called NAME, before its first bottle is received."""
    from tracelabels.custody import Carrier, Product
    from tracelabels.workflows.enter_product import enter_product

    value = Product(
        name=name,
        item_number=item,
        maker=maker,
        carrier=Carrier(carrier),
        gtin=gtin,
        swatch=swatch,
        resterilising_statement=statement,
    )
    with asked.opened() as here:
        done = enter_product(here, value, by=asked.by)
    say(f"Entered {done.name}, item {done.item_number} of {done.maker}.")
    if asked.as_json:
        answer({"item": done.item_number, "name": done.name, "maker": done.maker, "gtin": done.gtin})


@click.command()
@click.argument("item")
@click.option("--batch", required=True, help="The maker's batch, as on the bottle.")
@click.option("--expiry", help="As on the bottle: 2027-11-30, or 2027-11 for a month.")
@click.option("--keeps", help="Period after opening, as on the bottle: 12 months, 28 days, session.")
@click.option("--volume", help="Contents in mL.")
@click.option("--received", metavar="DATE", help="The day it came (else today).")
@click.option("--opened-unknown", is_flag=True, help="It is open already, and nobody knows since when.")
@click.option("--count", type=int, default=1, show_default=True, help="Bottles of this batch.")
@click.option("--maker", help="The maker, if several have this item number.")
@bench_options
def receive(
    asked: Recording,
    item: str,
    batch: str,
    expiry: str | None,
    keeps: str | None,
    volume: str | None,
    received: str | None,
    opened_unknown: bool,
    count: int,
    maker: str | None,
) -> None:
    """Enter a bottle that arrived of the pigment with item number ITEM."""
    from tracelabels.custody import parse_period
    from tracelabels.workflows.enter_product import require_product
    from tracelabels.workflows.receive_bottle import Arrival, receive_bottles

    with asked.opened() as here:
        arrival = Arrival(
            product=require_product(here, item, maker=maker),
            batch=batch,
            expiry=_expiry(expiry),
            period_after_opening=None if keeps is None else parse_period(keeps),
            volume_ml=amount_in_ml(volume, "--volume"),
            received_on=find_day(received, "--received"),
            opened_unknown=opened_unknown,
            count=count,
        )
        for bottle in receive_bottles(here, arrival, by=asked.by):
            _tell_bottle("Received", bottle, as_json=asked.as_json)


@click.command(name="open")
@click.argument("serial")
@click.option("--on", metavar="DATE", help="The day (else today).")
@bench_options
def open_bottle(asked: Recording, serial: str, on: str | None) -> None:
    """Record that the bottle with this SERIAL was opened."""
    from tracelabels.workflows.receive_bottle import open_bottle as record

    with asked.opened() as here:
        bottle = record(here, serial, by=asked.by, on=find_day(on, "--on"))
    _tell_bottle("Opened", bottle, as_json=asked.as_json)


@click.command()
@click.argument("serial")
@click.option("--reason", required=True, help="Why: a recall, a doubt.")
@bench_options
def withdraw(asked: Recording, serial: str, reason: str) -> None:
    """Take the bottle with this SERIAL out of use from today; what was made from it is STOP at the chair."""
    from tracelabels.workflows.receive_bottle import withdraw_bottle

    with asked.opened() as here:
        bottle = withdraw_bottle(here, serial, by=asked.by, reason=reason)
    _tell_bottle("Withdrew", bottle, as_json=asked.as_json)


@click.command()
@click.option(
    "--from", "sources", multiple=True, metavar="SERIAL[=ML]", help="A bottle that goes in, and how much; repeat."
)
@click.option("--diluent", multiple=True, metavar="NAME,BATCH[,EXPIRY[,ML]]", help="A diluent that goes in; repeat.")
@click.option("--tubes", type=int, required=True, help="How many tubes.")
@click.option("--size", help="Nominal size of a tube in mL: 0.5, 1.5, 2.0.")
@click.option("--fill", help="mL in each tube (filled before processing only).")
@click.option(
    "--variant",
    type=click.Choice(["empty_tubes", "filled_before"]),
    default="empty_tubes",
    show_default=True,
    help="Empty tubes are filled at the chair; filled before needs the maker's statement and a liquid cycle.",
)
@bench_options
def prepare(
    asked: Recording,
    sources: tuple[str, ...],
    diluent: tuple[str, ...],
    tubes: int,
    size: str | None,
    fill: str | None,
    variant: str,
) -> int:
    """Prepare tubes: empty ones that are filled at the chair, or filled from bottles before processing.

    A filled, closed tube is a sealed container of liquid: small steam sterilisers for wrapped instruments are not
    meant for liquids, and it can burst or boil over. Steam does not sterilise oil-based or anhydrous pigment;
    alcohol-bearing pigment does not go into a steriliser. Exit 1 if the rules refuse it, with every reason.
    """
    from tracelabels.custody import Variant
    from tracelabels.workflows.prepare_tubes import PreparationOrder, prepare_tubes

    order = PreparationOrder(
        variant=Variant(variant),
        tubes=tubes,
        parts=(*map(bottle_part, sources), *map(diluent_part, diluent)),
        size_ml=amount_in_ml(size, "--size"),
        fill_ml=amount_in_ml(fill, "--fill"),
    )
    with asked.opened() as here:
        done = prepare_tubes(here, order, by=asked.by)
    _tell_prepared(done, as_json=asked.as_json)
    return FINDING if done.refused else 0


def _expiry(text: str | None) -> "Expiry | None":
    from tracelabels.custody import Expiry

    if text is None:
        return None
    year, _, month = text.strip().partition("-")
    if re.fullmatch("(19|20)[0-9]{2}-(0[1-9]|1[0-2])", text.strip()):
        return Expiry.in_month(int(year), int(month))
    return Expiry.on_day(parse_day(text, what="--expiry"))


def amount_in_ml(text: str | None, what: str) -> Decimal | None:
    """Read millilitres as people type them."""
    if text is None:
        return None
    try:
        amount = Decimal(text.strip().removesuffix("mL").strip())
    except InvalidOperation:
        amount = Decimal(-1)
    if not amount.is_finite() or not 0 < amount <= 10_000:  # noqa: PLR2004  ten litres
        raise InputError(given=f"{what} {text!r}", expected="millilitres such as 0.5", remedy="write a number")
    return amount


def bottle_part(text: str) -> Any:  # noqa: ANN401  a Part
    """Read a bottle that goes in: its serial, and how much."""
    from tracelabels.workflows.prepare_tubes import Part

    serial, _, amount = text.partition("=")
    return Part(bottle=serial.strip(), amount_ml=amount_in_ml(amount or None, "--from"))


def diluent_part(text: str) -> Any:  # noqa: ANN401  a Part
    """Read a diluent that goes in: name, batch, expiry, how much."""
    from tracelabels.custody import Diluent
    from tracelabels.workflows.prepare_tubes import Part

    parts = [part.strip() for part in text.split(",")]
    if not 2 <= len(parts) <= 4 or not all(parts[:2]):  # noqa: PLR2004  NAME,BATCH,EXPIRY,ML
        raise InputError(given=f"--diluent {text!r}", expected="NAME,BATCH[,EXPIRY[,ML]]", remedy="write it so")
    name, batch, expiry, amount = (*parts, "", "")[:4]
    day: date | None = parse_day(expiry, what="--diluent expiry") if expiry else None
    return Part(
        diluent=Diluent(name=name, batch=batch, expiry=day), amount_ml=amount_in_ml(amount or None, "--diluent")
    )


def _tell_bottle(what: str, bottle: "Bottle", *, as_json: bool) -> None:
    say(f"{what} bottle {bottle.serial}: {bottle.name}.")
    if as_json:
        answer({"bottle": bottle.serial, "product": bottle.product.name, "batch": bottle.batch})


def _tell_prepared(done: "Prepared", *, as_json: bool) -> None:
    if done.preparation is None:
        for reason in done.refused:
            say(f"refused: {reason.sentence}")
        if as_json:
            answer({"preparation": None, "tubes": [], "reasons": [reason.sentence for reason in done.refused]})
        return
    use_by = done.dating.use_by if done.dating else None
    said = f"use by {use_by.date.isoformat()} ({in_words(use_by.cause.kind)})" if use_by else "no use-by"
    say(f"Preparation {done.preparation.number}: {len(done.tubes)} tubes, {said}.")
    if as_json:
        answer(
            {
                "preparation": done.preparation.number,
                "tubes": [tube.serial for tube in done.tubes],
                "use_by": use_by.date if use_by else None,
                "use_by_cause": use_by.cause.kind.value if use_by else None,
                "reasons": [],
            }
        )
