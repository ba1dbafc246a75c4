"""Bare reading: a grey picture in, what its symbols say out. No preprocessing, no judgement.

Whoever needs more than one attempt (glare, a tube's curve, many labels) calls this again with another picture.
"""

from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from typing import Any, Final, cast

import numpy as np
import zxingcpp
from numpy.typing import NDArray

from tracelabels.errors import SymbolError
from tracelabels.identifiers import IdentifierMode, Payload
from tracelabels.symbols.symbol import Symbology

_FORMATS: Final = {
    Symbology.DATA_MATRIX: zxingcpp.BarcodeFormat.DataMatrix,
    Symbology.QR: zxingcpp.BarcodeFormat.QRCodeModel2,
    Symbology.MICRO_QR: zxingcpp.BarcodeFormat.MicroQRCode,
    Symbology.CODE_128: zxingcpp.BarcodeFormat.Code128,
}
_SYMBOLOGIES: Final = {
    "Data Matrix": Symbology.DATA_MATRIX,
    "QR Code": Symbology.QR,
    "Micro QR Code": Symbology.MICRO_QR,
    "Code 128": Symbology.CODE_128,
}

PRINTED: Final = frozenset(Symbology)
"""The kinds that this package prints."""


GS1_IDENTIFIERS: Final = frozenset({"]d2", "]Q3", "]C1"})
"""Symbology identifiers, of these kinds, that claim a GS1 element string (GS1 General Specifications 5.1.3)."""


class ReadEffort(StrEnum):
    """How hard the reader tries."""

    DEFAULT = "default"
    """The reader's own default flags: turned, scaled down and inverted too."""
    PLAIN = "plain"
    """Not turned by a quarter, not scaled down, dark on light only: for proofs of clean pages."""
    PURE = "pure"
    """The picture holds one upright symbol and nothing else: the fastest, for cropped proofs."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RawReading:
    r"""One symbol as the reader saw it.

    Attributes:
        text: What it says, the group separator as "\x1d"; bytes that are no text appear as the reader decodes them.
        data: The bytes that it says.
        symbology_identifier: ISO/IEC 15424 identifier: "]d2", "]d1", "]Q3", "]C1" ...
        symbology_name: The reader's name of the kind: "Data Matrix", "QR Code", "EAN-13" ...
        symbology: The kind, or None if this package does not print it.
        version: Size by its standard's name ("18x18", "2", "M4"); None where the kind has none.
        corners: Four corners (x, y) in pixels: the symbol's own top left first, then clockwise round the symbol.
        unused_error_correction: Share of the correction that was left over, 0 to 1; None where the kind has none.
    """

    text: str
    data: bytes
    symbology_identifier: str
    symbology_name: str
    symbology: Symbology | None
    version: str | None
    corners: tuple[tuple[int, int], ...]
    unused_error_correction: float | None

    @property
    def payload(self) -> Payload:
        """Return what the symbol carries; which mode it was written in makes no difference to a symbol."""
        return payload_as_read(self.text, self.symbology_identifier)


def payload_as_read(text: str, symbology_identifier: str) -> Payload:
    """Return what a symbol that says a text carries, in the form that it is written in."""
    gs1 = symbology_identifier in GS1_IDENTIFIERS
    return Payload(text=text, fnc1_first=gs1, mode=IdentifierMode.GS1 if gs1 else IdentifierMode.IN_HOUSE)


def read_symbols(
    grey: NDArray[np.uint8],
    *,
    kinds: frozenset[Symbology] | None = None,
    effort: ReadEffort = ReadEffort.DEFAULT,
) -> tuple[RawReading, ...]:
    """Read every symbol in a picture.

    Args:
        grey: Picture of shape (height, width), 0 is black, 255 is white. It is not copied.
        kinds: Kinds to look for; None means all that the reader knows, printed by us or not.
        effort: How hard to try.

    Returns:
        The readings in the reader's order; empty if nothing was read.

    Raises:
        SymbolError: The array is no grey picture.
    """
    if grey.ndim != 2 or grey.dtype != np.uint8 or not grey.size:  # noqa: PLR2004  a picture has two sides
        raise SymbolError(
            given=f"an array of shape {grey.shape} and type {grey.dtype}",
            expected="a grey picture of shape (height, width) and type uint8 that is not empty",
            remedy="convert the picture to grey first",
        )
    thorough = effort is ReadEffort.DEFAULT
    found = zxingcpp.read_barcodes(
        grey,
        formats=_formats(kinds),
        text_mode=zxingcpp.TextMode.Plain,
        try_rotate=thorough,
        try_downscale=thorough,
        try_invert=thorough,
        is_pure=effort is ReadEffort.PURE,
    )
    # With is_pure the library answers with one empty barcode where it found none.
    return tuple(_as_reading(barcode) for barcode in found if barcode.valid)


@cache
def _formats(kinds: frozenset[Symbology] | None) -> zxingcpp.BarcodeFormats:
    if kinds is None:
        # Not "All": that also lets the reader take two-digit ITF out of any pattern of bars.
        return zxingcpp.barcode_formats_from_str("")
    return zxingcpp.BarcodeFormats([_FORMATS[kind] for kind in sorted(kinds)])


def _as_reading(barcode: zxingcpp.Barcode) -> RawReading:
    extra = cast("dict[str, Any]", barcode.extra or {})
    name = str(barcode.format)
    return RawReading(
        text=barcode.text,
        data=barcode.bytes,
        symbology_identifier=barcode.symbology_identifier,
        symbology_name=name,
        symbology=_SYMBOLOGIES.get(name),
        version=extra.get("Version"),
        corners=_clockwise(barcode.position),
        unused_error_correction=extra.get("UEC"),
    )


def _clockwise(position: zxingcpp.Position) -> tuple[tuple[int, int], ...]:
    """Return the corners in reading order; of a linear symbol upside down the reader swaps left and right alone."""
    found = (position.top_left, position.top_right, position.bottom_right, position.bottom_left)
    corners = tuple((corner.x, corner.y) for corner in found)
    (left, top), (right, along), (_, _), (down_x, down_y) = corners
    turn = (right - left) * (down_y - top) - (along - top) * (down_x - left)
    return corners if turn >= 0 else corners[::-1]
