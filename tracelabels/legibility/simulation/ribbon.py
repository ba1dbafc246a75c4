"""Faults of a thermal-transfer printer: dead dots of the print head, and a wrinkled ribbon.

A dead dot of the head leaves a light line, one dot wide, all along the way that the label is fed; which side of the
label is fed first is drawn at random. Number of dead lines through the symbol: 0 to 20.
A wrinkle of the ribbon leaves a light band of the width w, 0 to 2 mm, slanted by 20 to 70 degrees: all points whose
distance from a line, |(x - a) sin s - (y - b) cos s|, is at most w / 2.
Assumption: nothing at all is transferred there, and the edges are sharp.
"""

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

Box = tuple[int, int, int, int]
"""Left, top, right, bottom in pixels of the picture; right and bottom are the first beyond."""


def with_dead_lines(
    inked: "NDArray[np.bool_]", *, count: int, box: Box, rng: np.random.Generator
) -> "NDArray[np.bool_]":
    """Return the dots with some whole rows or columns through a box left light.

    Args:
        inked: which dots are inked, shape (rows, columns).
        count: how many lines are missing.
        box: the symbol's place.
        rng: where the randomness comes from.
    """
    if count <= 0:
        return inked
    left, top, right, bottom = box
    cut = inked.copy()
    if rng.random() < 0.5:  # noqa: PLR2004  one half
        cut[:, rng.choice(np.arange(left, right), size=min(count, right - left), replace=False)] = False
    else:
        cut[rng.choice(np.arange(top, bottom), size=min(count, bottom - top), replace=False)] = False
    return cut


def with_wrinkle(
    inked: "NDArray[np.bool_]", *, width: float, box: Box, rng: np.random.Generator
) -> "NDArray[np.bool_]":
    """Return the picture with a slanted light band through a random point of a box.

    Args:
        inked: which pixels are inked, shape (rows, columns).
        width: of the band, pixels; 0 leaves the picture as it is.
        box: the symbol's place.
        rng: where the randomness comes from.
    """
    if width <= 0.0:
        return inked
    left, top, right, bottom = box
    x, y = rng.uniform(left, right), rng.uniform(top, bottom)
    slant = np.radians(rng.uniform(20.0, 70.0)) * rng.choice([-1.0, 1.0])
    down, across = np.ogrid[0 : inked.shape[0], 0 : inked.shape[1]]
    apart = np.abs((across + 0.5 - x) * np.sin(slant) - (down + 0.5 - y) * np.cos(slant))
    band: NDArray[np.bool_] = inked & (apart > width / 2.0)
    return band
