"""What was recorded under a request's key: asked again, a request gives the same answer and writes nothing."""

from collections.abc import Callable
from typing import TypeVar

from tracelabels.errors import InputError
from tracelabels.records import Reading

V = TypeVar("V")


def answered(ledger: Reading, kind: type[V], key: str | None, *, is_same: Callable[[V], bool]) -> V | None:
    """Return what was recorded under a key, as it stands today; None if nothing was, or the request has no key.

    Args:
        ledger: an open unit.
        kind: what the request records.
        key: names the request; None for one that may be made any number of times.
        is_same: says whether what was recorded then is what is asked for now: a key that is used again for another
            client, thing or result must never be told the answer of the first.

    Raises:
        InputError: something else was recorded under it, or what was recorded was taken back.
    """
    at = None if key is None else ledger.find_answered(key)
    if key is None or at is None:
        return None
    recorded = ledger.value_of(kind, at)
    if recorded is None or not is_same(recorded.value):
        raise _taken(key, "something else was recorded")
    today = ledger.value_today(recorded)
    if today is None:
        raise _taken(key, f"fact {at} was recorded and taken back")
    return today.value


def _taken(key: str, by: str) -> InputError:
    """Return the refusal of a request key."""
    return InputError(
        given=f"request {key!r}, under which {by}",
        expected="a key of its own for each request",
        remedy="make a new key",
    )
