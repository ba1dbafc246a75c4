"""The codewords of a symbol: which modules carry them, and how they are corrected. It serves grades and sampling alike.

Modules:
    data_matrix_placement: which module of a Data Matrix carries which codeword.
    qr_layout: the same for QR, and its fixed patterns.
    reed_solomon: correcting the codewords of a block.
    correction: codewords in error, unused error correction, blocks.
"""

from tracelabels.symbols.codewords.correction import CodewordMap, find_codeword_map, unused_error_correction
from tracelabels.symbols.codewords.reed_solomon import ReedSolomon

__all__ = ["CodewordMap", "ReedSolomon", "find_codeword_map", "unused_error_correction"]
