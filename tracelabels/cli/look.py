"""``tracelabels look``: what is on record."""

import click

from tracelabels.cli.answers import answer
from tracelabels.cli.options import Asked, practice_options


@click.command()
@click.argument("what", metavar="NUMBER")
@click.option("--personal", is_flag=True, help="Show what is personal about a client, too.")
@practice_options
def look(asked: Asked, what: str, personal: bool) -> None:
    """Look up NUMBER: a serial, a batch, a lot, a client's code, or a number of ours (load, use, recall and so on)."""
    from tracelabels.workflows.look_up import look_up

    with asked.opened() as here:
        found = look_up(here, what, show_personal=personal)
    for one in found:
        if asked.as_json:
            answer({"kind": one.kind, "name": one.name, "facts": dict(one.facts)})
            continue
        click.echo(f"{one.kind} {one.name}")
        for name, value in one.facts:
            click.echo(f"  {name:<26} {value}")
