"""How far a symbol reaches in the picture of its label: in dots, in millimetres, along a tube and round it."""

import math
from dataclasses import dataclass

from tracelabels.legibility.subject import PrintedCode, Subject
from tracelabels.lengths import Dots, Mm, dots_as_mm
from tracelabels.symbols import Symbology, TubeAxis

KIND_NAMES = {
    Symbology.DATA_MATRIX: "Data Matrix",
    Symbology.QR: "QR",
    Symbology.MICRO_QR: "Micro QR",
    Symbology.CODE_128: "Code 128",
}
"""What people call the kinds."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Extent:
    """The upright box of a symbol without its quiet zone, in picture pixels (printer dots)."""

    left: float
    """Left edge."""
    top: float
    """Top edge."""
    width: float
    """From left to right."""
    height: float
    """From top to bottom."""

    @property
    def right(self) -> float:
        """Return the right edge."""
        return self.left + self.width

    @property
    def bottom(self) -> float:
        """Return the bottom edge."""
        return self.top + self.height


def is_linear(code: PrintedCode) -> bool:
    """Say whether the code is made of bars."""
    return code.symbology is Symbology.CODE_128


def runs_across(code: PrintedCode) -> bool:
    """Say whether a linear code's modules follow each other from left to right (its bars stand upright)."""
    return len(code.modules) == 1


def extent_of(code: PrintedCode) -> Extent:
    """Return the box of a code."""
    rows, columns = code.modules.shape
    if not is_linear(code):
        width, height = columns * code.x, rows * code.y
    elif runs_across(code):
        width, height = columns * code.x, code.y
    else:
        width, height = code.y, rows * code.x
    return Extent(left=code.left, top=code.top, width=width, height=height)


def round_tube(subject: Subject) -> Mm:
    """Return how far the symbol reaches round the tube (its height in the picture if the width lies along the tube)."""
    box = extent_of(subject.code)
    across = box.height if subject.axis is TubeAxis.WIDTH else box.width
    return Mm(across * subject.dot)


def modules_round_tube(subject: Subject) -> int:
    """Return how many modules the symbol has round the tube."""
    rows, columns = subject.code.modules.shape
    return int(rows if subject.axis is TubeAxis.WIDTH else columns)


def is_ladder(subject: Subject) -> bool:
    """Say whether a linear code's modules follow each other along the tube, its bars like the rungs of a ladder."""
    return runs_across(subject.code) == (subject.axis is TubeAxis.WIDTH)


def longest_arc(diameter: Mm) -> Mm:
    """Return one sixth of a tube's circumference."""
    return Mm(math.pi * diameter / 6)


def in_dots(dots: int, dpi: int) -> str:
    """Name a module size: dots, millimetres and resolution."""
    unit = "dot" if dots == 1 else "dots"
    return f"X of {dots} {unit} ({dots_as_mm(Dots(dots), dpi):.3f} mm) at {dpi} dpi"
