"""Writing QR and Micro QR (ISO/IEC 18004)."""

from enum import StrEnum
from typing import Final

import numpy as np
import segno
import zxingcpp

from tracelabels.errors import SymbolError
from tracelabels.identifiers.elements import Payload
from tracelabels.lengths import Modules
from tracelabels.symbols.library import create, modules_of
from tracelabels.symbols.symbol import Symbol, Symbology

QUIET_ZONE: Final = Modules(4)
"""Light margin of QR on all four sides (ISO/IEC 18004; GS1 General Specifications 5.7.4.2)."""

MICRO_QUIET_ZONE: Final = Modules(2)
"""Light margin of Micro QR on all four sides (from memory of ISO/IEC 18004)."""

_QR_SIDE_OF_VERSION_0: Final = 17
_MODULES_PER_VERSION: Final = 4


class QRLevel(StrEnum):
    """How much damage a symbol survives, roughly 7, 15, 25 and 30 % of its codewords."""

    L = "L"
    M = "M"
    Q = "Q"
    H = "H"


def write_qr(
    payload: Payload, *, level: QRLevel = QRLevel.M, version: int | None = None, mask: int | None = None
) -> Symbol:
    """Write a payload as QR.

    A plain payload is written by segno. A payload with FNC1 first is written by zxing-cpp, because segno has no FNC1
    mode and the symbol would not be a GS1 one.

    Args:
        payload: What the symbol shall say.
        level: Error correction level, kept as asked for.
        version: Version 1 to 40; None takes the smallest that holds the text.
        mask: Mask 0 to 7; None takes the one that the standard's penalty rules choose, five times slower.

    Raises:
        SymbolError: The text does not fit, or QR cannot carry it.
    """
    if payload.fnc1_first:
        return _write_gs1_qr(payload, level, version, mask)
    return _write_with_segno(payload, level, version, mask)


def write_micro_qr(
    payload: Payload, *, level: QRLevel | None = None, version: str | None = None, mask: int | None = None
) -> Symbol:
    """Write a payload as Micro QR.

    Args:
        payload: What the symbol shall say, without FNC1: Micro QR is no carrier of the GS1 system.
        level: L, M or Q; None takes the lowest that the smallest symbol offers (M1 only detects errors).
        version: "M1" to "M4"; None takes the smallest that holds the text.
        mask: Mask 0 to 3; None takes the one that the standard's penalty rules choose.

    Raises:
        SymbolError: The payload is a GS1 one, the text does not fit, or Micro QR cannot carry it.
    """
    if payload.fnc1_first:
        raise SymbolError(
            given="a GS1 element string for Micro QR",
            expected="a payload without FNC1, because Micro QR is not supported in the GS1 system",
            remedy="use a Data Matrix or a QR",
        )
    return _write_with_segno(payload, level, version, mask, micro=True)


def _write_with_segno(
    payload: Payload, level: QRLevel | None, version: int | str | None, mask: int | None, *, micro: bool = False
) -> Symbol:
    text = payload.text
    try:
        code = segno.make(
            text,
            error=level,
            version=version,
            mask=mask,
            micro=micro,
            boost_error=False,
            eci=not micro and not text.isascii(),
        )
    except (ValueError, segno.DataOverflowError) as error:
        raise _refusal(text, "Micro QR" if micro else "QR", str(error)) from error
    modules = np.array(code.matrix, dtype=np.bool_)
    modules.flags.writeable = False
    return Symbol(
        symbology=Symbology.MICRO_QR if micro else Symbology.QR,
        modules=modules,
        quiet_zone=MICRO_QUIET_ZONE if micro else QUIET_ZONE,
        payload=payload,
        version=code.designator,
        symbology_identifier="]Q1",
    )


def _write_gs1_qr(payload: Payload, level: QRLevel, version: int | None, mask: int | None) -> Symbol:
    wishes = {"version": version, "data_mask": mask}
    chosen = {name: value for name, value in wishes.items() if value is not None}
    barcode = create(payload, zxingcpp.BarcodeFormat.QRCode, ec_level=str(level), **chosen)
    modules = modules_of(barcode)
    number = (modules.shape[0] - _QR_SIDE_OF_VERSION_0) // _MODULES_PER_VERSION
    return Symbol(
        symbology=Symbology.QR,
        modules=modules,
        quiet_zone=QUIET_ZONE,
        payload=payload,
        version=f"{number}-{barcode.ec_level}",
        symbology_identifier=barcode.symbology_identifier,
    )


def _refusal(text: str, kind: str, reason: str) -> SymbolError:
    return SymbolError(
        given=f"a text of {len(text)} characters for {kind} ({reason})",
        expected=f"a text that {kind} carries whole",
        remedy="shorten the text, or take a larger version or a lower level",
    )
