"""``tracelabels look``: what is on record."""

from pathlib import Path

import click

from tracelabels.cli.answers import answer
from tracelabels.cli.options import as_json, opened, practice_option


@click.command()
@click.argument("what", metavar="NUMBER")
@click.option("--personal", is_flag=True, help="Show what is personal about a client, too.")
@practice_option
@as_json
def look(what: str, personal: bool, practice: Path | None, today: str | None, as_json: bool) -> None:
    """Look up NUMBER: a serial, a batch, a lot, a client's code, or a number of ours (load, use, recall and so on)."""
    from tracelabels.workflows.look_up import look_up

    with opened(practice, today) as here:
        found = look_up(here, what, show_personal=personal)
    for one in found:
        if as_json:
            answer({"kind": one.kind, "name": one.name, "facts": dict(one.facts)})
            continue
        click.echo(f"{one.kind} {one.name}")
        for name, value in one.facts:
            click.echo(f"  {name:<26} {value}")
