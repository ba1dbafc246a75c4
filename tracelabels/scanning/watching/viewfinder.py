"""The order of steps for each frame of a stream."""

import time
from collections.abc import Callable
from datetime import date

from tracelabels.errors import PictureError
from tracelabels.scanning.attempts import PLAIN
from tracelabels.scanning.merging import same_place
from tracelabels.scanning.picture import Corners
from tracelabels.scanning.reading import UnreadPlace
from tracelabels.scanning.watching.deep_look import DeepLook, DeepReader
from tracelabels.scanning.watching.following import AGREEING, Following
from tracelabels.scanning.watching.frames import Frame, RecentFrames
from tracelabels.scanning.watching.glance import Glance, Sighting
from tracelabels.scanning.watching.pace import Pace
from tracelabels.scanning.watching.quick_look import QuickReader

DEFAULT_PACE = Pace()
_REST = 4.0
"""A deeper look is followed by so many times its own time without one."""


class Viewfinder:
    """Own labels in a stream of frames, read with the guards of a scan.

    No text is current for longer than ``pace.unread_s`` after a frame in which it was truly read, nor for longer than
    ``pace.unseen_s`` after its place last looked as it did then; another text in its place ends it at once.
    """

    __slots__ = (
        "_clock",
        "_deep",
        "_last_at",
        "_left_open",
        "_next_look",
        "_next_search",
        "_pace",
        "_places",
        "_quick",
        "_recent",
        "_shape",
    )

    def __init__(
        self, *, today: date, pace: Pace = DEFAULT_PACE, clock: Callable[[], float] = time.perf_counter
    ) -> None:
        """Begin with nothing seen.

        Args:
            today: the date that two-digit years are read against.
            pace: how often and how long to look.
            clock: seconds from any start, for the budgets alone; an argument so that a test can set it.
        """
        self._pace = pace
        self._clock = clock
        self._quick = QuickReader(today=today, budget_ms=pace.plain_budget_ms, clock=clock)
        self._deep = DeepReader(today=today, budget_ms=pace.deep_budget_ms, clock=clock)
        self._places = Following(unseen_s=pace.unseen_s, unread_s=pace.unread_s)
        self._recent = RecentFrames(pace.patience)
        self._left_open = DeepLook()
        self._next_look = self._next_search = self._last_at = float("-inf")
        self._shape: tuple[int, ...] = ()

    def look(self, frame: Frame) -> Glance:
        """Look at the next frame.

        A frame of another size than the one before (the device was turned) begins anew.

        Raises:
            PictureError: the frame is older than the one before.
        """
        started = self._clock()
        gone = self._begin(frame)
        quick = self._quick.read(frame.grey, self._places.corners)
        self._places.take(quick.sure, frame)
        self._places.take(quick.thin, frame, needed=AGREEING)
        self._places.dispute(quick.disputed)
        self._recent.keep(frame)
        is_due = self._is_deep_look_due(frame.at)
        if is_due:
            self._look_deeply(frame.at)
        self._places.look_again(frame)
        unread = self._unread()
        newly_read, current = self._places.announce(), self._places.current
        return Glance(
            at=frame.at,
            current=current,
            newly_read=newly_read,
            gone=gone,
            unread=unread,
            advice=tuple(dict.fromkeys(place.reason for place in unread))
            or (() if current else self._left_open.advice),
            looked_deeply=is_due,
            elapsed_ms=(self._clock() - started) * 1000.0,
        )

    def _begin(self, frame: Frame) -> tuple[Sighting, ...]:
        """Drop what this frame ends by its time or its size; return what had been announced of it."""
        if frame.at < self._last_at:
            raise PictureError(
                given=f"a frame of {frame.at:.3f} s after one of {self._last_at:.3f} s",
                expected="frames in the order in which they were taken",
                remedy="leave out frames that come late",
            )
        is_same_size = self._shape in {frame.grey.shape, ()}
        self._last_at, self._shape = frame.at, frame.grey.shape
        if is_same_size:
            return self._places.drop_old(frame.at)
        self._recent.forget()
        self._left_open = DeepLook()
        return self._places.drop_all()

    def _is_deep_look_due(self, at: float) -> bool:
        """Say whether plain reads left something open for long enough, or nobody searched for more for a while."""
        if len(self._recent) < self._pace.patience or at < self._next_look:
            return False
        is_open = not self._places.current or bool(self._places_to_read_again(at)) or bool(self._still_unread())
        return is_open or at >= self._next_search

    def _look_deeply(self, at: float) -> None:
        """Look at the sharpest of the last frames for what is left open."""
        started = self._clock()
        again = self._places_to_read_again(at) if self._places.current else ()
        sharpest = self._recent.take_sharpest()
        known = tuple(one.reading.corners for one in self._places.current if one.reading.corners not in again)
        self._left_open = self._deep.read(sharpest, known=known, again=again)
        # What a plain view of this frame says was heard before; of a part of it alone it needs a second frame.
        deep = [one for one in self._left_open.readings if one.how != PLAIN.name]
        self._places.take(deep, sharpest)
        plain = [one for one in self._left_open.readings if one.how == PLAIN.name]
        self._places.take(plain, sharpest, needed=AGREEING)
        rest = _REST * (self._clock() - started)
        self._next_look = at + max(self._pace.pause_s, rest)
        self._next_search = at + max(self._pace.settled_s, rest)

    def _places_to_read_again(self, at: float) -> tuple[Corners, ...]:
        """Return places in doubt, and those that were only recognised by their looks for half of the allowed time."""
        return self._places.unread_since(doubtful=self._recent.oldest_at, believed=at - self._pace.unread_s / 2.0)

    def _still_unread(self) -> tuple[UnreadPlace, ...]:
        """Return what the last deeper look left unread and nothing has read since."""
        places = self._places.corners
        return tuple(
            one for one in self._left_open.unread if not any(same_place(one.corners, place) for place in places)
        )

    def _unread(self) -> tuple[UnreadPlace, ...]:
        return (*self._places.in_doubt, *self._still_unread())
