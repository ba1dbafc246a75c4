"""Patches of a picture that may be symbols: dark marks close together, with stock around them.

The light is made even first: each level is divided by what the stock around it is, a closing that is wider than any
dark mark. It follows the edge of a shadow, and it takes a dark ground for stock, so neither is a mark. Marks are joined
over gaps of several widths, at several sizes of the picture, since nobody knows how large a module is.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

from tracelabels.scanning.averaging import averaged
from tracelabels.scanning.locating.fine_print import fine_print
from tracelabels.scanning.locating.four_sides import bowed_nodes, find_corners, straight_nodes, upright_box
from tracelabels.scanning.picture import Corners

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from numpy.typing import NDArray

_SHRINK: Final = 1.6
"""From one size of the picture to the next."""
_MOST_PIXELS: Final = 1_500_000
"""Larger pictures are looked at from this size on: symbols are found at a module and a half to the pixel."""
_HALVED_ABOVE: Final = 8.0
"""Times the pixels wanted: to halve a picture is cheap, to reduce a large one to any other size is not."""
_LEAST_SIDE: Final = 24
"""Pixels of the shorter side of a picture that is still looked at."""
_BLURS: Final = (0.8, 1.8)
"""Standard deviations in pixels: print without noise, and noise without print."""
_MARK: Final = 17
"""Pixels: wider than any dark mark of a symbol whose modules are two pixels wide (the finder of a QR code is seven)."""
_MARK_OF_SYMBOL: Final = 0.4
"""Of a symbol's side: wider than any dark mark in it (the finder of a QR code takes 7 of 25 modules)."""
_LEAST_MARK_OF_SYMBOL: Final = 7.0
_FAINTEST: Final = 15.0
"""Of 255: how much darker marks are than stock; ink of 0.78 on stock of 0.85 is 20, noise of 4 grey levels about 5."""
_JOINED: Final = (3, 5, 7, 11)
"""Pixels over which marks are joined."""
_CLEANED: Final = 5
"""Pixels: what is thinner is a line or a letter."""
_MOST_PATCHES: Final = 60
"""The longest at each size and gap: a tray has forty labels."""
_LEAST_LENGTH: Final = 40
"""Points of a contour."""
_MOST_FOUND: Final = 400
_SAME_MIDDLE: Final = 0.1
"""Of a side: how far apart the middles of two outlines of one patch are."""
_MOST_TIMES: Final = 6
"""Found more often than this is no surer."""
_FINE: Final = 0.6
"""Of the finest print in the picture: what has less is less likely a symbol; the dark ground beside a tube has none."""
_LEAST_WIDTH: Final = 10.0
_LEAST_AREA: Final = 200.0
_LONGEST: Final = 5.5
"""Longer by shorter side."""
_DARK_SHARE: Final = (0.25, 0.99)
"""Share of marks within a patch."""
_SOLID: Final = 0.72
"""Share of its hull that a patch fills."""
_FULL: Final = 0.7
"""Share of its four-sided outline that a patch fills."""
_NOTCHED: Final = 0.93
"""A patch that fills less of its hull may have lost a corner to glare: the smallest rectangle is tried, too."""
_BOX_SHARE: Final = 0.55
_LESS_SURE: Final = 0.8
_DARKEST_STOCK: Final = 4.0
"""Grey level below which nothing is told from black."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Outline:
    """Four sides that may be bowed."""

    nodes: "NDArray[np.float64]"
    """Corners and middles of sides in pixels of the picture, clockwise, shape (8, 2)."""
    area: float
    """In pixels."""
    likeness: float
    """How much of its hull and of its four sides the patch fills, 0 to 1; more if it was found in several ways."""

    @property
    def corners(self) -> Corners:
        """Return the four corners, clockwise, in pixels of the picture."""
        a, b, c, d = ((round(x), round(y)) for x, y in self.nodes[::2].tolist())
        return a, b, c, d

    @property
    def middle(self) -> "NDArray[np.float64]":
        """Return the mean of the nodes."""
        return np.asarray(self.nodes.mean(axis=0))

    @property
    def side(self) -> float:
        """Return the side of a square of the same area."""
        return float(np.sqrt(self.area))

    def is_like(self, other: "Outline") -> bool:
        """Say whether both have nearly the same sides; their middles are known to be near."""
        if not 0.8 < self.area / other.area < 1.25:  # noqa: PLR2004  a tenth of a side
            return False
        turned = (np.abs(np.roll(self.nodes, 2 * turn, axis=0) - other.nodes).max() for turn in range(4))
        return bool(min(turned) < 0.15 * self.side)


def stock_around(grey: "NDArray[np.float32] | NDArray[np.uint8]", mark: int) -> "NDArray[np.float32]":
    """Return the level of the stock at each pixel, where dark marks are narrower than ``mark`` pixels."""
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (mark | 1, mark | 1))
    stock = cv2.morphologyEx(grey, cv2.MORPH_CLOSE, disc)
    return np.asarray(np.maximum(stock, _DARKEST_STOCK), dtype=np.float32)


def stock_of(calm: "NDArray[np.float32]", side: float) -> "NDArray[np.float32]":
    """Return the level of the stock at each pixel in and around a symbol, evenly.

    Args:
        calm: levels with little noise, shape (height, width).
        side: of the symbol, in pixels; the shorter one if they differ much.
    """
    mark = int(max(_LEAST_MARK_OF_SYMBOL, _MARK_OF_SYMBOL * side))
    return np.asarray(cv2.GaussianBlur(stock_around(calm, mark), (0, 0), 1.0), dtype=np.float32)


def find_outlines(grey: "NDArray[np.uint8]", *, has_time: "Callable[[], bool]" = lambda: True) -> tuple[Outline, ...]:
    """Return the outlines of patches that may be symbols, the likeliest first.

    Args:
        grey: the picture, shape (height, width).
        has_time: whether another look, at another size or through another blur, may begin.
    """
    found = sorted(_at_all_sizes(grey, has_time), key=lambda outline: -outline.likeness)[:_MOST_FOUND]
    middles = np.array([outline.middle for outline in found]).reshape(-1, 2)
    kept: list[int] = []
    times: list[int] = []
    for number, outline in enumerate(found):
        apart = np.hypot(*(middles[kept] - middles[number]).T)
        near = np.flatnonzero(apart <= _SAME_MIDDLE * outline.side)
        at = next((index for index in near.tolist() if outline.is_like(found[kept[index]])), None)
        if at is None:
            kept.append(number)
            times.append(1)
        else:
            times[at] += 1
    if not kept:
        return ()
    surely = np.array([found[at].likeness for at in kept]) * np.minimum(times, _MOST_TIMES) ** 0.5
    fine = fine_print(grey, np.array([found[at].nodes[::2] for at in kept]))
    like = surely * np.minimum(fine / max(_FINE * float(fine.max()), 1.0), 1.0)
    return tuple(found[kept[at]] for at in np.argsort(-like, kind="stable").tolist())


def _at_all_sizes(grey: "NDArray[np.uint8]", has_time: "Callable[[], bool]") -> "Iterator[Outline]":
    share = min(1.0, (_MOST_PIXELS / grey.size) ** 0.5)
    height, width = grey.shape
    seen = grey
    while min(height, width) * share >= _LEAST_SIDE:
        size = (max(1, round(width * share)), max(1, round(height * share)))
        while seen.size > _HALVED_ABOVE * size[0] * size[1]:
            seen = averaged(seen, 2)
        reduced = seen if share == 1.0 else cv2.resize(seen, size, interpolation=cv2.INTER_AREA)
        for blur in _BLURS:
            if not has_time():
                return
            for outline in _of_marks(_marks(np.asarray(reduced, dtype=np.uint8), blur)):
                nodes = (outline.nodes + 0.5) / share
                yield Outline(nodes=nodes, area=outline.area / share**2, likeness=outline.likeness)
        share /= _SHRINK


def _marks(grey: "NDArray[np.uint8]", blur: float) -> "NDArray[np.uint8]":
    calm = np.asarray(cv2.GaussianBlur(grey, (0, 0), blur), dtype=np.uint8)
    levels = np.asarray(255.0 * np.clip(calm / stock_around(calm, _MARK), 0.0, 1.0), dtype=np.uint8)
    marks = np.asarray(cv2.threshold(levels, 0, 1, cv2.THRESH_BINARY_INV + cv2.THRESH_OTSU)[1], dtype=np.uint8)
    if cv2.mean(levels, 1 - marks)[0] - cv2.mean(levels, marks)[0] < _FAINTEST:
        return np.zeros_like(marks)
    return marks


def _of_marks(marks: "NDArray[np.uint8]") -> "Iterator[Outline]":
    """Yield the outlines of marks joined over each gap, in pixel centres of this size."""
    square = np.ones((_CLEANED, _CLEANED), dtype=np.uint8)
    for gap in _JOINED:
        disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (gap, gap))
        patches = cv2.morphologyEx(cv2.morphologyEx(marks, cv2.MORPH_CLOSE, disc), cv2.MORPH_OPEN, square)
        contours = cv2.findContours(patches, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)[0]
        for contour in sorted(contours, key=len, reverse=True)[:_MOST_PATCHES]:
            yield from _of_contour(np.asarray(contour, dtype=np.int32), marks)


def _of_contour(contour: "NDArray[np.int32]", marks: "NDArray[np.uint8]") -> "Iterator[Outline]":
    if len(contour) < _LEAST_LENGTH:
        return
    area = float(cv2.contourArea(contour))
    shorter, longer = sorted(cv2.minAreaRect(contour)[1])
    if shorter < _LEAST_WIDTH or area < _LEAST_AREA or longer > _LONGEST * shorter:
        return
    low, high = _DARK_SHARE
    if not low < _dark_share(contour, marks) < high:
        return
    hull = cv2.convexHull(contour)
    solid = area / max(float(cv2.contourArea(hull)), 1.0)
    corners = find_corners(np.asarray(hull[:, 0], dtype=np.float64)) if solid >= _SOLID else None
    if corners is not None:
        full = area / max(float(cv2.contourArea(corners.astype(np.float32))), 1.0)
        if full >= _FULL:
            nodes = bowed_nodes(np.asarray(contour[:, 0], dtype=np.float64), corners)
            yield Outline(nodes=nodes, area=area, likeness=solid * min(full, 1.0 / full))
    box_share = area / (shorter * longer)
    if solid < _NOTCHED and box_share >= _BOX_SHARE:
        nodes = straight_nodes(upright_box(contour))
        yield Outline(nodes=nodes, area=shorter * longer, likeness=_LESS_SURE * box_share)


def _dark_share(contour: "NDArray[np.int32]", marks: "NDArray[np.uint8]") -> float:
    left, top, width, height = cv2.boundingRect(contour)
    inside = np.zeros((height, width), dtype=np.uint8)
    cv2.drawContours(inside, [contour], -1, 1, -1, offset=(-left, -top))
    return float(marks[top : top + height, left : left + width][inside > 0].mean())
