"""The level of each module: the mean over its core."""

from typing import TYPE_CHECKING

import cv2
import numpy as np

from tracelabels.scanning.sampling.geometry import ModuleMap, module_points

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tracelabels.scanning.sampling.sharpening import Patch

_POINTS = 4


def core_pixels(
    patch: "Patch", rows: int, columns: int, place: ModuleMap, *, core: float
) -> "tuple[NDArray[np.float32], NDArray[np.float32]]":
    """Return where in the patch (x, y) the points of each module's core lie, shape ((rows + 2) (columns + 2), points).

    Args:
        patch: the part of the picture.
        rows: of the symbol.
        columns: of the symbol.
        place: from modules to pixels of the picture.
        core: side of the part that is looked at, in modules.
    """
    steps = ((np.arange(_POINTS) + 0.5) / _POINTS - 0.5) * core
    offsets = np.stack(np.meshgrid(steps, steps), axis=-1).reshape(-1, 2)
    points = module_points(rows, columns, offsets)
    pixels = place(points.reshape(-1, 2)) - np.array([patch.left + 0.5, patch.top + 0.5])
    x, y = pixels.T.reshape(2, -1, len(offsets)).astype(np.float32)
    return x, y


def module_levels(
    grey: "NDArray[np.float32]", pixels: "tuple[NDArray[np.float32], NDArray[np.float32]]", rows: int, columns: int
) -> "NDArray[np.float64]":
    """Return the mean level of each module and of the ring around, shape (rows + 2, columns + 2)."""
    seen = cv2.remap(grey, *pixels, cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(seen.mean(axis=1), dtype=np.float64).reshape(rows + 2, columns + 2)
