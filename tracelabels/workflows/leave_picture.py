"""Leave a picture of a traced chain in a file: SVG for a screen, PDF for paper."""

from collections.abc import Iterator
from pathlib import Path

from tracelabels.custody import Kind
from tracelabels.errors import InputError
from tracelabels.words import in_words
from tracelabels.workflows.chain_cards import CAUTION
from tracelabels.workflows.chain_drawing import chain_pdf, chain_svg
from tracelabels.workflows.chain_picture import Picture, lay_out
from tracelabels.workflows.leave_file import FileKind, leave_file, require_place
from tracelabels.workflows.trace import Trace

_ABOUT_PEOPLE = frozenset({Kind.CLIENT, Kind.USE, Kind.INCIDENT, Kind.ADVERSE_EVENT})


def picture_of(found: Trace) -> Picture:
    """Lay out what was traced, both ways in one picture; of a client only what stands behind the uses."""
    graphs = (
        [found.backward] if all(one.kind in _ABOUT_PEOPLE for one in found.roots) else [found.forward, found.backward]
    )
    beside = found.beside
    cards = beside.cards if beside else ()
    return lay_out(
        found.question,
        graphs,
        cards=cards,
        above=tuple(_head(found)),
        below=(CAUTION,) if beside and beside.loads else (),
    )


def _head(found: Trace) -> Iterator[str]:
    """Give what stands above: when it was asked, how many, and that both counts agree."""
    yield f"as recorded on {found.asked_at:%Y-%m-%d %H:%M}"
    yield from found.notes
    counts = found.completeness
    fates = ", ".join(f"{count} {in_words(fate)}" for fate, count in found.fates.items())
    agree = "both agree" if counts.holds else "THE COUNTS DO NOT AGREE: run 'tracelabels verify'"
    yield (
        f"items: {counts.items}{f' ({fates})' if fates else ''}; clients: {counts.clients}; counted a second way: "
        f"{counts.items_counted} and {counts.clients_counted}: {agree}"
    )


def leave_picture(found: Trace, out: Path) -> None:
    """Leave the picture; the file's ending decides its kind.

    Raises:
        InputError: another ending, or a place that is taken.
    """
    kinds = {".svg": FileKind.SVG, ".pdf": FileKind.PDF}
    kind = kinds.get(out.suffix.lower())
    if kind is None:
        raise InputError(given=f"{out.name!r}", expected="a name that ends in .svg or .pdf", remedy="choose one")
    require_place(out, kind)
    picture = picture_of(found)
    leave_file(out, chain_svg(picture).encode() if kind is FileKind.SVG else chain_pdf(picture))
