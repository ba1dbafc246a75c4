"""What the ledger refuses, as errors ready to raise."""

from typing import TypeVar

from tracelabels.errors import LedgerError

Found = TypeVar("Found")


def given_reason(reason: str) -> str:
    """Return the reason of a correction.

    Raises:
        LedgerError: it is empty.
    """
    if not reason.strip():
        raise LedgerError(
            given="a correction without a reason",
            expected="the reason in words",
            remedy="say why the record is corrected",
        )
    return reason


def known(found: Found | None, *, what: str, name: str) -> Found:
    """Return what was found.

    Raises:
        LedgerError: nothing was.
    """
    if found is None:
        raise unknown_thing(what=what, name=name)
    return found


def unknown_thing(*, what: str, name: str) -> LedgerError:
    """Return the refusal of a thing that is not on record."""
    return LedgerError(
        given=f"{what} {name}",
        expected=f"{_an(what)} {what} that is recorded in this ledger",
        remedy="check the number, or record it first",
    )


def taken_before(*, what: str, whose: str) -> LedgerError:
    """Return the refusal of a number or name that another thing has."""
    return LedgerError(
        given=what,
        expected="one that is not taken",
        remedy=f"it belongs to {whose}; use another, or correct that record",
    )


def happened_before(*, serial: str, what: str) -> LedgerError:
    """Return the refusal of something that can happen to a bottle only once."""
    return LedgerError(
        given=f"bottle {serial}, which is recorded as {what} already",
        expected=f"a bottle that is not {what}",
        remedy="if the day is wrong, take that fact back with a reason and record it again",
    )


def _an(what: str) -> str:
    return "an" if what[:1] in {"a", "e", "i", "o"} else "a"
