"""What one frame adds up to."""

from dataclasses import dataclass

from tracelabels.scanning.reading import Reading, UnreadPlace


@dataclass(frozen=True, slots=True, kw_only=True)
class Sighting:
    """A label that was read, and since when it is seen."""

    reading: Reading
    """What it says; its corners are where it was seen last."""

    first_seen: float
    """Time of the first frame that showed it, in seconds of the stream."""

    last_seen: float
    """Time of the last frame in which it was read or still looked the same."""

    last_read: float
    """Time of the last frame in which it was truly read."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Glance:
    """What is known when one frame has been looked at."""

    at: float
    """The frame's time, in seconds of the stream."""

    current: tuple[Sighting, ...]
    """What is read and was seen within the stated times, in reading order."""

    newly_read: tuple[Sighting, ...]
    """Those that were not told before: each label is told once while it stays in sight."""

    gone: tuple[Sighting, ...]
    """Those that were told, and are dropped with this frame."""

    unread: tuple[UnreadPlace, ...]
    """Places that look like a code and are not read, or whose text is in doubt."""

    advice: tuple[str, ...]
    """What the hand can do; empty if everything that looks like a code is read."""

    looked_deeply: bool
    """Whether this frame's turn included deeper attempts."""

    elapsed_ms: float
    """How long it took."""
