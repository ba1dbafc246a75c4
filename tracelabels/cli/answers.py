"""JSON Lines on standard output; words and progress on standard error."""

import json
import sys
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Protocol

import click


class Advance(Protocol):
    """Told how far a long piece of work has come."""

    def __call__(self, done: int, total: int | None = None) -> None:
        """Say that so many of the total are done."""


def answer(record: Mapping[str, object]) -> None:
    """Print one object as one line of JSON; in plain ASCII, so that any text survives any terminal."""
    click.echo(json.dumps(record, separators=(",", ":")))


def say(text: str = "") -> None:
    """Print words for people."""
    click.echo(text, err=True)


@contextmanager
def progress(title: str) -> Iterator[Advance]:
    """Show a bar on standard error while a long piece of work runs; nothing where nobody watches."""
    if not sys.stderr.isatty():
        yield lambda _done, _total=None: None
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(title, total=None)
        yield lambda done, total=None: bar.update(task, completed=done, total=total)
