"""One upright grey picture, ready to be read."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

Corners: TypeAlias = tuple[tuple[int, int], tuple[int, int], tuple[int, int], tuple[int, int]]
"""Four corners (x, y) in pixels, clockwise from the symbol's own top left."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Picture:
    """One picture (or one page of a file) as the reader sees it: upright and grey."""

    grey: "NDArray[np.uint8]"
    """Grey levels, shape (height, width), 0 black, 255 white; transparent parts stand on white."""

    name: str
    """The file's name, or what stands for it, for sentences."""

    page: int
    """Page or frame, from 1."""

    reduction: int = 1
    """Pixels of the upright file per pixel of ``grey``, along each side; more than 1 for very big pictures."""
