"""One upright grey picture, ready to be read."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

Corners: TypeAlias = tuple[tuple[int, int], tuple[int, int], tuple[int, int], tuple[int, int]]
"""Four corners (x, y) in pixels, clockwise from the symbol's own top left."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OtherGrey:
    """The same picture in grey levels that are not its luma."""

    name: str
    """What a reading's ``how`` says: "red channel", "green channel", "blue channel", "on black" if clear."""

    grey: "NDArray[np.uint8]"
    """Grey levels, of the same shape as the picture's."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Picture:
    """One picture (or one page of a file, or one frame of a clip) as the reader sees it: upright and grey."""

    grey: "NDArray[np.uint8]"
    """Grey levels, shape (height, width), 0 black, 255 white; transparent parts stand on white."""

    name: str
    """The file's name, or what stands for it, for sentences."""

    page: int
    """Page or frame, from 1."""

    reduction: int = 1
    """Pixels of the upright file per pixel of ``grey``, along each side; more than 1 for very big pictures."""

    is_frame: bool = False
    """Whether it is one of several looks at the same things: a frame of a clip, whose number is ``page``."""

    other_greys: Callable[[], Iterator[OtherGrey]] | None = None
    """Decodes the file once more and gives greys with markedly more contrast, the best first; None without colours."""


def moved(corners: Corners, right: int, down: int) -> Corners:
    """Return corners of a part of a picture as those of the whole, from where the part begins."""
    a, b, c, d = ((x + right, y + down) for x, y in corners)
    return a, b, c, d


def scaled(corners: Corners, times: int) -> Corners:
    """Return corners of a picture as those of one so many times as large."""
    a, b, c, d = ((x * times, y * times) for x, y in corners)
    return a, b, c, d


def sides(corners: Corners) -> tuple[int, int]:
    """Return width and height of the upright box around corners, in pixels."""
    xs, ys = ([corner[axis] for corner in corners] for axis in (0, 1))
    return max(xs) - min(xs), max(ys) - min(ys)


def part_around(
    grey: "NDArray[np.uint8]", corners: Corners, *, margin: int
) -> tuple["NDArray[np.uint8]", tuple[int, int]]:
    """Return the part of a picture that holds a place with a margin, in pixels, and the part's left and top."""
    width, height = sides(corners)
    x, y = min(x for x, _ in corners), min(y for _, y in corners)
    left, top = max(0, x - margin), max(0, y - margin)
    return grey[top : max(top, y + height + margin), left : max(left, x + width + margin)], (left, top)
