"""The sizes of Data Matrix ECC 200 and what each holds.

Source: ISO/IEC 16022:2006 Table 7; the extended rectangles ISO/IEC 21471:2020 Table 7. The check codewords of the
squares from 72x72 on follow from the size of the mapping matrix (eight modules a codeword).
"""

from enum import StrEnum
from functools import cache
from typing import Final


class ShapeFamily(StrEnum):
    """How widely a Data Matrix shape is understood."""

    SQUARE = "square"
    RECTANGLE = "rectangle"
    """The six classic rectangles: every scanner that reads ECC 200 reads them."""
    EXTENDED = "extended"
    """Rectangles of ISO/IEC 21471 (DMRE): many scanners lack them, so they are used only when asked for by name."""


class DataMatrixShape(StrEnum):
    """One size, named rows x columns, as the standard orders them."""

    SQUARE_10 = "10x10"
    SQUARE_12 = "12x12"
    SQUARE_14 = "14x14"
    SQUARE_16 = "16x16"
    SQUARE_18 = "18x18"
    SQUARE_20 = "20x20"
    SQUARE_22 = "22x22"
    SQUARE_24 = "24x24"
    SQUARE_26 = "26x26"
    SQUARE_32 = "32x32"
    SQUARE_36 = "36x36"
    SQUARE_40 = "40x40"
    SQUARE_44 = "44x44"
    SQUARE_48 = "48x48"
    SQUARE_52 = "52x52"
    SQUARE_64 = "64x64"
    SQUARE_72 = "72x72"
    SQUARE_80 = "80x80"
    SQUARE_88 = "88x88"
    SQUARE_96 = "96x96"
    SQUARE_104 = "104x104"
    SQUARE_120 = "120x120"
    SQUARE_132 = "132x132"
    SQUARE_144 = "144x144"
    RECTANGLE_8_18 = "8x18"
    RECTANGLE_8_32 = "8x32"
    RECTANGLE_12_26 = "12x26"
    RECTANGLE_12_36 = "12x36"
    RECTANGLE_16_36 = "16x36"
    RECTANGLE_16_48 = "16x48"
    EXTENDED_8_48 = "8x48"
    EXTENDED_8_64 = "8x64"
    EXTENDED_8_80 = "8x80"
    EXTENDED_8_96 = "8x96"
    EXTENDED_8_120 = "8x120"
    EXTENDED_8_144 = "8x144"
    EXTENDED_12_64 = "12x64"
    EXTENDED_12_88 = "12x88"
    EXTENDED_16_64 = "16x64"
    EXTENDED_20_36 = "20x36"
    EXTENDED_20_44 = "20x44"
    EXTENDED_20_64 = "20x64"
    EXTENDED_22_48 = "22x48"
    EXTENDED_24_48 = "24x48"
    EXTENDED_24_64 = "24x64"
    EXTENDED_26_40 = "26x40"
    EXTENDED_26_48 = "26x48"
    EXTENDED_26_64 = "26x64"

    @property
    def rows(self) -> int:
        """Return the height in modules, with finder pattern, without quiet zone."""
        return int(self.value.partition("x")[0])

    @property
    def columns(self) -> int:
        """Return the width in modules, with finder pattern, without quiet zone."""
        return int(self.value.partition("x")[2])

    @property
    def family(self) -> ShapeFamily:
        """Return whether this is a square, a classic rectangle or an extended one."""
        return ShapeFamily(self.name.partition("_")[0].lower())

    @property
    def data_codewords(self) -> int:
        """Return how many codewords of data the size holds, padding included."""
        return CODEWORDS[self.value][0]

    @property
    def error_codewords(self) -> int:
        """Return how many check codewords the size carries."""
        return CODEWORDS[self.value][1]

    @property
    def digits(self) -> int:
        """Return how many digits fit: two in a codeword."""
        return 2 * self.data_codewords


CODEWORDS: Final[dict[str, tuple[int, int]]] = {
    "10x10": (3, 5),
    "12x12": (5, 7),
    "14x14": (8, 10),
    "16x16": (12, 12),
    "18x18": (18, 14),
    "20x20": (22, 18),
    "22x22": (30, 20),
    "24x24": (36, 24),
    "26x26": (44, 28),
    "32x32": (62, 36),
    "36x36": (86, 42),
    "40x40": (114, 48),
    "44x44": (144, 56),
    "48x48": (174, 68),
    "52x52": (204, 84),
    "64x64": (280, 112),
    "72x72": (368, 144),
    "80x80": (456, 192),
    "88x88": (576, 224),
    "96x96": (696, 272),
    "104x104": (816, 336),
    "120x120": (1050, 408),
    "132x132": (1304, 496),
    "144x144": (1558, 620),
    "8x18": (5, 7),
    "8x32": (10, 11),
    "12x26": (16, 14),
    "12x36": (22, 18),
    "16x36": (32, 24),
    "16x48": (49, 28),
    "8x48": (18, 15),
    "8x64": (24, 18),
    "8x80": (32, 22),
    "8x96": (38, 28),
    "8x120": (49, 32),
    "8x144": (63, 36),
    "12x64": (43, 27),
    "12x88": (64, 36),
    "16x64": (62, 36),
    "20x36": (44, 28),
    "20x44": (56, 34),
    "20x64": (84, 42),
    "22x48": (72, 38),
    "24x48": (80, 41),
    "24x64": (108, 46),
    "26x40": (70, 38),
    "26x48": (90, 42),
    "26x64": (118, 50),
}
"""Data and check codewords of each size."""


@cache
def shapes_of(family: ShapeFamily) -> tuple[DataMatrixShape, ...]:
    """Return the shapes of one family, smallest first as the standard lists them."""
    return tuple(shape for shape in DataMatrixShape if shape.family is family)
