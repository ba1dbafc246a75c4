"""A map from modules to pixels, and points of modules.

Module coordinates run right and down from the symbol's outer top left corner: the middle of the first module is
(0.5, 0.5). Pixel coordinates likewise: the middle of the first pixel is (0.5, 0.5).
"""

from typing import TYPE_CHECKING, TypeAlias

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

ModuleMap: TypeAlias = "Callable[[NDArray[np.float64]], NDArray[np.float64]]"
"""From modules (right, down) to pixels (x, y), both of shape (n, 2); any smooth map: plane, tube or another."""

RING = 1
"""Modules of quiet zone around the symbol that are looked at, too."""


def module_points(rows: int, columns: int, offsets: "NDArray[np.float64]") -> "NDArray[np.float64]":
    """Return points in every module and in the ring around, shape (rows + 2, columns + 2, offsets, 2).

    Args:
        rows: of the symbol, without quiet zone.
        columns: likewise.
        offsets: (right, down) from a module's middle, in modules, shape (n, 2).
    """
    down, right = np.mgrid[-RING : rows + RING, -RING : columns + RING] + 0.5
    middles = np.stack([right, down], axis=-1)
    return np.asarray(middles[:, :, np.newaxis, :] + offsets, dtype=np.float64)


def pixels_per_module(rows: int, columns: int, place: ModuleMap) -> float:
    """Return the side, in pixels, of a square with the area that a module in the symbol's middle has."""
    middle = np.array([columns / 2.0, rows / 2.0])
    here, right, down = place(middle + np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]))
    across, along = right - here, down - here
    return float(np.sqrt(abs(across[0] * along[1] - across[1] * along[0])))
