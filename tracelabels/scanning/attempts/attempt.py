"""What an attempt is: another view of the same pixels."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from tracelabels.scanning.picture import Corners

if TYPE_CHECKING:
    from numpy.typing import NDArray


_AS_IT_IS: Final = np.array([[1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class View:
    """Pixels to be read, and the way back to the picture that they came from."""

    grey: "NDArray[np.uint8]"
    """Grey levels, shape (height, width)."""

    back: "NDArray[np.float64]"
    """Affine map, shape (2, 3), from pixels of this view to pixels of the picture."""

    def in_picture(self, corners: tuple[tuple[float, float], ...]) -> Corners:
        """Return four corners of this view as pixels of the picture."""
        if self.back is _AS_IT_IS:  # most pictures are read as they are: nothing to be reckoned
            a, b, c, d = ((round(x), round(y)) for x, y in corners)
            return a, b, c, d
        points = np.array(corners, dtype=np.float64) @ self.back[:, :2].T + self.back[:, 2]
        a, b, c, d = ((round(x), round(y)) for x, y in points.tolist())
        return a, b, c, d


@dataclass(frozen=True, slots=True, kw_only=True)
class Attempt:
    """One way to look at a picture or at a part of it."""

    name: str
    """What a reading's ``how`` says."""

    see: Callable[[View], View]
    """Makes the view that is read from the one that is given."""

    growth: int = 1
    """How many times as large the view becomes, along each side."""


def whole(grey: "NDArray[np.uint8]") -> View:
    """Return the view that is the picture itself."""
    return View(grey=grey, back=_AS_IT_IS)
