"""``tracelabels recall`` and ``recall-step``: from the question to the last client."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from tracelabels.cli.answers import FINDING, answer, say
from tracelabels.cli.options import REQUEST, Recording, bench_options, recording_options
from tracelabels.cli.tracing import as_record, show, summary_of
from tracelabels.errors import InputError
from tracelabels.words import in_words

if TYPE_CHECKING:
    from tracelabels.workflows.practice import Practice
    from tracelabels.workflows.recall import Standing

_STEPS = {
    "reached": "client_reached",
    "attempt": "client_attempt",
    "unreachable": "client_unreachable",
    "found": "stock_found",
    "destroyed": "item_destroyed",
    "note": "note",
    "close": "closed",
}
_MOST_NAMED = 12
_WITH_CLIENT = frozenset({"reached", "attempt", "unreachable"})


@click.command()
@click.argument("what", metavar="WHAT")
@click.option("--reason", help="Why, in words; nothing personal.")
@click.option("--record", is_flag=True, help="Put it on record, and keep back everything it reaches, at once.")
@REQUEST
@click.option(
    "--letters",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE.pdf",
    help="With a recall's number: a letter for each client, one a page.",
)
@click.option(
    "--call-list",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE.csv",
    help="With a recall's number: whom to call; protected care first.",
)
@bench_options
def recall(
    asked: Recording, what: str, reason: str | None, record: bool, letters: Path | None, call_list: Path | None
) -> int:
    """Ask what a recall of WHAT would reach; with --record, start it. With a recall's number: how it stands.

    WHAT is written as for 'trace'. Whether and how to tell clients is for the practice and its physicians to decide.
    """
    from tracelabels.workflows.recall import find_recall, start_recall

    with asked.opened() as here:
        known = find_recall(here, what.removeprefix("recall:"))
        if known is not None:
            if record:
                raise InputError(
                    given=f"{what} with --record",
                    expected="a cause that is not on record as a recall",
                    remedy="leave --record out, or name the cause",
                )
            if letters is not None or call_list is not None:
                _leave_letters(here, known, letters, call_list, by=asked.by)
            return _report(known, as_json=asked.as_json)
        if not record:
            return _ask(here, what, as_json=asked.as_json)
        done = start_recall(here, what, reason=reason or "", by=asked.by, request_key=asked.request)
    say(f"Recall {done.recall.number} is on record; everything it reaches is kept back from now on.")
    return _report(done, as_json=asked.as_json)


@click.command(name="recall-step")
@click.argument("number", metavar="RECALL")
@click.argument("step", metavar="STEP", type=click.Choice(list(_STEPS)))
@click.argument("names", nargs=-1, metavar="[CLIENT|SERIAL...]")
@click.option("--place", help="Where stock was looked for.")
@click.option("--note", help="Anything else in words; nothing personal.")
@recording_options
def recall_step(
    asked: Recording, number: str, step: str, names: tuple[str, ...], place: str | None, note: str | None
) -> int:
    """Record what was done in a RECALL.

    STEP is reached, attempt or unreachable with a client's code; found or destroyed with serials; note; close.
    """
    from tracelabels.custody import RecallStep
    from tracelabels.workflows.recall import Step, take_step

    with asked.opened() as here:
        taken = Step(
            step=RecallStep(_STEPS[step]),
            client=_only_client(names) if step in _WITH_CLIENT else None,
            serials=() if step in _WITH_CLIENT else names,
            place=place,
            note=note,
            at=asked.moment(here),
        )
        done = take_step(here, number, taken, by=asked.by, request_key=asked.request)
    if done.refused:
        say(f"Recall {number}: nothing was recorded.")
        for sentence in done.refused:
            say(f"  {sentence}")
    if asked.as_json:
        answer({**_record(done.standing), "refused": list(done.refused)})
    elif not done.refused:
        _show(done.standing)
    return FINDING if done.refused else 0


def _leave_letters(
    here: "Practice", known: "Standing", letters: Path | None, call_list: Path | None, *, by: str
) -> None:
    from tracelabels.workflows.recall_letters import leave_letters

    told = leave_letters(here, known.recall.number, letters=letters, call_list=call_list, by=by)
    say("What was left holds personal data: keep it as you keep the clients' files, in the practice's folder, where")
    say("erasing a client finds it; what is moved, printed or left elsewhere has to be looked for by hand then.")
    if letters is not None:
        say(f"Letters: {told.letters} in {letters}")
    for name in told.by_hand if letters is not None else ():
        say(f"  {name}: to be written by hand")
    for name in told.erased:
        say(f"  {name}: erased, nobody can be told")


def _only_client(names: tuple[str, ...]) -> str | None:
    if len(names) > 1:
        raise InputError(given=" ".join(names), expected="one client's code", remedy="record each client by itself")
    return names[0] if names else None


def _ask(here: "Practice", what: str, *, as_json: bool) -> int:
    from tracelabels.workflows.trace import trace

    found = trace(here, what)
    if as_json:
        answer({**as_record(found), "recorded": False})
    else:
        show(found)
        click.echo("Nothing was recorded; 'recall ... --reason ... --record' starts the recall.")
    return 0 if found.completeness.holds else FINDING


def _report(standing: "Standing", *, as_json: bool) -> int:
    if as_json:
        answer(_record(standing))
    else:
        _show(standing)
    return 0 if standing.trace.completeness.holds else FINDING


def _record(standing: "Standing") -> dict[str, object]:
    stock = standing.stock
    return {
        **as_record(standing.trace),
        "recorded": True,
        "recall": standing.recall.number,
        "reason": standing.recall.reason,
        "closed": standing.is_closed,
        "held": standing.is_held,
        "clients": [
            {
                "code": one.client.text,
                "end": one.end.value,
                "attempts": one.attempts,
                "erased": one.client in standing.trace.erased,
            }
            for one in standing.clients
        ],
        "stock": {
            "expected": [one.text for one in stock.expected],
            "found": [one.text for one in stock.found],
            "missing": [one.text for one in stock.missing],
            "extra": [one.text for one in stock.extra],
        },
        "reached_since": [str(one) for one in standing.reached_since],
        "open": list(standing.reasons),
    }


def _show(standing: "Standing") -> None:
    recall = standing.recall
    state = "closed" if standing.is_closed else "open"
    held = "kept back" if standing.is_held else "NOT kept back"
    click.echo(f"Recall {recall.number} ({state}): {recall.cause}, {recall.reason}; what it reaches is {held}")
    for note in standing.trace.notes:
        click.echo(f"  {note}")
    for line in summary_of(standing.trace):
        click.echo(line)
    _show_clients(standing)
    _show_stock(standing)
    for name in standing.reached_since:
        click.echo(f"Reached since it was recorded: {name}")
    for action in standing.actions:
        named = [str(one) for one in (action.client, *action.items) if one is not None]
        about = ", ".join(named) if len(named) <= _MOST_NAMED else f"{len(named)} of them"
        words = "; ".join(part for part in (about, action.place, action.note) if part)
        click.echo(f"  {action.at:%Y-%m-%d %H:%M}Z {in_words(action.step)}: {words}")
    if not standing.is_closed:
        for sentence in standing.reasons:
            click.echo(f"Open: {sentence}")


def _show_clients(standing: "Standing") -> None:
    for one in standing.clients:
        tries = f", {one.attempts} attempts" if one.attempts else ""
        click.echo(f"  {one.client}: {one.end.value}{tries}")


def _show_stock(standing: "Standing") -> None:
    stock = standing.stock
    click.echo(
        f"Stock: {len(stock.expected)} expected, {len(stock.found)} found, "
        f"{len(stock.missing)} missing, {len(stock.extra)} that should not be there"
    )
    for title, names in (("missing", stock.missing), ("should not be there", stock.extra)):
        for name in names:
            click.echo(f"  {title}: {name}")
