"""Places from frame to frame: what is announced, what is in doubt, what is dropped.

A reading belongs to the place that said the same text before, else to the place that it overlaps, else it is a new
one. Another text in a known place ends the old one at once: neither is believed before two frames in a row agree.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from tracelabels.scanning.merging import in_reading_order, middle_of, same_place
from tracelabels.scanning.picture import Corners
from tracelabels.scanning.reading import Reading, UnreadPlace
from tracelabels.scanning.watching.frames import Frame
from tracelabels.scanning.watching.glance import Sighting
from tracelabels.scanning.watching.likeness import Look, find_again, look_at

_IN_DOUBT = "two frames read two different texts here: hold one label still until two frames agree"
_ONCE = "read once, with nothing to spare: hold still until a second frame agrees"
AGREEING = 2
"""Frames that must agree where one is not enough."""


@dataclass(slots=True, kw_only=True)
class _Place:
    """One place, and what it said last."""

    reading: Reading
    look: Look | None
    corners: Corners
    first_seen: float
    last_seen: float
    last_read: float
    agreeing: int
    needed: int
    contradicted: bool = False
    announced: str | None = None

    @property
    def is_believed(self) -> bool:
        return self.agreeing >= self.needed

    def says(self, reading: Reading) -> bool:
        return (self.reading.text, self.reading.symbology_identifier) == (reading.text, reading.symbology_identifier)

    def sighting(self) -> Sighting:
        return Sighting(
            reading=replace(self.reading, corners=self.corners),
            first_seen=self.first_seen,
            last_seen=self.last_seen,
            last_read=self.last_read,
        )


class Following:
    """The places of a stream."""

    __slots__ = ("_places", "_unread_s", "_unseen_s")

    def __init__(self, *, unseen_s: float, unread_s: float) -> None:
        """Begin with nothing.

        Args:
            unseen_s: seconds after which a place that is not seen is dropped.
            unread_s: seconds after which a place that is not read is dropped, whatever it looks like.
        """
        self._unseen_s = unseen_s
        self._unread_s = unread_s
        self._places: list[_Place] = []

    def drop_old(self, now: float) -> tuple[Sighting, ...]:
        """Drop what was not seen, or not read, for too long; return those that had been announced."""
        old = [
            place
            for place in self._places
            if now - place.last_seen > self._unseen_s or now - place.last_read > self._unread_s
        ]
        self._places = [place for place in self._places if place not in old]
        return tuple(place.sighting() for place in old if place.announced is not None)

    def drop_all(self) -> tuple[Sighting, ...]:
        """Drop everything; return what had been announced."""
        gone = tuple(place.sighting() for place in self._places if place.announced is not None)
        self._places = []
        return gone

    def take(self, readings: Sequence[Reading], frame: Frame, *, needed: int = 1) -> None:
        """Take what a frame said; of each of its places once.

        Args:
            readings: with their corners in the frame.
            frame: in which they were read; it may be a little older than what is known.
            needed: frames that must agree on a text before it is believed, in places that are new.
        """
        same = _paired(readings, self._places)
        rest = [place for place in self._places if place not in same.values()]
        for number, reading in enumerate(readings):
            if number in same:
                _confirm(same[number], reading, frame)
                continue
            rival = next((place for place in rest if same_place(place.corners, reading.corners)), None)
            if rival is None:
                self._places.append(_new_place(reading, frame, needed))
            elif rival.last_read <= frame.at:
                rest.remove(rival)
                _contradict(rival, reading, frame)

    def dispute(self, disputed: Iterable[Corners]) -> None:
        """Put in doubt what lies where one frame read two texts at once."""
        for corners in disputed:
            for place in self._places:
                if same_place(place.corners, corners):
                    place.agreeing, place.needed, place.contradicted = 0, AGREEING, True

    def look_again(self, frame: Frame) -> None:
        """Find the places that this frame did not read by what they look like."""
        for place in self._places:
            if place.last_seen < frame.at and place.look is not None:
                found = find_again(place.look, frame.grey, place.corners)
                if found is not None:
                    place.corners, place.last_seen = found, frame.at

    def announce(self) -> tuple[Sighting, ...]:
        """Return what is believed and was not announced before, in reading order."""
        new = [place for place in self._places if place.is_believed and place.announced != place.reading.text]
        for place in new:
            place.announced = place.reading.text
        return _in_order(new)

    @property
    def current(self) -> tuple[Sighting, ...]:
        """Return what is believed and still there, in reading order."""
        return _in_order([place for place in self._places if place.is_believed])

    @property
    def in_doubt(self) -> tuple[UnreadPlace, ...]:
        """Return the places whose text is not believed yet, or not any more."""
        return tuple(
            UnreadPlace(corners=place.corners, reason=_IN_DOUBT if place.contradicted else _ONCE)
            for place in self._places
            if not place.is_believed
        )

    def unread_since(self, *, doubtful: float, believed: float) -> tuple[Corners, ...]:
        """Return where places are that were last read before a time, in seconds of the stream.

        Args:
            doubtful: the time for places whose text is not believed.
            believed: the time for the others.
        """
        return tuple(
            place.corners for place in self._places if place.last_read < (believed if place.is_believed else doubtful)
        )

    @property
    def corners(self) -> tuple[Corners, ...]:
        """Return where all places are, believed or not."""
        return tuple(place.corners for place in self._places)


def _paired(readings: Sequence[Reading], places: Sequence[_Place]) -> dict[int, _Place]:
    """Return for each reading (by its number) the place that said it before, the nearest pairs first."""
    pairs = sorted(
        (math.dist(middle_of(reading.corners), middle_of(place.corners)), number, at)
        for number, reading in enumerate(readings)
        for at, place in enumerate(places)
        if place.says(reading)
    )
    paired: dict[int, _Place] = {}
    for _, number, at in pairs:
        if number not in paired and places[at] not in paired.values():
            paired[number] = places[at]
    return paired


def _new_place(reading: Reading, frame: Frame, needed: int) -> _Place:
    return _Place(
        reading=reading,
        look=look_at(frame.grey, reading.corners),
        corners=reading.corners,
        first_seen=frame.at,
        last_seen=frame.at,
        last_read=frame.at,
        agreeing=1,
        needed=needed,
    )


def _confirm(place: _Place, reading: Reading, frame: Frame) -> None:
    """Take the same text once more; a frame counts once, and an older one moves nothing."""
    if frame.at <= place.last_read:
        return
    place.agreeing += 1
    if place.is_believed:
        place.contradicted = False
    place.reading, place.look, place.last_read = reading, look_at(frame.grey, reading.corners), frame.at
    if frame.at >= place.last_seen:
        place.corners, place.last_seen = reading.corners, frame.at


def _contradict(place: _Place, reading: Reading, frame: Frame) -> None:
    """Take another text: the old one ends here."""
    place.reading, place.look, place.corners = reading, look_at(frame.grey, reading.corners), reading.corners
    place.first_seen = place.last_seen = place.last_read = frame.at
    place.agreeing, place.needed, place.contradicted = 1, AGREEING, True


def _in_order(places: Sequence[_Place]) -> tuple[Sighting, ...]:
    return tuple(places[number].sighting() for number in in_reading_order(place.corners for place in places))
