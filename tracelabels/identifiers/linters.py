"""Checks of content, each under the name that the GS1 Barcode Syntax Dictionary gives it.

A check takes the text of one component, whose length and characters were checked before, and returns a ``Fault`` or
None.
"""

import re
from collections.abc import Callable, Mapping
from functools import cache
from typing import Final

from tracelabels.identifiers.check_digits import (
    check_character_pair,
    has_valid_check_digit,
    has_valid_pair,
    mod10_check_digit,
)
from tracelabels.identifiers.code_lists import MEDIA_TYPES, CodeList, codes
from tracelabels.identifiers.coupons import find_coupon_fault, find_offer_fault
from tracelabels.identifiers.dates import find_date_fault, find_day_fault, find_full_date_fault
from tracelabels.identifiers.faults import Fault

Check = Callable[[str], Fault | None]

_COMPANY_PREFIX: Final = re.compile("[0-9]{4}")
_GREATEST_LATITUDE: Final = "1800000000"
_GREATEST_LONGITUDE: Final = "3600000000"
_BAD_PERCENT: Final = re.compile("%(?![0-9A-Fa-f]{2})")
_SEQUENCE: Final = re.compile("([1-9][0-9]*)/([1-9][0-9]*)")
_IBAN: Final = re.compile("[A-Z]{2}[0-9A-Z]{9,32}")
_IBAN_REMAINDER: Final = 97


@cache
def checks() -> Mapping[str, Check]:
    """Return every check that the syntax dictionary names, by its name.

    >>> checks()["yesno"]("2").expected
    '0 for no or 1 for yes'
    """
    return _number_checks() | _code_checks()


def _number_checks() -> dict[str, Check]:
    """Return the checks of numbers, dates, times and check characters."""
    return {
        "csum": _check_sum,
        "csumalpha": _check_pair,
        "gcppos1": lambda text: _check_company_prefix(text, 0),
        "gcppos2": lambda text: _check_company_prefix(text, 1),
        "hasnondigit": _check_has_non_digit,
        "hh": lambda text: _check_time(text, "hour", 23),
        "hhmi": lambda text: _check_time(text[:2], "hour", 23) or _check_time(text[2:], "minute", 59),
        "latitude": lambda text: _check_at_most(text, _GREATEST_LATITUDE, "latitude"),
        "longitude": lambda text: _check_at_most(text, _GREATEST_LONGITUDE, "longitude"),
        "mi": lambda text: _check_time(text, "minute", 59),
        "pieceoftotal": _check_piece,
        "posinseqslash": _check_sequence,
        "ss": lambda text: _check_time(text, "second", 59),
        "yymmd0": find_date_fault,
        "yymmdd": find_day_fault,
        "yyyymmdd": find_full_date_fault,
    }


def _code_checks() -> dict[str, Check]:
    """Return the checks of code lists and of forms."""
    digit = "digit"
    return {
        "couponcode": find_coupon_fault,
        "couponposoffer": find_offer_fault,
        "hyphen": lambda text: _check_form(text, "-", "sign", "a hyphen, the minus sign of a temperature"),
        "iban": _check_iban,
        "importeridx": lambda text: _check_form(text, "[0-9A-Za-z_-]", "importer index", "a letter, a digit, - or _"),
        "iso3166": lambda text: _check_listed(
            text, codes(CodeList.COUNTRIES_NUMERIC), "a country code of three digits (ISO 3166-1)"
        ),
        "iso3166999": lambda text: None if text == "999" else checks()["iso3166"](text),
        "iso3166alpha2": lambda text: _check_listed(
            text, codes(CodeList.COUNTRIES_ALPHA_2), "a country code of two letters (ISO 3166-1)"
        ),
        "iso4217": lambda text: _check_listed(
            text, codes(CodeList.CURRENCIES), "a currency code of three digits (ISO 4217)"
        ),
        "iso5218": lambda text: _check_form(text, "[0129]", digit, "0, 1, 2 or 9 (ISO 5218)"),
        "mediatype": lambda text: _check_listed(text, MEDIA_TYPES, "a media type from 01 to 10 or 80 to 99"),
        "nonzero": lambda text: _check_form(text, "0*[1-9][0-9]*", "number", "a number above zero"),
        "nozeroprefix": lambda text: _check_form(text, "0|[1-9][0-9]*", "number", "a number without zeros before it"),
        "packagetype": lambda text: _check_listed(
            text, codes(CodeList.PACKAGE_TYPES), "a package type of UN/ECE Recommendation 21"
        ),
        "pcenc": _check_percent,
        "winding": lambda text: _check_form(text, "[019]", "winding direction", "0, 1 or 9"),
        "yesno": lambda text: _check_form(text, "[01]", digit, "0 for no or 1 for yes"),
        "zero": lambda text: _check_form(text, "0+", digit, "0"),
    }


def _check_sum(text: str) -> Fault | None:
    if has_valid_check_digit(text):
        return None
    return Fault(
        given=f"check digit {text[-1]}", expected=f"the check digit {mod10_check_digit(text[:-1])} after {text[:-1]}"
    )


def _check_pair(text: str) -> Fault | None:
    if has_valid_pair(text):
        return None
    if len(text) <= len("XX"):
        return Fault(given=f"the check characters {text}", expected="a value and two check characters behind it")
    return Fault(
        given=f"check characters {text[-2:]}",
        expected=f"the check characters {check_character_pair(text[:-2])} after {text[:-2]}",
    )


def _check_company_prefix(text: str, start: int) -> Fault | None:
    if _COMPANY_PREFIX.match(text, start):
        return None
    return Fault(
        given=f"{text[start : start + 4]!r} as company prefix", expected="a GS1 company prefix, at least four digits"
    )


def _check_has_non_digit(text: str) -> Fault | None:
    return Fault(given="digits only", expected="at least one character that is no digit") if text.isdigit() else None


def _check_time(text: str, unit: str, greatest: int) -> Fault | None:
    if int(text) <= greatest:
        return None
    article = "an" if unit == "hour" else "a"
    return Fault(given=f"{unit} {text}", expected=f"{article} {unit} from 00 to {greatest}")


def _check_form(text: str, form: str, name: str, expected: str) -> Fault | None:
    return None if re.fullmatch(form, text) else Fault(given=f"{name} {text!r}", expected=expected)


def _check_listed(text: str, codes: frozenset[str], expected: str) -> Fault | None:
    return None if text in codes else Fault(given=f"code {text!r}", expected=expected)


def _check_at_most(text: str, greatest: str, name: str) -> Fault | None:
    return None if text <= greatest else Fault(given=f"{name} {text}", expected=f"a {name} of at most {greatest}")


def _check_percent(text: str) -> Fault | None:
    bad = _BAD_PERCENT.search(text)
    if bad is None:
        return None
    return Fault(
        given=f"{text[bad.start() : bad.start() + 3]!r}", expected="two hexadecimal digits after % (RFC 3986, 2.1)"
    )


def _check_piece(text: str) -> Fault | None:
    half = len(text) // 2
    piece, total = int(text[:half]), int(text[half:])
    if 0 < piece <= total:
        return None
    return Fault(given=f"piece {piece} of {total}", expected="a piece from 1 up to the number of pieces")


def _check_sequence(text: str) -> Fault | None:
    match = _SEQUENCE.fullmatch(text)
    if match is not None and int(match[1]) <= int(match[2]):
        return None
    return Fault(given=f"position {text!r}", expected="a position and its end, such as 1/2, without zeros before them")


def _check_iban(text: str) -> Fault | None:
    if not _IBAN.fullmatch(text):
        return Fault(
            given=f"account number {text!r}", expected="two letters of a country and 9 to 32 capitals and digits"
        )
    if text[:2] not in codes(CodeList.COUNTRIES_ALPHA_2):
        return Fault(given=f"country {text[:2]}", expected="a country code of two letters (ISO 3166-1)")
    # ISO 13616-1: the first four characters go to the end, letters become 10 to 35, and 97 leaves a remainder of 1.
    number = int("".join(str(int(character, 36)) for character in text[4:] + text[:4]))
    if number % _IBAN_REMAINDER == 1:
        return None
    return Fault(
        given=f"check digits {text[2:4]}", expected="check digits that agree with the account number (ISO 13616-1)"
    )
