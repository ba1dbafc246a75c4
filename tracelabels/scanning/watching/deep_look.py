"""The deeper attempts on one frame: all of it while nothing is read, else only what is left open."""

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date

from tracelabels.scanning.merging import same_place
from tracelabels.scanning.picture import Corners, Picture, moved, part_around
from tracelabels.scanning.reading import Reading, Scan, UnreadPlace
from tracelabels.scanning.scan import scan_picture
from tracelabels.scanning.watching.frames import Frame
from tracelabels.scanning.watching.whole_frame import find_whole_frame_advice

_MARGIN = 0.5
"""Of a place's longer side, around it: the frame may be a little older than the place."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DeepLook:
    """What the deeper attempts on one frame say."""

    readings: tuple[Reading, ...] = ()
    """What was read, with the guards of a scan."""

    unread: tuple[UnreadPlace, ...] = ()
    """What looks like a code and was not read."""

    advice: tuple[str, ...] = ()
    """What to do."""


class DeepReader:
    """Scans a frame, or parts of it."""

    __slots__ = ("_budget_ms", "_clock", "_today")

    def __init__(self, *, today: date, budget_ms: float, clock: Callable[[], float]) -> None:
        """Prepare.

        Args:
            today: the date that two-digit years are read against.
            budget_ms: milliseconds after which no further attempt at a frame starts.
            clock: seconds from any start.
        """
        self._today = today
        self._budget_ms = budget_ms
        self._clock = clock

    def read(self, frame: Frame, *, known: Sequence[Corners], again: Sequence[Corners]) -> DeepLook:
        """Read what plain reads left open.

        Args:
            frame: the sharpest of the last few.
            known: places that are read and still there: they are not read again.
            again: places that are to be read, whether they look like a code or not.
        """
        if not known and not again:
            scan = self._scan(frame, self._budget_ms)
            whole = None if scan.readings or scan.unread else find_whole_frame_advice(frame.grey)
            advice = scan.advice if whole is None else (whole,)
            return DeepLook(readings=scan.readings, unread=scan.unread, advice=advice)
        deadline = self._clock() + self._budget_ms / 1000.0
        survey = self._scan(frame, 0.0)
        left = [one for one in survey.unread if not _is_among(one.corners, (*known, *again))]
        readings = list(survey.readings)
        for corners in (*again, *(one.corners for one in left)):
            remaining_ms = (deadline - self._clock()) * 1000.0
            if remaining_ms > 0.0 and not _is_among(corners, (one.corners for one in readings)):
                readings += self._read_part(frame, corners, remaining_ms)
        unread = tuple(one for one in left if not _is_among(one.corners, (reading.corners for reading in readings)))
        return DeepLook(
            readings=tuple(readings), unread=unread, advice=tuple(dict.fromkeys(one.reason for one in unread))
        )

    def _scan(self, frame: Frame, budget_ms: float) -> Scan:
        picture = Picture(grey=frame.grey, name="frame", page=1)
        return scan_picture(picture, today=self._today, budget_ms=budget_ms, clock=self._clock)

    def _read_part(self, frame: Frame, corners: Corners, budget_ms: float) -> list[Reading]:
        """Scan a place with its surroundings alone, and say where in the frame its readings lie."""
        longest = max(math.dist(corners[0], corners[1]), math.dist(corners[1], corners[2]))
        part, (left, top) = part_around(frame.grey, corners, margin=round(_MARGIN * longest))
        if not part.size:
            return []
        scan = self._scan(Frame(grey=part, at=frame.at), budget_ms)
        return [replace(one, corners=moved(one.corners, left, top)) for one in scan.readings]


def _is_among(corners: Corners, others: Iterable[Corners]) -> bool:
    return any(same_place(corners, other) for other in others)
