"""Leave a picture of a traced chain in a file: SVG for a screen, PDF for paper."""

from pathlib import Path

from tracelabels.custody import Kind
from tracelabels.errors import InputError
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
    return lay_out(found.question, graphs)


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
