"""Defocus: a bell, the usual stand-in for a small one, or the even disc of a lens that is out of focus.

A bell narrower than a pixel must not be sampled at the pixels' middles: one of 0.45 pixels keeps two thirds of its
variance there, and the picture comes out sharper than was asked. A bell of the standard deviation s damps the frequency
w (radians a pixel) by exp(-s^2 w^2 / 2), so below one pixel the weights are taken from that: the mean over 0 <= w <= pi
of exp(-s^2 w^2 / 2) cos(n w) for the pixel n away. They tend to those of no blur as s goes to 0, and from one pixel on
they are the sampled bell's.
"""

from enum import StrEnum
from typing import TYPE_CHECKING

import cv2
import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

_SMALLEST_DISC = 0.6
_NARROW = 1.0
_REACH = 4
_FREQUENCIES = 64
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
    if sigma < _NARROW:
        weights = narrow_bell(sigma)
        return np.asarray(cv2.sepFilter2D(levels, -1, weights, weights), dtype=np.float32)
    return np.asarray(cv2.GaussianBlur(levels, (0, 0), sigma), dtype=np.float32)


def narrow_bell(sigma: float) -> "NDArray[np.float32]":
    """Return the weights along one side of a bell narrower than a pixel, odd, summing to 1; sigma in pixels."""
    frequency = (np.arange(_FREQUENCIES) + 0.5) * np.pi / _FREQUENCIES
    kept = np.exp(-((sigma * frequency) ** 2) / 2.0)
    away = np.abs(np.arange(2 * _REACH + 1) - _REACH)
    weights = np.cos(away[:, np.newaxis] * frequency) @ kept
    weights[[0, -1]] /= 2.0  # the weights alternate far away: half of the last leaves the variance what it is
    return np.asarray(weights / weights.sum(), dtype=np.float32)


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
