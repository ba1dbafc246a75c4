"""A hard shadow whose edge runs through the symbol: a hand or the phone itself before the lamp.

Light on a pixel: 1 - k (1 + tanh(d / e)) / 2, where d is the pixel's distance from a straight edge through a random
point of the symbol, k the shadow's depth (share of the light taken, 0 to 0.98) and e half the penumbra's width, a tenth
of the symbol's shorter side. Assumption: one straight edge.
"""

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray


def shaded(
    height: int, width: int, *, depth: float, through: tuple[float, float], direction: float, penumbra: float
) -> "NDArray[np.float32]":
    """Return the light that a hard shadow leaves, shape (height, width), 1 outside it.

    Args:
        height: of the picture, pixels.
        width: of the picture, pixels.
        depth: share of the light that is taken.
        through: a point (x, y) of the edge, pixels.
        direction: degrees anticlockwise from the right in which the shadow lies.
        penumbra: half its width, pixels.
    """
    if depth <= 0.0:
        return np.ones((height, width), dtype=np.float32)
    down, across = np.ogrid[0:height, 0:width]
    x, y = (across + 0.5 - through[0]).astype(np.float32), (down + 0.5 - through[1]).astype(np.float32)
    way = x * np.float32(np.cos(np.radians(direction))) - y * np.float32(np.sin(np.radians(direction)))
    return np.float32(1.0) - np.float32(depth / 2.0) * (np.float32(1.0) + np.tanh(way / np.float32(penumbra)))
