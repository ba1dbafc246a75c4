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
