"""Put a thing somewhere: its place, not its fitness. Given away and lost are places too; found again is a move."""

from dataclasses import dataclass, replace
from datetime import datetime

from tracelabels.custody import Move, PlaceKind
from tracelabels.errors import InputError
from tracelabels.records import Reading
from tracelabels.words import in_words
from tracelabels.workflows.destroy_item import named_thing
from tracelabels.workflows.practice import Practice
from tracelabels.workflows.request_keys import answered


@dataclass(frozen=True, slots=True, kw_only=True)
class MoveOrder:
    """What is put where."""

    items: tuple[str, ...]
    """Serials of bottles, tubes or pouches; lots of consumables as ``kind/lot``."""
    kind: PlaceKind
    """Kind of place."""
    place: str = ""
    """The place's name at the practice, or to whom it was given; may be empty for what is lost or in transit."""
    at: datetime | None = None
    """When; None for now."""


def move_items(practice: Practice, order: MoveOrder, *, by: str, request_key: str | None = None) -> tuple[Move, ...]:
    """Record where things are now, all of them or none.

    Raises:
        InputError: nothing is moved, or no place is named.
        LedgerError: a thing is not on record.
    """
    if not order.items:
        raise InputError(given="a move of nothing", expected="what is moved", remedy="name serials or lots")
    if not order.place.strip() and order.kind not in {PlaceKind.LOST, PlaceKind.IN_TRANSIT}:
        raise InputError(
            given=f"a move to a {in_words(order.kind)} without a name",
            expected="which one, or to whom",
            remedy="name it with --place",
        )
    at = practice.when(order.at)
    with practice.write(by=by, at=at) as ledger:
        items = [named_thing(ledger, text) for text in dict.fromkeys(order.items)]
        moves = tuple(Move(item=item, kind=order.kind, place=order.place.strip(), at=at) for item in items)
        before = answered(ledger, Move, request_key, is_same=lambda one: _is_same(ledger, one, moves))
        if before is not None:
            return tuple(replace(move, at=before.at) for move in moves)
        for place, move in enumerate(moves):
            ledger.record(move, request_key=request_key if place == 0 else None)
    return moves


def _is_same(ledger: Reading, first: Move, moves: tuple[Move, ...]) -> bool:
    """Say whether the first of several moves of one moment is on record, and all that are asked for beside it."""
    asked = [replace(move, at=first.at) for move in moves]
    return first == asked[0] and all(
        any(one.value == move for one in ledger.about(Move, "item", move.item)) for move in asked[1:]
    )
