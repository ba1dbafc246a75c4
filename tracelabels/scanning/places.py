"""Where a picture looks like a code: patches that are full of edges, turned upright.

Cells full of edges make a patch if they are at least three wide both ways: outlines of labels and lines of small text
are thinner. The same is done at half and at a quarter of the size, where coarse or blurred codes have the edges that
they lack at full size.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

from tracelabels.scanning.attempts import View
from tracelabels.scanning.edge_cells import full_cells
from tracelabels.scanning.picture import Corners

if TYPE_CHECKING:
    from numpy.typing import NDArray

_CELL = 8
"""Pixels per cell of the map of edges: a code of 30 pixels is still more than 3 cells wide."""

_LEAST_CELLS = 3
"""The shorter side of the smallest patch, in cells."""

_LEVELS = (1, 2, 4)
"""By how much the picture is reduced."""

_MOST_PLACES = 300
"""At each level, the largest: a tray of forty labels has 160 at most, a page of text in 12 megapixels has thousands."""

_LARGEST_SHARE = 0.9
"""A patch that fills more of the picture than this has no surroundings, and the whole picture was read already."""

_SHARE = 0.2
"""Of the edges in the picture's fullest cell, that print has."""

_NEAR = 4.0
"""Middles closer than the longer side by this are of one patch, if"""

_ALIKE = 1.8
"""their areas differ by less than this factor."""

_MARGIN = 0.18
"""Of the longer side, added around a patch: quiet zone, and a rectangle that is a little too small."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A patch of the picture that may be a code."""

    centre: tuple[float, float]
    """(x, y) in pixels."""

    size: tuple[float, float]
    """Width and height in pixels along the patch's own axes."""

    fill: float
    """Share of that rectangle that is full of edges, 0 to 1."""

    angle: float
    """Degrees clockwise by which the patch's own axes are turned against the picture's, -45 to 45."""

    @property
    def corners(self) -> Corners:
        """The patch's four corners, clockwise from its top left."""
        half = np.array(self.size) / 2.0
        signs = np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)], dtype=np.float64)
        points = signs * half @ _rotation(self.angle).T + np.array(self.centre)
        a, b, c, d = ((round(x), round(y)) for x, y in points.tolist())
        return a, b, c, d

    def is_like(self, other: "Place") -> bool:
        """Say whether another patch covers nearly the same pixels."""
        if math.dist(self.centre, other.centre) >= max(other.size) / _NEAR:
            return False
        return 1.0 / _ALIKE < (self.size[0] * self.size[1]) / (other.size[0] * other.size[1]) < _ALIKE

    @property
    def margin(self) -> float:
        """Pixels around the patch that are read with it."""
        return _MARGIN * max(self.size) + 4.0

    def part(self, box: tuple[float, float, float, float]) -> "Place":
        """Return a part of the patch as a patch of its own.

        Args:
            box: left, top, right and bottom in pixels of the patch turned upright.
        """
        left, top, right, bottom = box
        offset = np.array([(left + right) / 2.0, (top + bottom) / 2.0]) - np.array(self.size) / 2.0
        x, y = (np.array(self.centre) + _rotation(self.angle) @ offset).tolist()
        return Place(centre=(x, y), size=(right - left, bottom - top), fill=1.0, angle=self.angle)

    def upright(self, grey: "NDArray[np.uint8]", *, margin: float) -> View:
        """Return the patch with a margin around it, turned so that its edges stand upright."""
        width, height = (int(np.ceil(side + 2.0 * margin)) for side in self.size)
        turned = _rotation(self.angle)
        corner = np.array(self.centre) - turned @ np.array([width / 2.0, height / 2.0])
        back = np.column_stack([turned, corner])
        # Between pixel centres the same map is off by half a pixel, turned.
        centres = back.copy()
        centres[:, 2] += turned @ np.array([0.5, 0.5]) - 0.5
        view = cv2.warpAffine(
            grey,
            centres,
            (width, height),
            flags=cv2.INTER_CUBIC | cv2.WARP_INVERSE_MAP,
            borderMode=cv2.BORDER_REPLICATE,
        )
        return View(grey=np.asarray(view, dtype=np.uint8), back=back)


def _rotation(degrees: float) -> "NDArray[np.float64]":
    sine, cosine = np.sin(np.radians(degrees)), np.cos(np.radians(degrees))
    return np.array([[cosine, -sine], [sine, cosine]])


def find_places(grey: "NDArray[np.uint8]", *, skip: Callable[[tuple[float, float]], bool]) -> tuple[Place, ...]:
    """Return the patches that may be codes, the finest first.

    Args:
        grey: the picture, shape (height, width).
        skip: whether a patch with its middle here, in pixels (x, y), is not wanted.
    """
    places: list[Place] = []
    for level in _LEVELS:
        if min(grey.shape) < level * _CELL * (_LEAST_CELLS + 1):
            break
        for place in _places_at(grey, level, skip):
            if not any(place.is_like(other) for other in places):
                places.append(place)
    return tuple(places)


def _places_at(grey: "NDArray[np.uint8]", level: int, skip: Callable[[tuple[float, float]], bool]) -> list[Place]:
    """Return the patches at one level, measured in pixels of the picture itself."""
    size = (grey.shape[1] // level, grey.shape[0] // level)
    reduced = grey if level == 1 else np.asarray(cv2.resize(grey, size, interpolation=cv2.INTER_AREA), dtype=np.uint8)
    mask = full_cells(reduced, _CELL, share=_SHARE)
    square = np.ones((_LEAST_CELLS, _LEAST_CELLS), dtype=np.uint8)
    mask = np.asarray(cv2.morphologyEx(mask, cv2.MORPH_OPEN, square), dtype=np.uint8)
    _, labels, stats = cv2.connectedComponentsWithStats(mask, connectivity=4)[:3]
    largest = np.sort(np.argsort(-stats[1:, cv2.CC_STAT_AREA], kind="stable")[:_MOST_PLACES] + 1)
    return [
        _place(reduced, labels[top : top + height, left : left + width] == number, (left, top), level)
        for number, (left, top, width, height) in zip(largest, stats[largest, :4].tolist(), strict=True)
        if width * height < _LARGEST_SHARE * mask.size
        and not skip(((left + width / 2) * _CELL * level, (top + height / 2) * _CELL * level))
    ]


def _place(grey: "NDArray[np.uint8]", cells: "NDArray[np.bool_]", corner: tuple[int, int], level: int) -> Place:
    """Fit a rectangle, turned as the edges are, to the cells of one patch of a picture reduced by ``level``."""
    left, top = corner[0] * _CELL, corner[1] * _CELL
    rows, columns = np.nonzero(cells)
    patch = grey[top : top + cells.shape[0] * _CELL, left : left + cells.shape[1] * _CELL]
    angle = _main_angle(patch)
    points = np.column_stack([columns, rows]).astype(np.float64) * _CELL + _CELL / 2.0
    own = points @ _rotation(angle)  # row vectors: this turns back
    low, high = own.min(axis=0) - _CELL / 2.0, own.max(axis=0) + _CELL / 2.0
    centre = _rotation(angle) @ ((low + high) / 2.0) + np.array([left, top])
    size = high - low
    return Place(
        centre=(float(centre[0]) * level, float(centre[1]) * level),
        size=(float(size[0]) * level, float(size[1]) * level),
        fill=float(len(rows) * _CELL**2 / (size[0] * size[1])),
        angle=angle,
    )


def _main_angle(patch: "NDArray[np.uint8]") -> float:
    """Return by how much a patch's edges are turned from upright and level, -45 to 45 degrees.

    The mean of exp(4 i angle) over all pixels, weighted by the squared edge strength: edges a quarter turn apart agree.
    """
    smooth = cv2.GaussianBlur(patch, (0, 0), 1.0)
    across = np.asarray(cv2.Scharr(smooth, cv2.CV_32F, 1, 0), dtype=np.float32)
    down = np.asarray(cv2.Scharr(smooth, cv2.CV_32F, 0, 1), dtype=np.float32)
    quarter = (across + 1j * down) ** 2
    strength = np.abs(quarter)
    fourth = np.sum(quarter**2 / np.maximum(strength, 1.0))
    return float(np.degrees(np.angle(fourth)) / 4.0)
