"""The part of a label that a trial prints and photographs: the symbol with its quiet zone and a rim."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from tracelabels.legibility.rules.extent import extent_of, is_linear, runs_across
from tracelabels.legibility.rules.quiet_zones import REQUIRED
from tracelabels.lengths import Mm
from tracelabels.symbols import Symbology, TubeAxis

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tracelabels.legibility.subject import Subject

_RIM_MM = 0.8
_RIM_MODULES = 1.5

Box = tuple[int, int, int, int]
"""Left, top, right, bottom in dots; right and bottom are the first beyond."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Specimen:
    """The symbol's part of a label, ready for any number of trials."""

    inked: "NDArray[np.bool_]"
    """Which dots are inked, shape (rows, columns); the picture's middle is the symbol's middle."""
    paper: "NDArray[np.bool_]"
    """Which of them lie on the label."""
    box: Box
    """The symbol's place among the dots."""
    dot: Mm
    """Size of a dot."""
    tube_diameter: Mm | None
    """The tube's; None if the label lies flat."""
    axis: TubeAxis
    """The side along the tube."""
    symbology: Symbology
    """What to look for."""
    text: str
    """What it says."""


def specimen_of(subject: "Subject") -> Specimen:
    """Return the symbol's part of a label: the symbol, its quiet zone and a rim of 1.5 modules and 0.8 mm at least."""
    code = subject.code
    symbol = extent_of(code)
    rim = max((REQUIRED[code.symbology][0] + _RIM_MODULES) * code.x, _RIM_MM / subject.dot)
    across, down = rim, rim
    if is_linear(code):
        # Above and below its bars a linear symbol needs no quiet zone.
        side = _RIM_MM / subject.dot
        across, down = (rim, side) if runs_across(code) else (side, rim)
    left, top = round(symbol.left - across), round(symbol.top - down)
    right, bottom = round(symbol.right + across), round(symbol.bottom + down)
    inked, paper = _cut(subject.picture, (left, top, right, bottom))
    box = (round(code.left) - left, round(code.top) - top)
    return Specimen(
        inked=inked,
        paper=paper,
        box=(*box, box[0] + round(symbol.width), box[1] + round(symbol.height)),
        dot=subject.dot,
        tube_diameter=subject.tube_diameter,
        axis=subject.axis or TubeAxis.HEIGHT,
        symbology=code.symbology,
        text=code.text,
    )


def _cut(picture: "NDArray[np.uint8]", box: Box) -> "tuple[NDArray[np.bool_], NDArray[np.bool_]]":
    """Return the inked dots of a box that may reach beyond the picture, and which of its dots are on the picture."""
    left, top, right, bottom = box
    inked = np.zeros((bottom - top, right - left), dtype=np.bool_)
    paper = np.zeros_like(inked)
    rows, columns = picture.shape
    part = picture[max(0, top) : min(rows, bottom), max(0, left) : min(columns, right)]
    place = np.s_[max(0, -top) : max(0, -top) + part.shape[0], max(0, -left) : max(0, -left) + part.shape[1]]
    inked[place] = part < 128  # noqa: PLR2004  half way between ink and stock
    paper[place] = True
    return inked, paper
