"""``tracelabels look``: what is on record."""

from pathlib import Path

import click

from tracelabels.cli.answers import answer
from tracelabels.cli.options import as_json, opened, practice_option


@click.command()
@click.argument("what", metavar="NUMBER")
@practice_option
@as_json
def look(what: str, practice: Path | None, today: str | None, as_json: bool) -> None:
    """Look up NUMBER: a serial, a maker's batch, a preparation, a print run or an item number."""
    from tracelabels.workflows.look_up import look_up

    with opened(practice, today) as here:
        found = look_up(here, what)
    for one in found:
        if as_json:
            answer({"kind": one.kind, "name": one.name, "facts": dict(one.facts)})
            continue
        click.echo(f"{one.kind} {one.name}")
        for name, value in one.facts:
            click.echo(f"  {name:<26} {value}")
