"""What is due, and what became of printed labels."""

import click

from tracelabels.cli.answers import FINDING, answer, say
from tracelabels.cli.options import Asked, Recording, bench_options, practice_options


@click.command()
@click.option("--within", "days", type=click.IntRange(0, 3660), default=7, show_default=True, help="Days ahead.")
@practice_options
def due(asked: Asked, days: int) -> int:
    """List what is due: spore tests, readings, services, loads without an end, pouches without a load, old lots."""
    from tracelabels.workflows.due_list import list_due

    with asked.opened() as here:
        found = list_due(here, within=days)
    for one in found:
        when = one.on.isoformat() if one.on else "now"
        say(f"{'OVERDUE ' if one.is_overdue else ''}{when}: {one.sentence}")
        if asked.as_json:
            answer(
                {
                    "kind": one.kind.value,
                    "thing": one.name.text,
                    "on": one.on,
                    "overdue": one.is_overdue,
                    "sentence": one.sentence,
                }
            )
    if not found:
        say(f"Nothing is due within {days} days.")
    return FINDING if any(one.is_overdue for one in found) else 0


@click.command(name="labels-used")
@click.argument("run", metavar="RUN")
@click.option("--applied", multiple=True, metavar="SERIAL", help="Put on its thing; repeat.")
@click.option("--destroyed", multiple=True, metavar="SERIAL", help="Destroyed; repeat.")
@click.option("--rest-applied", is_flag=True, help="All others of the run were put on their things.")
@bench_options
def labels_used(
    asked: Recording, run: str, applied: tuple[str, ...], destroyed: tuple[str, ...], rest_applied: bool
) -> int:
    """Say what became of the labels of print RUN: applied or destroyed, all of them."""
    from tracelabels.workflows.account_labels import account_labels

    with asked.opened() as here:
        done = account_labels(
            here, run, applied=applied, destroyed=destroyed, is_rest_applied=rest_applied, by=asked.by
        )
    say(f"Print run {run}: {done.applied} labels applied, {done.destroyed} destroyed, {len(done.open)} neither.")
    if done.open:
        say(f"  neither: {', '.join(done.open)}")
    if asked.as_json:
        answer({"run": run, "applied": done.applied, "destroyed": done.destroyed, "open": list(done.open)})
    return FINDING if done.open else 0
