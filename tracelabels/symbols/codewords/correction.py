"""How much of a symbol's error correction is used up: codewords counted against the symbol that should be there."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from tracelabels.symbols.codewords import data_matrix_placement, qr_layout
from tracelabels.symbols.codewords.reed_solomon import ReedSolomon
from tracelabels.symbols.data_matrix_shapes import DataMatrixShape
from tracelabels.symbols.qr import QRLevel
from tracelabels.symbols.symbol import Symbology

if TYPE_CHECKING:
    from numpy.typing import NDArray

_DATA_MATRIX_BLOCKS: Final = {
    "52x52": 2, "64x64": 2, "72x72": 4, "80x80": 4, "88x88": 4, "96x96": 4, "104x104": 6, "120x120": 6, "132x132": 8,
    "144x144": 10,
}  # fmt: skip
"""Interleaved blocks of the large squares; all others have one (ISO/IEC 16022:2006 Table 7; from memory beyond 64)."""


_DATA_MATRIX_CODE: Final = ReedSolomon(polynomial=0x12D, first_root=1)
_QR_CODE: Final = ReedSolomon(polynomial=0x11D, first_root=0)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CodewordMap:
    """Where the codewords lie, and what they can correct."""

    bit: "NDArray[np.intp]"
    """Bit of the stream that each module carries, eight a codeword, shape (rows, columns); -1 where it carries none."""
    block: "NDArray[np.intp]"
    """Block of each codeword."""
    capacity: int
    """d - p of each block: check codewords less those kept for detecting misreads."""
    check: int
    """d: check codewords of each block."""
    code: ReedSolomon
    """How they are made."""

    @property
    def owner(self) -> "NDArray[np.intp]":
        """Return the number of the codeword of each module, shape (rows, columns); -1 where it carries none."""
        return self.bit // 8

    def codewords_with(self, marked: "NDArray[np.bool_]") -> "NDArray[np.bool_]":
        """Return for each codeword whether one of its modules is marked.

        Args:
            marked: shape (rows, columns).
        """
        numbers = self.owner[marked & (self.owner >= 0)]
        hit = np.zeros(len(self.block), dtype=bool)
        hit[numbers] = True
        return hit

    def unused(self, wrong: "NDArray[np.bool_]") -> float:
        """Return the unused error correction of the worst block if these codewords, shape (n,), are wrong."""
        return unused_error_correction(errors=self._most(wrong), erasures=0, capacity=self.capacity)

    def corrects(self, wrong: "NDArray[np.bool_]") -> bool:
        """Say whether the decoder would correct all these codewords, shape (n,), if they are wrong."""
        return 2 * self._most(wrong) <= self.capacity

    def _most(self, wrong: "NDArray[np.bool_]") -> int:
        """Return the number of wrong codewords in the worst block."""
        return int(np.bincount(self.block[wrong], minlength=1).max())

    def least_per_codeword(self, values: "NDArray[np.float64]") -> "NDArray[np.float64]":
        """Return the lowest value among the modules of each codeword, shape (n,)."""
        least = np.full(len(self.block), np.inf)
        carried = self.bit >= 0
        np.minimum.at(least, self.owner[carried], values[carried])
        return least

    def find_corrected(self, dark: "NDArray[np.bool_]") -> "NDArray[np.bool_] | None":
        """Find the modules of the valid symbol nearest to what was seen; None if too much is wrong.

        Args:
            dark: as seen, without the mask of QR, shape (rows, columns); modules without codeword are left as they are.
        """
        words = self.words(dark)
        for block in range(int(self.block.max()) + 1):
            mine = self.block == block
            corrected = self.code.find_corrected(words[mine].tolist(), self.check)
            if corrected is None:
                return None
            words[mine] = corrected
        return self.laid(words, dark)

    def words(self, dark: "NDArray[np.bool_]") -> "NDArray[np.uint8]":
        """Return the codewords that modules, shape (rows, columns), show; no mask is taken away."""
        carried = self.bit >= 0
        stream = np.zeros(8 * len(self.block), dtype=bool)
        stream[self.bit[carried]] = dark[carried]
        return np.packbits(stream)

    def laid(self, words: "NDArray[np.uint8]", dark: "NDArray[np.bool_]") -> "NDArray[np.bool_]":
        """Return modules that carry these codewords; those that carry none are taken from ``dark``."""
        carried = self.bit >= 0
        modules = dark.copy()
        modules[carried] = np.unpackbits(words).astype(bool)[self.bit[carried]]
        return modules


def unused_error_correction(*, errors: int, erasures: int, capacity: int) -> float:
    """Return 1 - (e + 2 t) / (d - p), not below 0 (ISO/IEC 15415:2011).

    Args:
        errors: wrong codewords, t.
        erasures: codewords known to be missing, e.
        capacity: check codewords that correct, d - p.

    >>> round(unused_error_correction(errors=2, erasures=0, capacity=14), 3)
    0.714
    """
    return max(0.0, 1.0 - (erasures + 2 * errors) / capacity)


def find_codeword_map(symbology: Symbology, version: str) -> CodewordMap | None:
    """Find where the codewords of a symbol lie; None for kinds and sizes whose layout is not known here.

    Args:
        symbology: which kind.
        version: as a symbol names it: "18x18", "2-M".
    """
    match symbology:
        case Symbology.DATA_MATRIX:
            return _data_matrix(DataMatrixShape(version))
        case Symbology.QR:
            number, _, level = version.partition("-")
            return _qr(int(number), QRLevel(level)) if int(number) <= qr_layout.LARGEST_VERSION else None
        case Symbology.MICRO_QR | Symbology.CODE_128:
            return None


def _data_matrix(shape: DataMatrixShape) -> CodewordMap:
    blocks = _DATA_MATRIX_BLOCKS.get(shape.value, 1)
    data, error = shape.data_codewords, shape.error_codewords
    turns = np.concatenate([np.arange(data) % blocks, np.arange(error) % blocks])
    check = error // blocks
    bits = data_matrix_placement.bit_of_module(shape)
    return CodewordMap(bit=bits, block=turns, capacity=check, check=check, code=_DATA_MATRIX_CODE)


def _qr(version: int, level: QRLevel) -> CodewordMap:
    blocks = qr_layout.BLOCKS[version, level]
    return CodewordMap(
        bit=qr_layout.bit_of_module(version),
        block=qr_layout.block_of_codeword(version, level),
        capacity=blocks.error - blocks.reserved,
        check=blocks.error,
        code=_QR_CODE,
    )
