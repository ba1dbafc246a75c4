"""A clean picture of modules, read by the library: it corrects and parses, so neither is done a second time here."""

from typing import TYPE_CHECKING, Final

import numpy as np

from tracelabels.symbols import ReadEffort, Symbology, read_symbols

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tracelabels.scanning.sampling.fixed_cells import SymbolShape
    from tracelabels.symbols import RawReading

_PX: Final = 3
_MARGIN: Final = 4


def find_said(modules: "NDArray[np.bool_]", shape: "SymbolShape") -> "RawReading | None":
    """Find what a symbol of these modules says; None if it says nothing.

    Args:
        modules: True is dark, shape (rows, columns).
        shape: what it is held to be; another kind or version is no answer.
    """
    grey = np.where(np.pad(modules, _MARGIN), 0, 255).astype(np.uint8)
    picture = grey.repeat(_PX, axis=0).repeat(_PX, axis=1)
    # Asked for QR as it is printed today alone, the library (3.1) finds none in its mode for pure pictures.
    effort = ReadEffort.PLAIN if shape.symbology is Symbology.QR else ReadEffort.PURE
    found = read_symbols(picture, kinds=frozenset({shape.symbology}), effort=effort)
    return next((one for one in found if one.version == shape.version), None)
