"""The free space for a symbol, what is wished of the choice, and the choice itself."""

import math
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tracelabels.errors import SymbolError
from tracelabels.lengths import Dots, Mm, dots_as_mm
from tracelabels.symbols.data_matrix_shapes import DataMatrixShape, ShapeFamily, shapes_of
from tracelabels.symbols.qr import QRLevel
from tracelabels.symbols.specifications import TUBE_LABELS
from tracelabels.symbols.symbol import Symbol

CURVED_SHARE: Final = 1 / 6
"""Largest share of a tube's circumference that a symbol may take: 60 degrees, its edges seen at 30 degrees (rule as
commonly stated; a public training text cites GS1 for it)."""

SQUARE_ADVANTAGE: Final = 1.5
"""On a tube a square replaces a rectangle only with an X at least so many times larger.

Measured on simulated photographs of a 10.8 mm tube: squares of 20 modules and more fail at 15 degrees of tilt,
rectangles with the long side along the tube hold to 30 and more. The pixels per module that shapes need to be read
differ by up to 1.4 times, so a gain below that does not make up for the tilt that a square loses.
"""

SMALLEST_BAR_HEIGHT: Final = Mm(5.0)
"""Lower bars are hard to aim at by hand (from memory of the Code 128 specification)."""


class TubeAxis(StrEnum):
    """Which side of a space lies along the tube; the other side runs round it."""

    WIDTH = "width"
    HEIGHT = "height"


@dataclass(frozen=True, slots=True, kw_only=True)
class Space:
    """Free space for a symbol with its quiet zone.

    Attributes:
        width: Width of the space.
        height: Height of the space.
        tube_diameter: Outer diameter of the tube that the label is wrapped round; None when it stays flat.
        axis: The side of the space that lies along the tube; None when it stays flat.
    """

    width: Mm
    height: Mm
    tube_diameter: Mm | None = None
    axis: TubeAxis | None = None

    def __post_init__(self) -> None:
        """Refuse a space that is none, and half a description of a tube."""
        if not (self.width > 0 and self.height > 0 and math.isfinite(self.width * self.height)):
            raise SymbolError(
                given=f"a space of {self.width} x {self.height} mm",
                expected="two positive lengths",
                remedy="give the free width and height in millimetres",
            )
        if (self.tube_diameter is None) != (self.axis is None) or not (
            self.tube_diameter is None or self.tube_diameter > 0
        ):
            raise SymbolError(
                given=f"a tube of diameter {self.tube_diameter} with its axis along the {self.axis}",
                expected="a positive diameter and a side of the space that lies along the tube, or neither",
                remedy="give both, or leave both out for a flat label",
            )

    @property
    def longest_arc(self) -> Mm | None:
        """Return how far a symbol may reach round the tube, or None on a flat label."""
        return None if self.tube_diameter is None else Mm(math.pi * self.tube_diameter * CURVED_SHARE)


@dataclass(frozen=True, slots=True, kw_only=True)
class ChoicePolicy:
    """What a choice prefers when several symbols fit.

    Attributes:
        shapes: Data Matrix sizes that may be taken; squares and classic rectangles unless said otherwise.
        square_advantage: On a tube a square replaces a rectangle only with an X at least so many times larger.
        table: GS1 symbol specification table whose limits the warnings quote.
        smallest_bar_height: Bars of a linear symbol are at least so high.
        qr_level: Error correction level of QR.
    """

    shapes: frozenset[DataMatrixShape] = field(
        default_factory=lambda: frozenset(shapes_of(ShapeFamily.SQUARE) + shapes_of(ShapeFamily.RECTANGLE))
    )
    square_advantage: float = SQUARE_ADVANTAGE
    table: str = TUBE_LABELS
    smallest_bar_height: Mm = SMALLEST_BAR_HEIGHT
    qr_level: QRLevel = QRLevel.M


@dataclass(frozen=True, slots=True, kw_only=True)
class ChosenSymbol:
    """A symbol with the size that it will be printed in.

    Attributes:
        symbol: The symbol, unturned.
        x: Size of a module in printer dots.
        dpi: Resolution of the printer in dots per inch.
        quarter_turns: Counter-clockwise quarter turns that place it.
        bar_height: Height of the bars of a linear symbol; None for a matrix symbol.
        warnings: Sentences about limits that the size does not keep; empty if all is well.
    """

    symbol: Symbol
    x: Dots
    dpi: int
    quarter_turns: int
    bar_height: Dots | None
    warnings: tuple[str, ...]

    @property
    def modules(self) -> NDArray[np.bool_]:
        """Return the modules as they are placed, after the turn; True is dark, shape (rows, columns)."""
        return np.rot90(self.symbol.modules, self.quarter_turns)

    @property
    def x_dimension(self) -> Mm:
        """Return the size of a module."""
        return dots_as_mm(self.x, self.dpi)

    @property
    def size(self) -> tuple[Dots, Dots]:
        """Return width and height as placed, without quiet zone."""
        across = self.symbol.columns * self.x
        down = self.symbol.rows * self.x if self.bar_height is None else self.bar_height
        return (Dots(down), Dots(across)) if self.quarter_turns % 2 else (Dots(across), Dots(down))

    @property
    def size_with_quiet_zone(self) -> tuple[Dots, Dots]:
        """Return width and height as placed, with quiet zone (a linear symbol has none above and below)."""
        margin = 2 * self.symbol.quiet_zone * self.x
        width, height = self.size
        if not self.symbol.is_linear:
            return Dots(width + margin), Dots(height + margin)
        return (width, Dots(height + margin)) if self.quarter_turns % 2 else (Dots(width + margin), height)
