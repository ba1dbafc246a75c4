"""A label under check: its picture as it will be printed, and the symbol in it, whether it comes from us or not."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from tracelabels.lengths import Mm, dot_size
from tracelabels.symbols import Symbology, TubeAxis

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from tracelabels.labels import LabelContent, Layout, Sheet


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PrintedCode:
    """A symbol as it stands in the picture of a label."""

    symbology: Symbology
    """Which kind."""
    symbology_identifier: str
    """ISO/IEC 15424, such as ``]d1``."""
    version: str
    """Its size by its standard's own name."""
    text: str
    """What it says, the group separator as U+001D."""
    modules: "NDArray[np.bool_]"
    """The matrix as it lies in the picture (after turning), True is dark; a linear symbol has one row (bars upright) or
    one column."""
    left: float
    """Left edge of the symbol in the picture, pixels."""
    top: float
    """Top edge, pixels."""
    x: float
    """Width of a module in pixels; whole on a well made sheet."""
    y: float
    """Height of a module in pixels (of a linear symbol: height or width of its bars)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Subject:
    """A label under check."""

    label: str
    """How people name it: its serial, or its place on the page."""
    picture: "NDArray[np.uint8]"
    """The label as it will be printed, grey, one pixel a printer dot, shape (rows, columns)."""
    dpi: int
    """The printer's resolution."""
    code: PrintedCode
    """The symbol in it."""
    tube_diameter: Mm | None
    """Outer diameter of the tube that it goes on; None if it lies flat."""
    axis: TubeAxis | None
    """The side of the picture that lies along the tube; None if it lies flat."""
    layout: "Layout | None" = None
    """The layout, if it is one of ours."""
    sheet: "Sheet | None" = None
    """The sheet, if it is known."""
    content: "LabelContent | None" = None
    """What it should say, if it is known."""

    @property
    def dot(self) -> Mm:
        """Return the size of a printer dot in millimetres."""
        return dot_size(self.dpi)

    @property
    def x_dimension(self) -> Mm:
        """Return the size of a module in millimetres."""
        return Mm(self.code.x * self.dot)
