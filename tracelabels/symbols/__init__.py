"""Symbols: a matrix of modules, its quiet zone, and what it says.

This room writes texts as symbols, reads the symbols of a picture, and chooses a symbol and its module size for a
space, a printer and a tube. It is the only room that imports barcode libraries.

Modules, from the bottom up: ``symbol`` (the value), ``library`` (asking zxing-cpp for a symbol), ``data_matrix_shapes``
and ``data_matrix``, ``qr`` (with Micro QR), ``code_128`` (with GS1-128), ``reading``, ``specifications`` (GS1 tables of
X-dimensions), ``space`` (the free space, the policy, the choice), ``placing`` (geometry in whole dots), ``choosing``.
The room ``codewords`` knows which modules carry what, and corrects it.
"""

from tracelabels.symbols.choosing import LARGEST_X, SMALLEST_X, choose_symbol
from tracelabels.symbols.code_128 import write_code_128
from tracelabels.symbols.data_matrix import write_data_matrix
from tracelabels.symbols.data_matrix_shapes import DataMatrixShape, ShapeFamily, shapes_of
from tracelabels.symbols.qr import QRLevel, write_micro_qr, write_qr
from tracelabels.symbols.reading import GS1_IDENTIFIERS, PRINTED, RawReading, ReadEffort, payload_as_read, read_symbols
from tracelabels.symbols.space import ChoicePolicy, ChosenSymbol, Space, TubeAxis
from tracelabels.symbols.specifications import SPECIFICATIONS, Release, SymbolSpecification, find_specification
from tracelabels.symbols.symbol import Symbol, Symbology

__all__ = [
    "GS1_IDENTIFIERS",
    "LARGEST_X",
    "PRINTED",
    "SMALLEST_X",
    "SPECIFICATIONS",
    "ChoicePolicy",
    "ChosenSymbol",
    "DataMatrixShape",
    "QRLevel",
    "RawReading",
    "ReadEffort",
    "Release",
    "ShapeFamily",
    "Space",
    "Symbol",
    "SymbolSpecification",
    "Symbology",
    "TubeAxis",
    "choose_symbol",
    "find_specification",
    "payload_as_read",
    "read_symbols",
    "shapes_of",
    "write_code_128",
    "write_data_matrix",
    "write_micro_qr",
    "write_qr",
]
