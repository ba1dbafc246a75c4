"""How a recall stands: each client's end, stock found against stock expected, and what keeps it open."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from tracelabels.custody.names import Name
from tracelabels.custody.recalls import RecallAction, RecallStep

LEAST_ATTEMPTS: Final = 2
"""A client counts as unreachable after more than one attempt on record (common practice, no source)."""


class ClientEnd(StrEnum):
    """How a client stands in a recall."""

    REACHED = "reached"
    ERASED = "erased"
    """Nobody can be called any more: the personal data was erased; the use stays on record."""
    UNREACHABLE = "unreachable"
    """Given up after dated attempts."""
    ATTEMPTED = "attempted"
    """Tried in vain so far; still open."""
    OPEN = "open"


ENDED: Final = frozenset({ClientEnd.REACHED, ClientEnd.ERASED, ClientEnd.UNREACHABLE})


@dataclass(frozen=True, slots=True, kw_only=True)
class ClientStanding:
    """One client in a recall."""

    client: Name
    """Who."""
    end: ClientEnd
    """How it stands."""
    attempts: int
    """How often somebody tried in vain."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StockCount:
    """Stock found against stock expected."""

    expected: tuple[Name, ...]
    """What should be there."""
    found: tuple[Name, ...]
    """What was found, all counts together."""
    missing: tuple[Name, ...]
    """Expected and not found."""
    extra: tuple[Name, ...]
    """Found and not expected: used, destroyed, given away or lost by the record, or no part of the recall."""


def stand_of(client: Name, actions: Iterable[RecallAction], *, is_erased: bool) -> ClientStanding:
    """Return how a client stands, from what was done."""
    steps = [one.step for one in actions if one.client == client]
    attempts = steps.count(RecallStep.CLIENT_ATTEMPT)
    if RecallStep.CLIENT_REACHED in steps:
        end = ClientEnd.REACHED
    elif is_erased:
        end = ClientEnd.ERASED
    elif RecallStep.CLIENT_UNREACHABLE in steps:
        end = ClientEnd.UNREACHABLE
    else:
        end = ClientEnd.ATTEMPTED if attempts else ClientEnd.OPEN
    return ClientStanding(client=client, end=end, attempts=attempts)


def count_stock(expected: Collection[Name], actions: Iterable[RecallAction]) -> StockCount:
    """Compare what was found with what is expected; what was destroyed in the recall was found, too."""
    counted = {RecallStep.STOCK_FOUND, RecallStep.ITEM_DESTROYED}
    done = [one for one in actions if one.step in counted]
    found = {item for one in done for item in one.items}
    destroyed = {item for one in done if one.step is RecallStep.ITEM_DESTROYED for item in one.items}
    there = set(expected)
    return StockCount(
        expected=tuple(sorted(there)),
        found=tuple(sorted(found)),
        missing=tuple(sorted(there - found)),
        extra=tuple(sorted(found - there - destroyed)),
    )


def reasons_to_stay_open(clients: Sequence[ClientStanding], *, counts_agree: bool) -> tuple[str, ...]:
    """Return everything that keeps a recall open."""
    reasons = [
        f"{one.client}: {'tried in vain so far' if one.end is ClientEnd.ATTEMPTED else 'nobody tried yet'}"
        for one in clients
        if one.end not in ENDED
    ]
    if not counts_agree:
        reasons.append("the two counts of what is reached do not agree: run verify")
    return tuple(reasons)


def reasons_not_to_give_up(client: ClientStanding) -> tuple[str, ...]:
    """Return why a client may not be called unreachable yet."""
    if client.attempts >= LEAST_ATTEMPTS:
        return ()
    return (f"{client.client}: {client.attempts} attempts on record, {LEAST_ATTEMPTS} are needed",)
