"""``tracelabels look`` and ``verify``: what is on record, and whether the record is whole."""

from pathlib import Path

import click

from tracelabels.cli.answers import answer, say
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


@click.command()
@practice_option
@as_json
@click.pass_context
def verify(ctx: click.Context, practice: Path | None, today: str | None, as_json: bool) -> None:
    """Check the ledger's chain of facts from the first to the last; exit 1 and name the first broken link."""
    with opened(practice, today) as here:
        problems = here.ledger.verify()
    if as_json:
        answer({"ok": not problems, "problems": [{"at": str(one.at), "sentence": one.sentence} for one in problems]})
    for one in problems:
        say(f"{one.at}: {one.sentence}")
    if problems:
        ctx.exit(1)
    say("Every fact is in its place and unchanged.")
