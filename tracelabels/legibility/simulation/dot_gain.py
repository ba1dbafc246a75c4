"""Dot gain: ink or toner that spreads (or shrinks back) by a fixed length at every edge.

A printed area grows by the gain g at each of its edges, g in mm per edge, -0.1 to 0.2: a bar of width w comes out as
w + 2 g, a gap of width w as w - 2 g. A pixel of the fine picture is inked by the share min(1, max(0, g - a)) / p, where
a is how far its near side lies from the edge and p its size, so that an edge moves by exactly g, also by less than a
pixel. Assumption: the same gain in both directions; a real printer's differs along and across its feed.
"""

from typing import TYPE_CHECKING

import cv2
import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray


def spread(inked: "NDArray[np.bool_]", gain: float, pixel: float) -> "NDArray[np.float32]":
    """Return the share of ink, 0 to 1, of each pixel after the gain.

    Args:
        inked: which pixels were to be inked, shape (rows, columns).
        gain: mm per edge; below 0 the ink shrinks.
        pixel: size of a pixel, mm.
    """
    grown = _grown(inked, gain / pixel) if gain >= 0.0 else np.float32(1.0) - _grown(~inked, -gain / pixel)
    return np.asarray(grown, dtype=np.float32)


def _grown(area: "NDArray[np.bool_]", pixels: float) -> "NDArray[np.float32]":
    """Return an area grown at each edge; the nearest pixel outside it has the distance 1 from it."""
    if pixels == 0.0 or not area.any():
        return area.astype(np.float32)
    distance = np.asarray(cv2.distanceTransform((~area).astype(np.uint8), cv2.DIST_L2, 5), dtype=np.float32)
    return np.asarray(np.clip(np.float32(pixels + 1.0) - distance, 0.0, 1.0), dtype=np.float32)
