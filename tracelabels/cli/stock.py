"""``tracelabels stock``: what is there, what to take first, what expires, what is kept back."""

from typing import TYPE_CHECKING

import click

from tracelabels.cli.answers import answer
from tracelabels.cli.options import Asked, practice_options
from tracelabels.errors import InputError

if TYPE_CHECKING:
    from tracelabels.workflows.stock_list import Stock, StockLine


@click.command()
@click.option("--within", type=click.IntRange(min=0), default=30, show_default=True, help="Days for what expires soon.")
@click.option(
    "--pick",
    "picks",
    multiple=True,
    metavar="ITEM=COUNT",
    help="What to take for tomorrow, first expiring first; 'empty' for empty tubes. Repeat.",
)
@practice_options
def stock(asked: Asked, within: int, picks: tuple[str, ...]) -> None:
    """List what is in stock unopened. A list is no verdict: at the chair each thing is checked by itself."""
    from tracelabels.workflows.stock_list import list_stock

    with asked.opened() as here:
        found = list_stock(here, within_days=within, wanted=dict(_wanted(one) for one in picks))
    if asked.as_json:
        _answer(found)
        return
    click.echo(f"In stock unopened: {len(found.lines)} ({sum(one.is_free for one in found.lines)} free)")
    for place, count in found.places.items():
        click.echo(f"  {place or 'no place entered'}: {count}")
    for pick in found.picks:
        short = f"; {pick.short} short" if pick.short else ""
        click.echo(f"Take for {pick.item}: {len(pick.lines)} of {pick.wanted}{short}")
        _show(pick.lines)
    for title, lines in ((f"Expires within {within} days", found.expiring), ("Kept back", found.held)):
        click.echo(f"{title}: {len(lines)}")
        _show(lines)


def _wanted(text: str) -> tuple[str, int]:
    item, _, count = text.rpartition("=")
    if not item or not count.isdecimal():
        raise InputError(given=f"--pick {text!r}", expected="an item and a count such as R-12=3", remedy="write both")
    return item, int(count)


def _show(lines: "tuple[StockLine, ...]") -> None:
    for one in lines:
        until = f"use by {one.use_by.isoformat()}" if one.use_by else "no use-by"
        pouch = f", pouch {one.pouch}" if one.pouch and one.pouch != one.name.text else ""
        held = f", held by {', '.join(one.held)}" if one.held else ""
        place = f", {one.place}" if one.place else ""
        click.echo(f"  {one.name}{pouch}: {', '.join(one.items)}, {until}{place}{held}")


def _answer(found: "Stock") -> None:
    answer(
        {
            "lines": [_record(one) for one in found.lines],
            "picks": [
                {
                    "item": one.item,
                    "wanted": one.wanted,
                    "short": one.short,
                    "take": [line.name.text for line in one.lines],
                }
                for one in found.picks
            ],
            "expiring": [one.name.text for one in found.expiring],
            "held": [one.name.text for one in found.held],
            "places": found.places,
        }
    )


def _record(one: "StockLine") -> dict[str, object]:
    return {
        "kind": one.name.kind.value,
        "name": one.name.text,
        "pouch": one.pouch,
        "items": list(one.items),
        "fate": one.fate.value,
        "use_by": one.use_by,
        "place": one.place,
        "held": list(one.held),
        "free": one.is_free,
    }
