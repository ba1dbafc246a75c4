"""Writing Code 128 and GS1-128 (ISO/IEC 15417).

Written by zxing-cpp: of 400 payloads python-barcode's symbol was longer in 71 and never shorter, so that python-barcode
stays a judge in the tests.
"""

from typing import Final

import zxingcpp

from tracelabels.errors import SymbolError
from tracelabels.identifiers import Payload
from tracelabels.lengths import Modules
from tracelabels.symbols.library import create, modules_of
from tracelabels.symbols.symbol import Symbol, Symbology

CODE_128_QUIET_ZONE: Final = Modules(10)
"""Light margin left and right (ISO/IEC 15417; GS1 asks for the same)."""

GS1_128_CHARACTERS: Final = 48
"""Most characters that one GS1-128 symbol may carry (GS1 General Specifications R26.0, 5.4.4.3)."""


def write_code_128(payload: Payload) -> Symbol:
    """Write a payload as Code 128, or as GS1-128 when it opens with FNC1.

    Returns:
        The symbol; its modules have one row, to be drawn as high as the place allows.

    Raises:
        SymbolError: The text is too long for GS1-128, or Code 128 cannot carry it.
    """
    if payload.fnc1_first and len(payload.text) > GS1_128_CHARACTERS:
        raise SymbolError(
            given=f"{len(payload.text)} characters for one GS1-128 symbol",
            expected=f"at most {GS1_128_CHARACTERS}",
            remedy="use a Data Matrix, or leave elements out",
        )
    barcode = create(payload, zxingcpp.BarcodeFormat.Code128)
    return Symbol(
        symbology=Symbology.CODE_128,
        modules=modules_of(barcode)[:1],
        quiet_zone=CODE_128_QUIET_ZONE,
        payload=payload,
        version="128",
        symbology_identifier=barcode.symbology_identifier,
    )
