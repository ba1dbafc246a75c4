"""Which symbol a sampled matrix is: the text is written anew and compared with it in all four turns."""

from collections.abc import Iterator
from contextlib import suppress
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tracelabels.errors import SymbolError
from tracelabels.identifiers import Payload
from tracelabels.symbols import (
    DataMatrixShape,
    QRLevel,
    RawReading,
    ReadEffort,
    Symbol,
    Symbology,
    read_symbols,
    write_data_matrix,
    write_micro_qr,
    write_qr,
)

_MASKS: Final = range(8)
_MICRO_MASKS: Final = range(4)
_MICRO_LEVELS: Final = (QRLevel.L, QRLevel.M, QRLevel.Q)
_PX: Final = 4
_MARGIN: Final = 10
_QR_STEP, _QR_ZERO = 4, 17
_MICRO_STEP, _MICRO_ZERO = 2, 9


def find_size(reading: RawReading) -> tuple[int, int] | None:
    """Find rows and columns of an unturned matrix symbol from its version; None if that is not known."""
    with suppress(ValueError):
        return _size(reading, reading.version or "")
    return None


def _size(reading: RawReading, version: str) -> tuple[int, int]:
    if reading.symbology is Symbology.DATA_MATRIX:
        shape = DataMatrixShape(version)
        return shape.rows, shape.columns
    if reading.symbology is Symbology.MICRO_QR:
        side = _MICRO_ZERO + _MICRO_STEP * int(version.removeprefix("M"))
    else:
        side = _QR_ZERO + _QR_STEP * int(version)
    return side, side


def find_version(reading: RawReading, sampled: NDArray[np.bool_]) -> str | None:
    """Return the size by its standard's own name, or None if the sampled matrix does not say what was read.

    Another writer may choose other codewords for the same text; then the sampled matrix itself is read instead.
    """
    for symbol in _written(reading):
        if any(np.array_equal(np.rot90(symbol.modules, turns), sampled) for turns in range(4)):
            return symbol.version
    return reading.version if says(sampled, reading) else None


def says(modules: NDArray[np.bool_], reading: RawReading) -> bool:
    """Say whether a matrix, drawn cleanly, reads as what was read."""
    high = modules if reading.symbology is not Symbology.CODE_128 else _drawn_out(modules)
    picture = np.where(np.kron(np.pad(high, _MARGIN), np.ones((_PX, _PX), dtype=bool)), 0, 255).astype(np.uint8)
    found = read_symbols(picture, effort=ReadEffort.DEFAULT)
    return [(one.data, one.symbology_identifier) for one in found] == [(reading.data, reading.symbology_identifier)]


def _drawn_out(modules: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return the bars of a linear symbol drawn out to a height that is read easily."""
    return np.repeat(modules, 40, axis=0 if modules.shape[0] == 1 else 1)


def _written(reading: RawReading) -> Iterator[Symbol]:
    """Yield the symbols of that size that say the text, of the kinds that have sizes."""
    payload = reading.payload
    match reading.symbology:
        case Symbology.DATA_MATRIX:
            with suppress(SymbolError):
                yield write_data_matrix(payload, shape=DataMatrixShape(reading.version or ""))
        case Symbology.QR:
            for level in QRLevel:
                for mask in _MASKS:
                    with suppress(SymbolError):
                        yield write_qr(payload, level=level, version=int(reading.version or "1"), mask=mask)
        case Symbology.MICRO_QR:
            yield from _written_micro(payload, int((reading.version or "M1").removeprefix("M")))


def _written_micro(payload: Payload, version: int) -> Iterator[Symbol]:
    for level in (None,) if version == 1 else _MICRO_LEVELS:
        for mask in _MICRO_MASKS:
            with suppress(SymbolError):
                yield write_micro_qr(payload, level=level, version=version, mask=mask)
