"""The modules of a symbol that our writers do not make the same way: corrected from the picture itself.

Another writer may say the same text in another encodation or pad it otherwise. What the picture shows is then corrected
as a reader would correct it, laid into the fixed pattern of its size, drawn clean and read: only if that says the text
is it the symbol that should be there.
"""

from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np

from tracelabels.errors import SymbolError
from tracelabels.identifiers import IdentifierMode, Payload
from tracelabels.legibility.grades.truth import Match, seen_in_all_positions
from tracelabels.symbols import (
    DataMatrixShape,
    QRLevel,
    ReadEffort,
    Symbol,
    Symbology,
    read_symbols,
    write_data_matrix,
    write_qr,
)
from tracelabels.symbols.codewords import CodewordMap, find_codeword_map

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from numpy.typing import NDArray

    from tracelabels.symbols import RawReading

_ANY_TEXT: Final = Payload(text="1", fnc1_first=False, mode=IdentifierMode.IN_HOUSE)
"""Fits every size; only the fixed pattern of the symbol is used."""

_MASKS: "Final[tuple[Callable[[NDArray[np.intp], NDArray[np.intp]], NDArray[np.bool_]], ...]]" = (
    lambda i, j: (i + j) % 2 == 0,
    lambda i, _: i % 2 == 0,
    lambda _, j: j % 3 == 0,
    lambda i, j: (i + j) % 3 == 0,
    lambda i, j: (i // 2 + j // 3) % 2 == 0,
    lambda i, j: (i * j) % 2 + (i * j) % 3 == 0,
    lambda i, j: ((i * j) % 2 + (i * j) % 3) % 2 == 0,
    lambda i, j: ((i + j) % 2 + (i * j) % 3) % 2 == 0,
)
"""Which modules each mask turns over, by row i and column j (ISO/IEC 18004:2015 Table 10)."""

_CLEAN_PX: Final = 4
_CLEAN_MARGIN: Final = 4


def find_recovered(image: "NDArray[np.uint8]", reading: "RawReading") -> Match | None:
    """Find the symbol that the picture itself shows, corrected; None if it does not say the text that was read.

    Args:
        image: grey picture.
        reading: what was read, and where.
    """
    frames = list(_frames(reading))
    if not frames:
        return None
    # All frames are of one size.
    positions = seen_in_all_positions(image, reading.corners, frames[0][0].rows, frames[0][0].columns)
    best: tuple[Match, int, CodewordMap] | None = None
    for frame, mask in frames:
        codewords = find_codeword_map(frame.symbology, frame.version)
        if codewords is None:
            return None
        fixed = codewords.bit < 0
        for grid, dark in positions:
            agreement = float((dark == frame.modules)[fixed].mean())
            if best is None or agreement > best[0].agreement:
                seen = replace(frame, modules=np.where(fixed, frame.modules, dark))
                best = Match(symbol=seen, grid=grid, agreement=agreement), mask, codewords
    return None if best is None else _corrected(*best, reading)


def _frames(reading: "RawReading") -> "Iterator[tuple[Symbol, int]]":
    """Yield symbols with the fixed patterns that the symbol may have, and their masks."""
    try:
        if reading.symbology is Symbology.DATA_MATRIX and reading.version:
            yield write_data_matrix(_ANY_TEXT, shape=DataMatrixShape(reading.version)), -1
        elif reading.symbology is Symbology.QR and reading.version:
            version = int(reading.version.partition("-")[0])
            for level in QRLevel:
                for mask in range(len(_MASKS)):
                    yield write_qr(_ANY_TEXT, level=level, version=version, mask=mask), mask
    except SymbolError:
        return


def _corrected(match: Match, mask: int, codewords: CodewordMap, reading: "RawReading") -> Match | None:
    frame = match.symbol
    turned = _turned(frame, mask) & (codewords.bit >= 0)
    modules = codewords.find_corrected(frame.modules ^ turned)
    if modules is None or not _says(modules ^ turned, reading.text):
        return None
    symbol = replace(frame, modules=modules ^ turned, payload=reading.payload)
    return replace(match, symbol=symbol)


def _turned(frame: Symbol, mask: int) -> "NDArray[np.bool_]":
    """Return which modules the mask turns over; none for a Data Matrix, which has no mask."""
    if mask < 0:
        return np.zeros(frame.modules.shape, dtype=bool)
    rows, columns = frame.modules.shape
    i, j = np.meshgrid(np.arange(rows), np.arange(columns), indexing="ij")
    return _MASKS[mask](i, j)


def _says(modules: "NDArray[np.bool_]", text: str) -> bool:
    """Say whether a clean drawing of the modules is read as the text."""
    grey = np.where(np.pad(modules, _CLEAN_MARGIN), 0, 255).astype(np.uint8)
    picture = np.repeat(np.repeat(grey, _CLEAN_PX, axis=0), _CLEAN_PX, axis=1)
    return any(one.text == text for one in read_symbols(picture, effort=ReadEffort.PLAIN))
