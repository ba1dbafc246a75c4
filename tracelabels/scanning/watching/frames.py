"""One frame with its time, and the last few of them."""

import math
from collections import deque
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from tracelabels.errors import PictureError
from tracelabels.scanning.sharpness import sharpness

if TYPE_CHECKING:
    from numpy.typing import NDArray

_SIDES = 2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Frame:
    """One picture of a stream."""

    grey: "NDArray[np.uint8]"
    """Grey levels, shape (height, width), upright, 0 black."""

    at: float
    """When it was taken, in seconds from any start that all frames of the stream share."""

    def __post_init__(self) -> None:
        """Refuse what is no grey picture, and a time that is none."""
        grey = self.grey
        if grey.ndim != _SIDES or grey.dtype != np.uint8 or not grey.size:
            raise PictureError(
                given=f"a frame of shape {grey.shape} and type {grey.dtype}",
                expected="grey levels of shape (height, width) and type uint8",
                remedy="convert the frame to grey first",
            )
        if not math.isfinite(self.at):
            raise PictureError(
                given=f"a frame taken at {self.at} s", expected="a finite time", remedy="give the time in seconds"
            )


class RecentFrames:
    """The last few frames since they were last used, as copies: a camera may write the next one into the same array."""

    __slots__ = ("_kept",)

    def __init__(self, most: int) -> None:
        """Keep at most so many."""
        self._kept: deque[tuple[float, Frame]] = deque(maxlen=most)

    def __len__(self) -> int:
        """Return how many are kept."""
        return len(self._kept)

    @property
    def oldest_at(self) -> float:
        """Return the time of the oldest, in seconds of the stream; minus infinity if none is kept."""
        return min((frame.at for _, frame in self._kept), default=float("-inf"))

    def keep(self, frame: Frame) -> None:
        """Keep a frame; the oldest makes room."""
        self._kept.append((sharpness(frame.grey), Frame(grey=frame.grey.copy(), at=frame.at)))

    def take_sharpest(self) -> Frame:
        """Return the sharpest, and forget all of them."""
        _, sharpest = max(self._kept, key=lambda kept: kept[0])
        self._kept.clear()
        return sharpest

    def forget(self) -> None:
        """Forget all of them."""
        self._kept.clear()
