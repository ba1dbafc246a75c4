"""Where a thing is (place) and what became of it (fate): two questions apart from whether it is fit."""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum


class PlaceKind(StrEnum):
    """Kinds of place."""

    SHELF = "shelf"
    ROOM = "room"
    THEATRE = "theatre"
    SITE = "site"
    IN_TRANSIT = "in_transit"
    GIVEN_AWAY = "given_away"
    """Handed to another practice or back to its maker."""
    LOST = "lost"


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where a thing is."""

    kind: PlaceKind
    """Kind of place."""
    name: str = ""
    """Its name at the practice."""


class Happening(StrEnum):
    """What can happen to a tube or pouch, as far as its fate goes."""

    LOADED = "loaded"
    UNLOADED = "unloaded"
    OPENED = "opened"
    USED = "used"
    DESTROYED = "destroyed"
    TRANSFERRED = "transferred"
    RETURNED = "returned"
    LOST = "lost"
    FOUND = "found"


class Fate(StrEnum):
    """What became of a tube or pouch; each is in exactly one."""

    UNPROCESSED = "unprocessed"
    IN_A_LOAD = "in_a_load"
    IN_STOCK = "in_stock"
    OPENED_UNUSED = "opened_unused"
    USED = "used"
    DESTROYED = "destroyed"
    TRANSFERRED = "transferred"
    LOST = "lost"


_BEGINS_AND_ENDS = (
    (Fate.TRANSFERRED, Happening.TRANSFERRED, Happening.RETURNED),
    (Fate.LOST, Happening.LOST, Happening.FOUND),
)

_BY_LAST = {
    Happening.LOADED: Fate.IN_A_LOAD,
    Happening.UNLOADED: Fate.IN_STOCK,
    Happening.OPENED: Fate.OPENED_UNUSED,
}
_GONE = frozenset({Fate.USED, Fate.DESTROYED, Fate.TRANSFERRED, Fate.LOST})


def place_of(moves: Iterable[Place]) -> Place | None:
    """Return where a thing is after its moves, oldest first; None if no move is recorded."""
    last = None
    for move in moves:
        last = move
    return last


def fate_of(happenings: Iterable[Happening], *, begins: Fate = Fate.UNPROCESSED) -> Fate:
    """Return the one fate of a thing from what happened to it, oldest first.

    *Used* outweighs everything (a recall must reach the client, also when the rest was destroyed afterwards), then
    *destroyed*, *transferred* until it comes back, *lost* until it is found; then whichever came last of *opened*
    and the loads (a tube that was packed and loaded again is closed again).

    Args:
        happenings: what happened to it.
        begins: its fate while nothing has happened to it: bottles begin in stock.
    """
    history = tuple(happenings)
    if Happening.USED in history:
        return Fate.USED
    if Happening.DESTROYED in history:
        return Fate.DESTROYED
    for fate, starts, ends in _BEGINS_AND_ENDS:
        if _last_of(history, starts, ends) is starts:
            return fate
    last = _last_of(history, *_BY_LAST)
    return begins if last is None else _BY_LAST[last]


def is_expected(happenings: Iterable[Happening], *, is_bottle: bool = False) -> bool:
    """Say whether a thing should still be found at the practice when stock is counted.

    A bottle is still there after something was taken out of it; a tube or a pouch that was used is not.
    """
    history = tuple(happenings)
    if is_bottle:
        history = tuple(one for one in history if one is not Happening.USED)
    return fate_of(history) not in _GONE


def _last_of(history: tuple[Happening, ...], *which: Happening) -> Happening | None:
    return next((event for event in reversed(history) if event in which), None)
