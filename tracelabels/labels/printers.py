"""The printer: its resolution, and the corrections that an alignment page measures."""

import math
from dataclasses import dataclass
from typing import Final

from tracelabels.errors import LabelError
from tracelabels.lengths import Mm

LEAST_DPI: Final = 72
MOST_DPI: Final = 4800
LARGEST_OFFSET: Final = Mm(20.0)
LARGEST_SCALING: Final = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Printer:
    """How a printer prints.

    Attributes:
        dpi: Resolution in dots per inch.
        offset_x: How far all labels are moved to the right; it is rounded to whole dots.
        offset_y: How far all labels are moved down.
        scale_x: Factor on the distances between labels from left to right; symbols keep their whole dots.
        scale_y: Factor on the distances from top to bottom.
    """

    dpi: int
    offset_x: Mm = Mm(0.0)
    offset_y: Mm = Mm(0.0)
    scale_x: float = 1.0
    scale_y: float = 1.0

    def __post_init__(self) -> None:
        """Refuse what no printer has.

        Raises:
            LabelError: If a value is out of its bounds.
        """
        if not LEAST_DPI <= self.dpi <= MOST_DPI:
            raise LabelError(
                given=f"a printer resolution of {self.dpi} dpi",
                expected=f"a number from {LEAST_DPI} to {MOST_DPI}",
                remedy="look it up in the printer's manual: 203, 300 and 600 are usual",
            )
        for name, offset in (("offset_x", self.offset_x), ("offset_y", self.offset_y)):
            if not (math.isfinite(offset) and abs(offset) <= LARGEST_OFFSET):
                raise LabelError(
                    given=f"a printer {name} of {offset:g} mm",
                    expected=f"at most {LARGEST_OFFSET:g} mm either way",
                    remedy="measure it on the alignment page",
                )
        for name, scale in (("scale_x", self.scale_x), ("scale_y", self.scale_y)):
            if not (math.isfinite(scale) and abs(scale - 1) <= LARGEST_SCALING + 1e-9):
                raise LabelError(
                    given=f"a printer {name} of {scale:g}",
                    expected=f"a factor from {1 - LARGEST_SCALING:g} to {1 + LARGEST_SCALING:g}",
                    remedy="measure it on the alignment page, and print at 100 %, not fitted to the page",
                )
