"""The plain read of one frame within its budget."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

import cv2
import numpy as np

from tracelabels.scanning.attempts import PLAIN, View, whole
from tracelabels.scanning.guards import as_candidate, correction_used_up, find_refusal
from tracelabels.scanning.merging import Found, as_reading, merge, same_place
from tracelabels.scanning.picture import Corners, part_around
from tracelabels.scanning.reading import Reading, ScanMode
from tracelabels.symbols import PRINTED, Symbology, read_symbols

if TYPE_CHECKING:
    from numpy.typing import NDArray

_SECONDS_PER_PIXEL = 3e-8
"""Until the first frame was timed: a photograph of 12 million pixels with 32 labels took 0.34 s."""

_REDUCTIONS = (1, 2, 3, 4)
_MARGIN = 40
"""Pixels around a place that is read alone: a quiet zone, and what a hand moves."""


@dataclass(frozen=True, slots=True, kw_only=True)
class QuickLook:
    """What the plain read of one frame says."""

    sure: tuple[Reading, ...]
    """What one frame is enough for."""

    thin: tuple[Reading, ...]
    """What a second frame must say too."""

    disputed: tuple[Corners, ...]
    """Places that said two things at once."""


class QuickReader:
    """Reads frame after frame, and knows how long the last one took."""

    __slots__ = ("_budget", "_clock", "_seconds_per_pixel", "_today")

    def __init__(self, *, today: date, budget_ms: float, clock: Callable[[], float]) -> None:
        """Prepare.

        Args:
            today: the date that two-digit years are read against.
            budget_ms: milliseconds for one frame.
            clock: seconds from any start.
        """
        self._today = today
        self._budget = budget_ms / 1000.0
        self._clock = clock
        self._seconds_per_pixel = _SECONDS_PER_PIXEL

    def read(self, grey: "NDArray[np.uint8]", places: Iterable[Corners]) -> QuickLook:
        """Read a frame: whole if that fits in the budget, else reduced, and then the known places at full size.

        Args:
            grey: the frame, shape (height, width).
            places: where labels were in the frame before.
        """
        started = self._clock()
        reduction = self._reduction_for(grey.size)
        found = self._found(_reduced(grey, reduction), reduced=reduction > 1)
        self._seconds_per_pixel = (self._clock() - started) * reduction**2 / grey.size
        for place in places if reduction > 1 else ():
            if self._clock() - started >= self._budget:
                break
            if not any(same_place(place, one.corners) for one in found):
                found += self._found(_part(grey, place), reduced=False)
        merged = merge(found, ScanMode.OWN)
        return QuickLook(
            sure=tuple(as_reading(one) for one in merged.agreed if not _is_thin(one)),
            thin=tuple(as_reading(one) for one in merged.agreed if _is_thin(one)),
            disputed=merged.disputed,
        )

    def _reduction_for(self, pixels: int) -> int:
        """Return the least reduction with which a frame is expected to take no longer than the budget."""
        fitting = (by for by in _REDUCTIONS if self._seconds_per_pixel * pixels / by**2 <= self._budget)
        return next(fitting, _REDUCTIONS[-1])

    def _found(self, view: View, *, reduced: bool) -> list[Found]:
        """Read a view; a reduced one is no plain view of the picture, and is guarded as a deeper attempt."""
        candidates = (
            as_candidate(raw, deep=reduced, today=self._today) for raw in read_symbols(view.grey, kinds=PRINTED)
        )
        return [
            Found(candidate=one, corners=view.in_picture(one.raw.corners), how=PLAIN.name)
            for one in candidates
            if find_refusal(one, ScanMode.OWN) is None
        ]


def _is_thin(found: Found) -> bool:
    """Say whether one frame is not enough: nothing of the correction was left over, or bars have one check for all.

    A stream shows the same decoy again and again, so what chance reads once in a hundred pictures it will read.
    """
    return found.candidate.raw.symbology is Symbology.CODE_128 or correction_used_up(found.candidate)


def _reduced(grey: "NDArray[np.uint8]", by: int) -> View:
    if by == 1:
        return whole(grey)
    size = max(1, grey.shape[1] // by), max(1, grey.shape[0] // by)
    smaller = np.asarray(cv2.resize(grey, size, interpolation=cv2.INTER_AREA), dtype=np.uint8)
    back = np.array([[grey.shape[1] / size[0], 0.0, 0.0], [0.0, grey.shape[0] / size[1], 0.0]])
    return View(grey=smaller, back=back)


def _part(grey: "NDArray[np.uint8]", place: Corners) -> View:
    part, (left, top) = part_around(grey, place, margin=_MARGIN)
    if not part.size:
        part = grey[:1, :1]
    return View(grey=part, back=np.array([[1.0, 0.0, left], [0.0, 1.0, top]]))
