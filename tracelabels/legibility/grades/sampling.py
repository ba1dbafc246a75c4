"""From a picture to the reflectance of every module, through the aperture of a verifier.

Each module is averaged over a disc of 80 % of X about its middle (GS1 General Specifications 5.12: the aperture is
normally 80 % of the smallest X allowed; here of the symbol's own X).

A picture has no calibrated reflectance. The scale is relative: grey level 0 counts as no light, and the brightest stock
in or beside the symbol as 100 %, unless a scale is given that was taken from a known white and black.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from tracelabels.errors import InputError
from tracelabels.legibility.grades.grid import Grid, levels_at

if TYPE_CHECKING:
    from numpy.typing import NDArray

APERTURE_SHARE: Final = 0.8
"""Diameter of the aperture over X."""

FEWEST_PIXELS: Final = 3.0
"""Pixels a module below which nothing is graded: the aperture would be smaller than the blur of the pixels."""

_MEASURING_ERROR: Final = 0.02
"""Pixels a module by which a measured size may be off."""

_ACROSS: Final = 7
"""Samples across the aperture."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReflectanceScale:
    """Which grey level is which reflectance; a straight line between the two."""

    white: float
    """Grey level of 100 %."""
    black: float = 0.0
    """Grey level of 0 %."""

    def __post_init__(self) -> None:
        """Refuse a scale that is upside down."""
        if not self.white > self.black:
            raise InputError(
                given=f"white {self.white} and black {self.black}",
                expected="a white that is brighter than the black",
                remedy="give the grey levels of a known white and a known black",
            )

    def reflectance(self, levels: "NDArray[np.float64]") -> "NDArray[np.float64]":
        """Return the reflectance, 0 to 1, of grey levels."""
        shares: NDArray[np.float64] = np.clip((levels - self.black) / (self.white - self.black), 0.0, 1.0)
        return shares


def has_enough_pixels(pixels: float) -> bool:
    """Say whether a symbol of so many pixels a module can be graded.

    >>> has_enough_pixels(2.995), has_enough_pixels(2.9)
    (True, False)
    """
    return pixels >= FEWEST_PIXELS - _MEASURING_ERROR


def disc() -> "NDArray[np.float64]":
    """Return places inside the aperture, in modules from its middle, shape (n, 2)."""
    side = (np.arange(_ACROSS) + 0.5) / _ACROSS * APERTURE_SHARE - APERTURE_SHARE / 2.0
    x, y = np.meshgrid(side, side)
    inside = x**2 + y**2 <= (APERTURE_SHARE / 2.0) ** 2
    return np.column_stack([x[inside], y[inside]])


def module_levels(image: "NDArray[np.uint8]", grid: Grid, quiet: int) -> "NDArray[np.float64]":
    """Return the grey level of each module through the aperture.

    Args:
        image: grey picture, shape (height, width).
        grid: the symbol's grid.
        quiet: modules of quiet zone to sample around it.

    Returns:
        Levels 0 to 255, shape (rows + 2 quiet, columns + 2 quiet).
    """
    u, v = np.meshgrid(np.arange(-quiet, grid.columns + quiet) + 0.5, np.arange(-quiet, grid.rows + quiet) + 0.5)
    around = disc()
    places = grid.at(u[..., None] + around[:, 0], v[..., None] + around[:, 1])
    levels: NDArray[np.float64] = levels_at(image, places).mean(axis=-1)
    return levels
