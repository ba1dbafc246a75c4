"""Glare: the lamp's reflection that washes out a part of the symbol.

Light is added to each pixel: p exp(-ln 2 r^8), where r^2 = (x' / a)^2 + (y' / b)^2 in the ellipse's own axes, and p is
what makes the sensor full. The ellipse r = 1, in which at least half of p is added, has the area pi a b = g A: the
share g of glare, 0 to 1, of the symbol's area A in the picture; its centre lies anywhere in the symbol.
Assumption: one highlight with a soft edge; on a tube three times as long along the axis as across.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Highlight:
    """An ellipse of glare; pixels and degrees."""

    x: float
    """Centre."""
    y: float
    """Centre."""
    area: float
    """Of the ellipse, square pixels."""
    elongation: float
    """Long half axis over short half axis."""
    direction: float
    """Of the long axis, degrees anticlockwise from the right."""


def added(height: int, width: int, highlight: Highlight) -> "NDArray[np.float32]":
    """Return the light that a highlight adds, shape (height, width), 1 where the sensor is filled.

    Args:
        height: of the picture, pixels.
        width: of the picture, pixels.
        highlight: the ellipse; with no area it adds nothing.
    """
    if highlight.area <= 0.0:
        return np.zeros((height, width), dtype=np.float32)
    short = np.sqrt(highlight.area / (np.pi * highlight.elongation))
    down, across = np.ogrid[0:height, 0:width]
    x, y = (across + 0.5 - highlight.x).astype(np.float32), (down + 0.5 - highlight.y).astype(np.float32)
    cosine, sine = np.cos(np.radians(highlight.direction)), np.sin(np.radians(highlight.direction))
    along = (x * np.float32(cosine) - y * np.float32(sine)) / np.float32(short * highlight.elongation)
    aside = (x * np.float32(sine) + y * np.float32(cosine)) / np.float32(short)
    squared = np.minimum(along**2 + aside**2, np.float32(3.0))
    return np.exp(np.float32(-np.log(2.0)) * squared**4)
