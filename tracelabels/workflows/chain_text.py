"""Words set in a given width: every word is shown, on as many lines as it takes, and none is cut."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from tracelabels.lengths import Mm, Points, points_as_mm
from tracelabels.paper import Face, text_width, wrapped

LEADING: Final = 1.36
"""From one baseline to the next, in sizes of the face."""
_FIRST: Final = 0.97
"""From the top of a block to its first baseline, in sizes of the face."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """One line of words in its place."""

    text: str
    """What it says."""
    left: Mm
    """From the picture's left edge."""
    baseline: Mm
    """From its top edge."""
    size: Points
    """Size of the face."""
    face: Face
    """Weight of the face."""

    @property
    def width(self) -> Mm:
        """Return how wide it is in our own face."""
        return text_width(self.text, self.face, self.size)


def block(
    texts: Iterable[str], *, left: float, top: float, width: float, size: Points, face: Face = Face.REGULAR
) -> tuple[tuple[Words, ...], float]:
    """Set texts below each other, each on lines of its own; return the lines and where the next block may begin.

    Args:
        texts: each begins a new line.
        left: where lines begin, in millimetres.
        top: where the block begins, in millimetres.
        width: of a line, in millimetres.
        size: of the face.
        face: its weight.
    """
    step, em = points_as_mm(size) * LEADING, points_as_mm(size)
    lines = [line for text in texts for line in wrapped(text, face, size, width) if line]
    placed = tuple(
        Words(text=line, left=Mm(left), baseline=Mm(top + em * _FIRST + step * place), size=size, face=face)
        for place, line in enumerate(lines)
    )
    return placed, top + step * len(lines)
