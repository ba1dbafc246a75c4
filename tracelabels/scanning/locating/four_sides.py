"""The four bowed sides of a patch: corners first, then how far each side bows between them."""

from itertools import pairwise
from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

_MOST_POINTS: Final = 40
"""Of the hull: all pairs of them are tried."""
_NEAR_CORNERS: Final = 0.1
"""Share of a side at either end that does not count for its bow."""
_FEW: Final = 5
_ROUNDS: Final = 3


def find_corners(hull: "NDArray[np.float64]") -> "NDArray[np.float64] | None":
    """Find the four points of a convex hull, shape (n, 2), that span most; clockwise, None if there are fewer."""
    if len(hull) < 4:  # noqa: PLR2004  four corners
        return None
    if len(hull) > _MOST_POINTS:
        hull = hull[np.linspace(0, len(hull) - 1, _MOST_POINTS).astype(int)]
    apart = hull[np.newaxis] - hull[:, np.newaxis]
    # For the diagonal from i to k: how far each j lies to its side.
    beside = (
        apart[:, :, np.newaxis, 0] * apart[:, np.newaxis, :, 1]
        - apart[:, :, np.newaxis, 1] * apart[:, np.newaxis, :, 0]
    )
    span = beside.max(axis=2) - beside.min(axis=2)
    i, k = divmod(int(span.argmax()), len(hull))
    corners = hull[[i, int(beside[i, k].argmax()), k, int(beside[i, k].argmin())]]
    return clockwise(corners)


def clockwise(corners: "NDArray[np.float64]") -> "NDArray[np.float64]":
    """Return four corners clockwise as seen, y running down."""
    first, second = corners[1] - corners[0], corners[2] - corners[1]
    return corners if first[0] * second[1] - first[1] * second[0] > 0 else corners[::-1]


def straight_nodes(corners: "NDArray[np.float64]") -> "NDArray[np.float64]":
    """Return corners with the middles of straight sides between them, shape (8, 2)."""
    nodes = np.empty((8, 2))
    nodes[::2] = corners
    nodes[1::2] = (corners + np.roll(corners, -1, axis=0)) / 2.0
    return nodes


def bowed_nodes(contour: "NDArray[np.float64]", corners: "NDArray[np.float64]") -> "NDArray[np.float64]":
    """Return corners with the middles of the sides as the contour bows between them, shape (8, 2).

    Args:
        contour: points in order, shape (n, 2).
        corners: clockwise, each near a point of the contour, shape (4, 2).
    """
    nodes = straight_nodes(corners)
    at = [int(np.argmin(((contour - corner) ** 2).sum(axis=1))) for corner in corners]
    count = len(contour)
    forward = sum((after - before) % count for before, after in pairwise([*at, at[0]])) == count
    step = 1 if forward else -1
    for side, (before, after) in enumerate(pairwise([*at, at[0]])):
        between = contour[(before + step * np.arange((after - before) * step % count + 1)) % count]
        nodes[2 * side + 1] += _bow(between, corners[side], corners[(side + 1) % 4])
    return nodes


def _bow(
    points: "NDArray[np.float64]", start: "NDArray[np.float64]", end: "NDArray[np.float64]"
) -> "NDArray[np.float64]":
    """Return how far a side's middle lies from straight: a parabola through both ends, by weights that forgive gaps."""
    side = end - start
    length = max(float(np.hypot(*side)), 1e-6)
    across = np.array([-side[1], side[0]]) / length
    along, off = (points - start) @ side / length**2, (points - start) @ across
    counts = (along > _NEAR_CORNERS) & (along < 1.0 - _NEAR_CORNERS)
    if counts.sum() <= _FEW:
        return np.zeros(2)
    shape = 1.0 - (2.0 * along - 1.0) ** 2
    weight, bow = counts.astype(np.float64), 0.0
    for _ in range(_ROUNDS):
        bow = float((weight * off * shape).sum() / max(float((weight * shape**2).sum()), 1e-6))
        missed = np.abs(off - bow * shape)
        weight = counts / (1.0 + (missed / max(float(np.median(missed[counts])), 0.5)) ** 2)
    return bow * across


def upright_box(contour: "NDArray[np.int32]") -> "NDArray[np.float64]":
    """Return the corners of the smallest turned rectangle around a contour, clockwise, shape (4, 2)."""
    return clockwise(np.asarray(cv2.boxPoints(cv2.minAreaRect(contour)), dtype=np.float64))
