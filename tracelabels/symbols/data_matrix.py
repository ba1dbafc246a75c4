"""Writing Data Matrix ECC 200 (ISO/IEC 16022), plain or GS1."""

from typing import Final

import zxingcpp

from tracelabels.errors import SymbolError
from tracelabels.identifiers import Payload
from tracelabels.lengths import Modules
from tracelabels.symbols.data_matrix_shapes import DataMatrixShape
from tracelabels.symbols.library import create, modules_of
from tracelabels.symbols.symbol import Symbol, Symbology

DATA_MATRIX_QUIET_ZONE: Final = Modules(1)
"""Light margin on all four sides (ISO/IEC 16022; GS1 asks for the same)."""

_FORMAT: Final = zxingcpp.BarcodeFormat.DataMatrix
_VERSION: Final = {shape: number for number, shape in enumerate(DataMatrixShape, start=1)}
"""The writer numbers the sizes in the order of the standard's tables: squares, classic rectangles, extended ones."""


def write_data_matrix(payload: Payload, *, shape: DataMatrixShape | None = None) -> Symbol:
    """Write a payload as Data Matrix.

    Args:
        payload: What the symbol shall say; FNC1 comes first when the payload says so.
        shape: The size wanted; None takes the smallest square that holds the text. Extended rectangles (DMRE) come only
            when asked for here.

    Returns:
        The symbol.

    Raises:
        SymbolError: The text does not fit, or Data Matrix cannot carry it.
    """
    if shape is None:
        barcode = create(payload, _FORMAT, force_square=True)
    else:
        barcode = create(payload, _FORMAT, version=_VERSION[shape])
    modules = modules_of(barcode)
    version = f"{modules.shape[0]}x{modules.shape[1]}"
    if shape is not None and version != shape:
        raise SymbolError(
            given=f"the writer made a {version} symbol",
            expected=f"{shape} modules",
            remedy="take a size that this version of the writer offers",
        )
    return Symbol(
        symbology=Symbology.DATA_MATRIX,
        modules=modules,
        quiet_zone=DATA_MATRIX_QUIET_ZONE,
        payload=payload,
        version=version,
        symbology_identifier=barcode.symbology_identifier,
    )
