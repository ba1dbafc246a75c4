"""What the steriliser, steam and time do to a label: darker stock, paler ink, blotches.

Reflectance of a spot with the share c of ink: r = s (1 - c) + i c, with the stock's reflectance s, 0.1 to 1, and the
ink's i, 0 to 0.9: yellowing lowers s, fading raises i. Blotches (condensate, dye, adhesive that bleeds through) cover
the share b of the area, 0 to 0.9, as patches that multiply the reflectance by 0.65 (common practice, no source).
Patches: the highest share b of a smooth random field with a grain of 0.5 to 2 mm, by chance; their edges are blurred by
6 % of the grain.
Assumption: a camera that sees grey, so a colour counts by its brightness alone; ink and stock age alike all over.
"""

from typing import TYPE_CHECKING

import cv2
import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

BLOTCH_KEEPS = 0.65
_GRAIN_MM = (0.5, 2.0)
_EDGE = 0.06


def reflectance(ink: "NDArray[np.float32]", *, stock: float, ink_reflectance: float) -> "NDArray[np.float32]":
    """Return the reflectance, 0 to 1, of each pixel from its share of ink, shape (rows, columns)."""
    return np.float32(stock) + np.float32(ink_reflectance - stock) * ink


def blotched(
    levels: "NDArray[np.float32]", *, share: float, px_per_mm: float, rng: np.random.Generator
) -> "NDArray[np.float32]":
    """Return the reflectance with blotches on it.

    Args:
        levels: reflectance, shape (rows, columns).
        share: of the area that is blotched.
        px_per_mm: pixels of the array per mm.
        rng: where the randomness comes from.
    """
    if share <= 0.0:
        return levels
    rows, columns = levels.shape
    grain = max(1.0, float(np.exp(rng.uniform(*np.log(_GRAIN_MM)))) * px_per_mm)
    coarse = rng.random((int(rows / grain) + 3, int(columns / grain) + 3), dtype=np.float32)
    field = np.asarray(cv2.resize(coarse, (columns, rows), interpolation=cv2.INTER_CUBIC), dtype=np.float32)
    patches = (field > np.quantile(field, 1.0 - share)).astype(np.float32)
    soft = np.asarray(cv2.GaussianBlur(patches, (0, 0), max(0.3, _EDGE * grain)), dtype=np.float32)
    return levels * (np.float32(1.0) - np.float32(1.0 - BLOTCH_KEEPS) * soft)
