"""Margins as rows on a common scale: 0 is the usual value, 1 the envelope's limit, beyond it is room."""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from tracelabels.legibility.margins import Margin

FURTHEST: Final = 4.0
"""Where the scale ends; what reads further is drawn to the end."""
NARROW: Final = 0.25
"""Less room than this beyond the limit is drawn as narrow (common practice, no source)."""


class Room(StrEnum):
    """How much room a factor leaves beyond the envelope."""

    INSIDE = "inside"
    """None: it fails inside the envelope."""
    NARROW = "narrow"
    """It fails soon after the limit."""
    ENOUGH = "enough"
    """It fails well beyond the limit."""
    OPEN = "open"
    """Its whole range reads."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MarginRow:
    """One factor's bar."""

    title: str
    """The factor in words."""
    words: str
    """Its numbers."""
    reach: float
    """How far it reads on the common scale, 0 to :data:`FURTHEST`."""
    room: Room
    """How much room is left beyond the envelope."""


def margin_rows(margins: Iterable[Margin]) -> tuple[MarginRow, ...]:
    """Return the rows, the narrowest first."""
    ordered = sorted(margins, key=lambda margin: (margin.room is None, margin.room or 0.0))
    return tuple(_row(margin) for margin in ordered)


def _row(margin: Margin) -> MarginRow:
    room = margin.room
    unit = f" {margin.unit}" if margin.unit else ""
    ends = "whole range reads" if margin.fails_at is None else f"fails at {margin.fails_at:.3g}{unit}"
    return MarginRow(
        title=margin.title,
        words=f"usual {margin.nominal:.3g}, limit {margin.limit:.3g}, {ends}",
        reach=FURTHEST if room is None else min(max(1.0 + room, 0.0), FURTHEST),
        room=_room(room),
    )


def _room(room: float | None) -> Room:
    if room is None:
        return Room.OPEN
    if room < 0.0:
        return Room.INSIDE
    return Room.NARROW if room < NARROW else Room.ENOUGH
