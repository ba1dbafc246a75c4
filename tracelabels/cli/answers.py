"""JSON Lines on standard output; words and progress on standard error."""

import json
import sys
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from datetime import date
from typing import TYPE_CHECKING, Final, Protocol

import click

if TYPE_CHECKING:
    from tracelabels.custody import Reason

FINDING: Final = 1
"""Exit code of a finding that must stop the user."""
WRONG_INPUT: Final = 2
"""Exit code of wrong input or use."""


class Advance(Protocol):
    """Told how far a long piece of work has come."""

    def __call__(self, done: int, total: int | None = None) -> None:
        """Say that so many of the total are done."""


def answer(record: Mapping[str, object]) -> None:
    """Print one object as one line of JSON; in plain ASCII, so that any text survives any terminal.

    Days and moments are written as ISO 8601 has them.
    """
    click.echo(json.dumps(record, separators=(",", ":"), default=_moment))


def _moment(value: date) -> str:
    return value.isoformat()  # of a moment with its time: not date.isoformat


def say(text: str = "") -> None:
    """Print words for people."""
    click.echo(text, err=True)


def sentences(reasons: "Iterable[Reason]") -> list[dict[str, str]]:
    """Return reasons as JSON takes them."""
    return [{"kind": one.kind.value, "sentence": one.sentence} for one in reasons]


def refuse(what: str, reasons: "Iterable[Reason]", *, as_json: bool) -> int:
    """Say every reason why something was not done, and return the exit code; nothing was recorded."""
    told = tuple(reasons)
    say(f"{what}: refused, nothing was recorded.")
    for reason in told:
        say(f"  {reason.sentence}")
    if as_json:
        answer({"done": False, "reasons": sentences(told)})
    return FINDING


@contextmanager
def progress(title: str) -> Iterator[Advance]:
    """Show a bar on standard error while a long piece of work runs; nothing where nobody watches."""
    if not sys.stderr.isatty():
        yield lambda _done, _total=None: None
        return
    from rich.console import Console
    from rich.progress import Progress

    # Standard output is left alone: it may be a file while standard error is a terminal.
    with Progress(console=Console(stderr=True), transient=True, redirect_stdout=False) as bar:
        task = bar.add_task(title, total=None)
        yield lambda done, total=None: bar.update(task, completed=done, total=total)
