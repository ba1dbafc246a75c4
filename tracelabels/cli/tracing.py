"""``tracelabels trace`` and ``recall``: both ways along the chain, as a tree, as JSON, as a picture."""

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tracelabels.cli.answers import FINDING, answer, say
from tracelabels.cli.chain_json import beside_record
from tracelabels.cli.options import Asked, practice_options
from tracelabels.words import in_words

if TYPE_CHECKING:
    from tracelabels.workflows.chain_graph import ChainGraph
    from tracelabels.workflows.trace import Trace

_RAIL = "\N{BOX DRAWINGS LIGHT VERTICAL}  "
_NEXT = "\N{BOX DRAWINGS LIGHT VERTICAL AND RIGHT}\N{BOX DRAWINGS LIGHT HORIZONTAL} "
_LAST = "\N{BOX DRAWINGS LIGHT UP AND RIGHT}\N{BOX DRAWINGS LIGHT HORIZONTAL} "


@click.command()
@click.argument("what", metavar="WHAT")
@click.option(
    "--picture",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="Leave a picture of the chain, .svg or .pdf.",
)
@practice_options
def trace(asked: Asked, what: str, picture: Path | None) -> int:
    """Follow WHAT both ways: where it came from, where it went, what became of each.

    WHAT is serial:, lot:MAKER/BATCH, load:, client:, printrun:, consumable:KIND/LOT, bi:, preparation:, use:,
    adverse:, recall:, product: or steriliser: with a number, or a number alone.
    """
    from tracelabels.workflows.trace import trace as follow

    with asked.opened() as here:
        found = follow(here, what)
    if picture is not None:
        from tracelabels.workflows.leave_picture import leave_picture

        leave_picture(found, picture)
        say(f"Picture: {picture}")
    if asked.as_json:
        answer(as_record(found))
    else:
        show(found)
    return 0 if found.completeness.holds else FINDING


def as_record(found: "Trace") -> dict[str, object]:
    """Return an answer as the JSON of the contract."""
    counts = found.completeness
    return {
        "what": found.question,
        "notes": list(found.notes),
        "roots": [{"kind": one.kind.value, "name": one.text} for one in found.roots],
        "items": [
            {"kind": one.name.kind.value, "name": one.name.text, "fate": one.fate.value, "expected": one.is_expected}
            for one in found.items
        ],
        "clients": [{"code": one.text, "erased": one in found.erased} for one in found.clients],
        "incidents": [one.text for one in found.incidents],
        "fates": {fate.value: count for fate, count in found.fates.items()},
        "complete": counts.holds,
        "counts": {
            "items": [counts.items, counts.items_counted],
            "clients": [counts.clients, counts.clients_counted],
        },
        "forward": _edges(found.forward),
        "backward": _edges(found.backward),
        **(beside_record(found.beside) if found.beside else {}),
    }


def _edges(graph: "ChainGraph") -> list[list[str]]:
    return [
        [one.cause.kind.value, one.cause.text, one.link.value, one.effect.kind.value, one.effect.text]
        for one in graph.edges
    ]


def show(found: "Trace") -> None:
    """Print an answer for people."""
    click.echo(found.question)
    for note in found.notes:
        click.echo(f"  {note}")
    for title, graph in (("Where it came from", found.backward), ("Where it went", found.forward)):
        if len(graph.nodes) > len(graph.roots):
            click.echo(f"\n{title}")
            for line in lines_of(graph):
                click.echo(line)
    click.echo()
    for line in cards_of(found):
        click.echo(line)
    for line in summary_of(found):
        click.echo(line)


def cards_of(found: "Trace") -> Iterator[str]:
    """Give what is told beside the tree: loads at length, holds, recalls, adverse events."""
    from tracelabels.workflows.chain_cards import CAUTION

    if found.beside is None or not found.beside.cards:
        return
    for card in found.beside.cards:
        yield card.title[:1].upper() + card.title[1:]
        wide = max(len(what) for what, _ in card.rows)
        yield from (f"  {what:<{wide}}  {text}" for what, text in card.rows)
        yield ""
    if found.beside.loads:
        yield CAUTION
        yield ""


def summary_of(found: "Trace") -> Iterator[str]:
    """Give the sentences below the tree: fates, clients, incidents, the proof."""
    counts = found.completeness
    fates = ", ".join(f"{count} {in_words(fate)}" for fate, count in found.fates.items())
    yield f"Items: {counts.items}{f' ({fates})' if fates else ''}"
    clients = (f"{one.text}{' (erased)' if one in found.erased else ''}" for one in found.clients)
    yield f"Clients: {counts.clients}{_listed(clients)}"
    if found.incidents:
        yield f"Incidents: {len(found.incidents)}{_listed(one.text for one in found.incidents)}"
    agree = "agrees" if counts.holds else "DOES NOT AGREE: do not rely on this list; run 'tracelabels verify'"
    yield (f"Counted a second way: {counts.items_counted} items, {counts.clients_counted} clients; {agree}")


def _listed(names: Iterator[str]) -> str:
    text = ", ".join(names)
    return f": {text}" if text else ""


def lines_of(graph: "ChainGraph") -> Iterator[str]:
    """Give the lines of a tree."""
    from tracelabels.workflows.chain_groups import say_link, tree_of

    for branch in tree_of(graph):
        rails = "".join("   " if last else _RAIL for last in branch.is_last[:-1])
        corner = ""
        if branch.is_last:
            corner = _LAST if branch.is_last[-1] else _NEXT
        link = f"{say_link(branch.link, branch.group.kind)}: " if branch.link else ""
        words = f" ({branch.group.words})" if branch.group.words else ""
        said = "; ".join(one for one in (branch.group.fate, *branch.group.marks) if one)
        fate = f" [{said}]" if said else ""
        again = " (see above)" if branch.is_repeated else ""
        yield f"  {rails}{corner}{link}{branch.group.title}{words}{fate}{again}"
