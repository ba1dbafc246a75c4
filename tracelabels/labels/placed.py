"""Where each label went and what its code must say: what the proof compares the printed page with."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tracelabels.identifiers import Payload
from tracelabels.lengths import Dots


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedSymbol:
    """A symbol as it is printed, its modules kept as packed bits: a run of 100,000 labels keeps as many of these.

    Attributes:
        payload: What it says.
        symbology_identifier: What a scanner sends before the text.
        version: Its size by its standard's own name.
        rows: Height in modules after turning, without quiet zone.
        columns: Width in modules after turning.
        bits: The modules row by row, eight a byte, 1 is dark.
        x: Size of a module in dots.
    """

    payload: Payload
    symbology_identifier: str
    version: str
    rows: int
    columns: int
    bits: bytes
    x: Dots

    @property
    def modules(self) -> NDArray[np.bool_]:
        """Return the matrix of shape (rows, columns), True is dark."""
        flat = np.unpackbits(np.frombuffer(self.bits, dtype=np.uint8), count=self.rows * self.columns)
        return flat.reshape(self.rows, self.columns).astype(np.bool_)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedLabel:
    """One label on a page.

    Attributes:
        page: Page, counted from 0.
        slot: Place on the page, counted row by row from 0.
        columns: Labels side by side on the page.
        index: Which of the contents it shows, counted from 0.
        copy: Which copy of it, counted from 1.
        left: Left edge of the symbol, without quiet zone, in dots from the page's left edge.
        top: Top edge of the symbol in dots from the page's top edge.
        symbol: The symbol.
    """

    page: int
    slot: int
    columns: int
    index: int
    copy: int
    left: Dots
    top: Dots
    symbol: PrintedSymbol

    @property
    def row(self) -> int:
        """Return the row on the page, counted from 0."""
        return self.slot // self.columns

    @property
    def column(self) -> int:
        """Return the column on the page, counted from 0."""
        return self.slot % self.columns

    @property
    def x(self) -> Dots:
        """Return the size of a module in dots."""
        return self.symbol.x

    @property
    def modules(self) -> NDArray[np.bool_]:
        """Return the symbol's matrix as it is printed, True is dark."""
        return self.symbol.modules

    @property
    def payload(self) -> Payload:
        """Return what the symbol must say."""
        return self.symbol.payload

    @property
    def symbology_identifier(self) -> str:
        """Return what a scanner must send before the text."""
        return self.symbol.symbology_identifier

    @property
    def width(self) -> Dots:
        """Return the symbol's width in dots."""
        return Dots(self.symbol.columns * self.symbol.x)

    @property
    def height(self) -> Dots:
        """Return the symbol's height in dots."""
        return Dots(self.symbol.rows * self.symbol.x)
