"""Defocus: a bell, the usual stand-in for a small one, or the even disc of a lens that is out of focus."""

from enum import StrEnum
from typing import TYPE_CHECKING

import cv2
import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

_SMALLEST_DISC = 0.6
_PARTS = 9


class Spot(StrEnum):
    """What a point of light becomes."""

    BELL = "bell"
    """A Gaussian."""
    DISC = "disc"
    """Even light on a disc of the same variance in each direction: the radius is twice the standard deviation."""


def defocused(levels: "NDArray[np.float32]", sigma: float) -> "NDArray[np.float32]":
    """Return the picture blurred by a Gaussian point-spread function, the usual stand-in for a small defocus.

    Args:
        levels: shape (height, width, channels).
        sigma: the Gaussian's standard deviation in pixels; 0 leaves the picture as it is.
    """
    if sigma <= 0.0:
        return levels
    return np.asarray(cv2.GaussianBlur(levels, (0, 0), sigma), dtype=np.float32)


def spotted(levels: "NDArray[np.float32]", sigma: float, spot: Spot) -> "NDArray[np.float32]":
    """Return the picture with every point spread to a spot.

    A disc of the radius r has the variance r^2 / 4 in each direction. Its edge is drawn with one ninth of a pixel.

    Args:
        levels: shape (height, width) or (height, width, channels).
        sigma: the spot's standard deviation in each direction, pixels.
        spot: its shape.
    """
    radius = 2.0 * sigma
    if spot is Spot.BELL or radius < _SMALLEST_DISC:
        return defocused(levels, sigma)
    return np.asarray(cv2.filter2D(levels, -1, disc(radius), borderType=cv2.BORDER_REFLECT), dtype=np.float32)


def disc(radius: float) -> "NDArray[np.float32]":
    """Return the weights of an even disc, odd and square, summing to 1; radius in pixels."""
    reach = int(np.ceil(radius))
    side = 2 * reach + 1
    places = (np.arange(side * _PARTS) + 0.5) / _PARTS - side / 2.0
    inside = (places[:, np.newaxis] ** 2 + places**2 <= radius**2).astype(np.float32)
    weights = inside.reshape(side, _PARTS, side, _PARTS).sum(axis=(1, 3))
    return np.asarray(weights / weights.sum(), dtype=np.float32)
