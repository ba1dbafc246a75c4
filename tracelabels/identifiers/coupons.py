"""Checks of North American coupon codes, (8110) and (8112).

Sources: "North American Coupon Application Guideline Using GS1 DataBar Expanded Symbols" for (8110) and "GS1 AI
(8112) Coupon Data Specification", as the GS1 Barcode Syntax Dictionary's checks ``couponcode`` and ``couponposoffer``
sum them up. Each field is read from the left; a digit before a field of variable length gives its length.
"""

import re
from collections.abc import Callable
from typing import Final

from tracelabels.identifiers.character_sets import name_character
from tracelabels.identifiers.dates import find_day_fault
from tracelabels.identifiers.faults import Fault

# The field that a digit announces: how many digits follow for each legal digit.
_PREFIX_6_TO_12: Final = {str(n): n + 6 for n in range(7)}
_VALUE_1_TO_5: Final = {str(n): n for n in range(1, 6)}
_SERIAL_6_TO_15: Final = {str(n): n + 6 for n in range(10)}
_RETAILER_7_TO_13: Final = {str(n): n + 6 for n in range(1, 8)}
_PREFIX_OR_SAME: Final = _PREFIX_6_TO_12 | {"9": 0}

_NOT_A_DIGIT: Final = re.compile("[^0-9]")


class _CouponError(Exception):
    """Carries a fault out of the reader."""

    def __init__(self, fault: Fault) -> None:
        super().__init__(fault.given)
        self.fault = fault


class _Reader:
    """Takes fields off the left of a coupon code."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0

    def take(self, length: int, name: str) -> str:
        """Take so many digits."""
        field = self.text[self.at : self.at + length]
        if len(field) < length:
            raise _CouponError(Fault(given=f"it ends inside the {name}", expected=f"{length} digits of {name}"))
        self.at += length
        return field

    def choose(self, legal: str, name: str) -> str:
        """Take one digit out of a legal set."""
        digit = self.take(1, name)
        if digit not in legal:
            raise _CouponError(Fault(given=f"{name} {digit}", expected=f"one of {', '.join(legal)} as {name}"))
        return digit

    def measured(self, lengths: dict[str, int], name: str) -> str:
        """Take a digit that gives a length, then so many digits."""
        return self.take(lengths[self.choose("".join(lengths), f"length of the {name}")], name)

    def announced(self, digit: str) -> bool:
        """Take the digit that announces an optional field, if it is there."""
        found = self.text[self.at : self.at + 1] == digit
        self.at += found
        return found

    def finish(self) -> None:
        """Refuse what is left over."""
        if self.at < len(self.text):
            left = self.text[self.at :]
            raise _CouponError(Fault(given=f"{left!r} left over at its end", expected="nothing behind the last field"))


def find_coupon_fault(text: str) -> Fault | None:
    """Check the value of (8110).

    >>> find_coupon_fault("012345612345611110123")
    >>> find_coupon_fault("01234561234561111012").given
    'it ends inside the family code'
    """
    return _find_fault(text, _read_coupon)


def find_offer_fault(text: str) -> Fault | None:
    """Check the value of (8112).

    >>> find_offer_fault("001234561234560123456")
    """
    return _find_fault(text, _read_offer)


def _find_fault(text: str, read: Callable[[_Reader], None]) -> Fault | None:
    stray = _NOT_A_DIGIT.search(text)
    if stray is not None:
        return Fault(given=f"{name_character(stray.group())} in a coupon code", expected="digits 0 to 9 only")
    reader = _Reader(text)
    try:
        read(reader)
        reader.finish()
    except _CouponError as error:
        return error.fault
    return None


def _read_coupon(reader: _Reader) -> None:
    reader.measured(_PREFIX_6_TO_12, "company prefix")
    reader.take(6, "offer code")
    reader.measured(_VALUE_1_TO_5, "save value")
    _read_purchase(reader)
    if reader.announced("1"):
        reader.choose("0123", "additional purchase rule")
        _read_purchase(reader)
        reader.measured(_PREFIX_OR_SAME, "company prefix of the second purchase")
    if reader.announced("2"):
        _read_purchase(reader)
        reader.measured(_PREFIX_OR_SAME, "company prefix of the third purchase")
    _read_dates(reader)
    if reader.announced("5"):
        reader.measured(_SERIAL_6_TO_15, "serial number")
    if reader.announced("6"):
        reader.measured(_RETAILER_7_TO_13, "retailer's prefix")
    if reader.announced("9"):
        reader.choose("01256", "save value code")
        reader.choose("012", "item that the save value applies to")
        reader.take(1, "store coupon flag")
        reader.choose("01", "do-not-multiply flag")


def _read_purchase(reader: _Reader) -> None:
    reader.measured(_VALUE_1_TO_5, "purchase requirement")
    reader.choose("012349", "purchase requirement code")
    reader.take(3, "family code")


def _read_dates(reader: _Reader) -> None:
    expiry = _read_date(reader, "expiry date") if reader.announced("3") else None
    start = _read_date(reader, "start date") if reader.announced("4") else None
    if expiry is not None and start is not None and start > expiry:
        raise _CouponError(
            Fault(given=f"expiry {expiry} before start {start}", expected="an expiry on or after the start")
        )


def _read_date(reader: _Reader, name: str) -> str:
    text = reader.take(6, name)
    fault = find_day_fault(text)
    if fault is not None:
        raise _CouponError(Fault(given=f"{name} {text}: {fault.given}", expected=fault.expected))
    return text


def _read_offer(reader: _Reader) -> None:
    reader.choose("01", "coupon format")
    reader.measured(_PREFIX_6_TO_12, "coupon funder")
    reader.take(6, "offer code")
    reader.measured(_SERIAL_6_TO_15, "serial number")
