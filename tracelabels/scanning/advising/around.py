"""What lies beyond each side of a patch: stock, something else, or the picture's border."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tracelabels.scanning.advising.upright import Upright

_NEAREST: Final = 0.6
_FARTHEST: Final = 1.6
"""Modules beyond a side: a Data Matrix has one of quiet zone, and labels keep two."""
_STOCK_SHARE: Final = 75.0
"""Percentile: a word in a strip is darker, stock is not."""
_LEAST_NEAR: Final = 2
_LEAST_DEEP: Final = 2
"""Samples: nearer, what a lens has spread of the print is seen."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Side:
    """One side of a patch; what lies just beyond it is a strip as long as the side."""

    beyond: float
    """Median grey level of the strip."""
    darkest_beyond: float
    """Grey level that a tenth of the strip does not exceed."""
    unevenness: float
    """Grey levels from there to what a tenth of it exceeds: words have much, a finger little."""
    print_share: float
    """Share of the side's outermost module that is print: 1 for a solid side, a half for a clock track."""
    is_outside: bool
    """Whether most of the strip is no longer in the picture."""
    stock: float
    """Grey level of the stock in the quarter of the patch next to the side."""
    ends: tuple[float, float]
    """Grey level of the stock in the first and in the last quarter of the strip, clockwise."""
    way: tuple[float, float]
    """Out of the patch, in the picture (x, y), of length 1."""
    module: float
    """Samples a module at right angles to the side."""


def sides_of(
    upright: "Upright",
    calm: "NDArray[np.float32]",
    stock: "NDArray[np.float32]",
    dark: "NDArray[np.bool_]",
    module: tuple[float, float],
) -> tuple[Side, Side, Side, Side]:
    """Return the four sides: top, right, bottom, left.

    Args:
        upright: the patch.
        calm: its levels with its surroundings.
        stock: the level of the stock around each of them.
        dark: print within the patch.
        module: samples a module along rows and along columns.
    """
    right, below = upright.ways
    inner = slice(upright.margin, -upright.margin)
    found = []
    for turn, way in enumerate(((-below[0], -below[1]), right, below, (-right[0], -right[1]))):
        # Turned counter-clockwise, the right side comes to the top, and so on.
        own = module[(turn + 1) % 2]
        strip = _strip(own, upright.margin)
        beyond = np.rot90(calm, turn)[strip, inner]
        low, middle, high = np.percentile(beyond, (10, 50, 90)).tolist()
        lit = np.rot90(stock, turn)[inner, inner]
        found.append(
            Side(
                beyond=middle,
                darkest_beyond=low,
                unevenness=high - low,
                print_share=float(np.rot90(dark, turn)[: max(1, round(own))].mean()),
                is_outside=bool(np.rot90(upright.is_inside, turn)[strip, inner].mean() < 0.5),  # noqa: PLR2004  most
                stock=float(np.median(lit[: max(2, len(lit) // 4)])),
                ends=_ends(beyond),
                way=way,
                module=own,
            )
        )
    return found[0], found[1], found[2], found[3]


def _ends(beyond: "NDArray[np.float32]") -> tuple[float, float]:
    quarter = max(2, beyond.shape[1] // 4)
    first, last = (float(np.percentile(part, _STOCK_SHARE)) for part in (beyond[:, :quarter], beyond[:, -quarter:]))
    return first, last


def _strip(module: float, margin: int) -> slice:
    """Return the lines of the strip beyond the top side of a patch within its margin, in samples."""
    near = min(max(round(_NEAREST * module), _LEAST_NEAR), margin - _LEAST_DEEP)
    far = min(max(round(_FARTHEST * module), near + _LEAST_DEEP), margin)
    return slice(margin - far, margin - near)
