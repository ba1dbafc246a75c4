"""A symbol: a matrix of modules, the quiet zone it needs, and what it says."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from tracelabels.identifiers import Payload
from tracelabels.lengths import Modules


class Symbology(StrEnum):
    """The kinds of symbol that this package prints."""

    DATA_MATRIX = "data_matrix"
    QR = "qr"
    MICRO_QR = "micro_qr"
    CODE_128 = "code_128"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Symbol:
    """One symbol, ready to be drawn at any size.

    Attributes:
        symbology: Which kind of symbol.
        modules: Boolean matrix of shape (rows, columns), True is dark, without quiet zone; it cannot be written to.
            A linear symbol has one row.
        quiet_zone: Light margin that must stay free: on four sides, for a linear symbol on the left and the right.
        payload: What the symbol says.
        version: The size by its standard's own name: "18x18", "12x36", "2-M", "M4-L"; "128" for Code 128.
        symbology_identifier: What a scanner sends before the text (ISO/IEC 15424): "]d2", "]d1", "]Q3", "]C1" ...
    """

    symbology: Symbology
    modules: NDArray[np.bool_]
    quiet_zone: Modules
    payload: Payload
    version: str
    symbology_identifier: str

    @property
    def rows(self) -> int:
        """Return the height in modules, without quiet zone."""
        return int(self.modules.shape[0])

    @property
    def columns(self) -> int:
        """Return the width in modules, without quiet zone."""
        return int(self.modules.shape[1])

    @property
    def is_linear(self) -> bool:
        """Say whether the symbol is one row of bars, to be drawn as high as wished."""
        return self.symbology is Symbology.CODE_128

    def __eq__(self, other: object) -> bool:
        """Compare what the symbols say and every module."""
        if not isinstance(other, Symbol):
            return NotImplemented
        return self._facts() == other._facts() and np.array_equal(self.modules, other.modules)

    def __hash__(self) -> int:
        """Hash what the symbol says; equal symbols say the same."""
        return hash(self._facts())

    def _facts(self) -> tuple[Symbology, Payload, str, str, Modules]:
        return self.symbology, self.payload, self.version, self.symbology_identifier, self.quiet_zone
