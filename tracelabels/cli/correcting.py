"""``tracelabels correct``, ``take-back``, ``history``: what is on record is corrected by a new fact, never changed."""

from typing import TYPE_CHECKING, Final

import click

from tracelabels.cli.answers import answer, say
from tracelabels.cli.options import Asked, Recording, bench_options, practice_options
from tracelabels.errors import InputError

if TYPE_CHECKING:
    from tracelabels.workflows.correct_record import Corrected
    from tracelabels.workflows.show_history import History

_KINDS: Final = (
    "product", "bottle", "preparation", "tube", "pouch", "consumable", "steriliser", "load", "spore-test", "hold",
    "client", "use", "incident", "adverse-event", "recall", "print-run", "staff", "fact",
)  # fmt: skip
_MOST_SHOWN: Final = 30

KIND = click.argument("kind", type=click.Choice(_KINDS))
NAME = click.argument("name")
REASON = click.option("--reason", required=True, help="Why; nothing personal, for it stays in the record.")


@click.command()
@KIND
@NAME
@click.option("--set", "fields", metavar="FIELD=TEXT", multiple=True, required=True, help="Can be repeated.")
@REASON
@bench_options
def correct(asked: Recording, kind: str, name: str, fields: tuple[str, ...], reason: str) -> None:
    """Correct fields of a recorded thing: KIND and NAME, as in 'correct bottle 010000012 --set batch=5502'.

    TEXT '-' stands for nothing. Dates are written 2026-11-25, things as kind:name, several with commas. A fact without
    a name of its own is 'fact 1-45', as 'history' shows it.
    """
    from tracelabels.workflows.correct_record import correct_record

    changes = dict(_field(one) for one in fields)
    with asked.opened() as here:
        done = correct_record(here, kind, name, changes, by=asked.by, reason=reason)
    _tell(done, "Corrected", as_json=asked.as_json)


@click.command(name="take-back")
@KIND
@NAME
@REASON
@bench_options
def take_back(asked: Recording, kind: str, name: str, reason: str) -> None:
    """Take back what was recorded by mistake: KIND and NAME, as in 'take-back use U01-000001'."""
    from tracelabels.workflows.correct_record import take_back as take

    with asked.opened() as here:
        done = take(here, kind, name, by=asked.by, reason=reason)
    _tell(done, "Took back", as_json=asked.as_json)


@click.command()
@KIND
@NAME
@click.option("--personal", is_flag=True, help="Show what is personal, too.")
@practice_options
def history(asked: Asked, kind: str, name: str, personal: bool) -> None:
    """List every version of a recorded thing, and the facts that name it."""
    from tracelabels.workflows.show_history import show_history

    with asked.opened() as here:
        found = show_history(here, kind, name, show_personal=personal)
    if asked.as_json:
        _answer_history(found)
        return
    for one in found.versions:
        what = f": {one.reason}" if one.reason else ""
        verb = "taken back" if one.is_taken_back else "recorded"
        click.echo(f"fact {one.fact} {verb} {one.recorded_at.isoformat()} by {one.by}{what}")
        click.echo(f"  happened {one.happened_at.isoformat()}")
        for change in one.changes:
            click.echo(f"  {change.field:<26} {change.before} -> {change.after}")
    for about in found.about:
        click.echo(f"named by fact {about.fact}: {about.kind}, {about.recorded_at.isoformat()} by {about.by}")
    if found.more:
        click.echo(f"and {found.more} more")


def _field(text: str) -> tuple[str, str]:
    name, equals, value = text.partition("=")
    if not equals or not name.strip():
        raise InputError(given=f"--set {text!r}", expected="FIELD=TEXT", remedy="write for example --set batch=5502")
    return name.strip().replace("-", "_"), value


def _tell(done: "Corrected", verb: str, *, as_json: bool) -> None:
    if as_json:
        answer(
            {
                "name": done.name,
                "fact": done.fact,
                "changes": {one.field: [one.before, one.after] for one in done.changes},
                "outdated_labels": [
                    {"serial": one.serial, "kind": one.kind.value, "run": one.run, "differences": list(one.differences)}
                    for one in done.outdated
                ],
            }
        )
    say(f"{verb} {done.name} (fact {done.fact}).")
    if done.outdated:
        say(f"Labels that say something else now; print them again ({len(done.outdated)}):")
    for one in done.outdated[:_MOST_SHOWN]:
        say(f"  {one.kind.value} {one.serial} of run {one.run}: {'; '.join(one.differences)}")
    if len(done.outdated) > _MOST_SHOWN:
        say(f"  and {len(done.outdated) - _MOST_SHOWN} more; --json lists them all")


def _answer_history(found: "History") -> None:
    for one in found.versions:
        answer(
            {
                "fact": one.fact,
                "by": one.by,
                "recorded_at": one.recorded_at,
                "happened_at": one.happened_at,
                "reason": one.reason,
                "taken_back": one.is_taken_back,
                "changes": {change.field: [change.before, change.after] for change in one.changes},
            }
        )
    for about in found.about:
        answer({"named_by": about.fact, "kind": about.kind, "by": about.by, "recorded_at": about.recorded_at})
