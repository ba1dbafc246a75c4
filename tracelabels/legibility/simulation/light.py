"""Uneven light, the lens's vignette, and the shading of a round surface."""

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

_AMBIENT = 0.55
_LAMP = np.array([-0.35, -0.45, 0.82])


def uneven(height: int, width: int, *, ratio: float, direction: float, vignette: float) -> "NDArray[np.float32]":
    """Return the light on each pixel, shape (height, width), 1 at the picture's middle.

    The light grows geometrically along a direction, so that brightest : darkest across the picture's diagonal is
    ``ratio``; the vignette multiplies it by 1 - vignette * r^2 with r = 1 in the corners.

    Args:
        height: pixels.
        width: pixels.
        ratio: 1 is even light.
        direction: degrees, anticlockwise from the right, in which the picture grows brighter.
        vignette: share of light lost in the corners, 0 to 1.
    """
    down, across = np.mgrid[0:height, 0:width].astype(np.float32)
    diagonal = np.float32(np.hypot(height, width))
    x, y = (across - width / 2.0) / diagonal, (down - height / 2.0) / diagonal
    way = x * np.cos(np.radians(direction)) - y * np.sin(np.radians(direction))
    light: NDArray[np.float32] = ratio**way * (1.0 - vignette * 4.0 * (x**2 + y**2))
    return light.astype(np.float32)


def shading(normal: "NDArray[np.float32]") -> "NDArray[np.float32]":
    """Return the light that a matte surface sends back, 1 where it faces up.

    Lambert's law with one lamp to the upper left and even light from all around:
    (ambient + (1 - ambient) max(0, n . l)) / (the same for n = (0, 0, 1)).

    Args:
        normal: unit normals, shape (3, rows, columns).
    """
    lamp = (_LAMP / np.linalg.norm(_LAMP)).astype(np.float32)
    facing = np.clip(np.tensordot(lamp, normal, axes=1), 0.0, None)
    lit: NDArray[np.float32] = (_AMBIENT + (1.0 - _AMBIENT) * facing) / (_AMBIENT + (1.0 - _AMBIENT) * lamp[2])
    return lit.astype(np.float32)
