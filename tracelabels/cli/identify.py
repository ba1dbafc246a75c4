"""``tracelabels identify``: what scanned texts say."""

import json
import sys
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

import click

from tracelabels.cli.answers import answer, say
from tracelabels.cli.options import as_json, chosen_day, today_option
from tracelabels.errors import InputError

if TYPE_CHECKING:
    from tracelabels.identifiers import Identification
    from tracelabels.workflows.explain import Explanation


@click.command()
@click.option(
    "--gs", metavar="TEXT", help="What your scanner sends for the group separator, if not the character itself."
)
@today_option
@as_json
def identify(gs: str | None, today: str | None, as_json: bool) -> None:
    r"""Explain scanned texts: one on each line of standard input.

    A line that starts with a double quote is taken as a JSON string ("...\u001d..."), any other as it stands.
    Understood: what scanners send (with or without ]d2, ]C1, ]Q3 ...), bracketed text such as (17)271130(10)5501,
    GS1 Digital Link addresses, and our own in-house codes.
    """
    from tracelabels.workflows.explain import explain

    day = chosen_day(today)
    for line, text in _texts(_lines()):
        explanation = explain(text, today=day, gs=gs) if text is not None else None
        if as_json:
            answer(_as_record(explanation))
        else:
            _show(line, explanation)


def _lines() -> Iterator[str]:
    """Yield the lines of standard input as they come; only a line feed ends one, since GS is data."""
    if sys.stdin is None:
        raise InputError(given="no standard input", expected="texts on it, one a line", remedy="pipe them in")
    for number, raw in enumerate(sys.stdin.buffer):
        line = raw.decode("utf-8", "surrogateescape").removesuffix("\n").removesuffix("\r")
        yield line if number else line.removeprefix("\ufeff")


def _texts(lines: Iterable[str]) -> Iterator[tuple[str, str | None]]:
    """Yield each line and its text; None for a line that starts as a JSON string and is none."""
    for line in lines:
        if not line.startswith('"'):
            yield line, line
            continue
        try:
            text = json.loads(line)
        except ValueError:
            text = None
        yield line, text if isinstance(text, str) else None


_NO_JSON = (
    'a line that starts with a double quote but is no JSON string; expected "..." with \\u001d for the separator; '
    "close the quote, or leave it out"
)


def _as_record(explanation: "Explanation | None") -> dict[str, object]:
    known = explanation.identification if explanation else None
    return {
        "ok": known is not None,
        "mode": known.mode.value if known else None,
        "elements": [[element.ai, element.value] for element in known.elements] if known else [],
        "dates": dict(known.dates) if known else {},
        "unmet": list(known.unmet) if known else [],
        "doubts": list(known.doubts) if known else [],
        "error": (explanation.error if explanation else _NO_JSON) if known is None else None,
    }


def _show(line: str, explanation: "Explanation | None") -> None:
    click.echo(line.encode("unicode_escape").decode() if not line.isprintable() else line)
    if explanation is None or explanation.identification is None:
        click.echo(f"  not understood: {explanation.error if explanation else _NO_JSON}")
        return
    _show_elements(explanation.identification)


def _show_elements(known: "Identification") -> None:
    from tracelabels.workflows.explain import title_of

    for element in known.elements:
        day = known.dates.get(element.ai)
        click.echo(
            f"  ({element.ai}) {title_of(element.ai):<16} {element.value}{f'  = {day.isoformat()}' if day else ''}"
        )
    click.echo(f"  form: {known.mode.value}")
    for sentence in known.unmet:
        click.echo(f"  not kept: {sentence}")
    for sentence in known.doubts:
        click.echo(f"  look again: {sentence}")
    if not known.elements:
        say("  it holds no element")
