"""Check digits and check character pairs of GS1 keys.

Source: GS1 General Specifications, 7.9.1 (digits) and 7.9.5 (pairs of check characters).
"""

from functools import lru_cache
from typing import Final

from tracelabels.errors import IdentifierError
from tracelabels.identifiers.character_sets import CHARACTER_SET_32, CHARACTER_SET_82, DIGITS

_DIGITS: Final = frozenset(DIGITS)
GTIN_LENGTH: Final = 14
_TRADE_ITEM_LENGTHS: Final = (8, 12, 13, 14)
# The first primes, the weights of the characters from the right; 97 suffice for any value an identifier may have.
_PRIMES: Final = tuple(n for n in range(2, 510) if all(n % divisor for divisor in range(2, int(n**0.5) + 1)))
_PAIR_MODULUS: Final = 1021
_PAIR_LENGTH: Final = 2


def mod10_check_digit(body: str) -> str:
    """Return the check digit that belongs behind a body of digits (weights 3, 1, 3 ... from the right).

    Args:
        body: Digits without their check digit.

    >>> mod10_check_digit("629104150021")  # GS1, "How to calculate a check digit manually"
    '3'
    """
    total = 3 * sum(map(int, body[::-2])) + sum(map(int, body[-2::-2]))
    return str(-total % 10)


@lru_cache(maxsize=4096)
def has_valid_check_digit(digits: str) -> bool:
    """Tell whether a text of ASCII digits ends in its own mod 10 check digit.

    >>> has_valid_check_digit("09501101530003"), has_valid_check_digit("09501101530002")
    (True, False)
    """
    return len(digits) > 1 and _DIGITS.issuperset(digits) and mod10_check_digit(digits[:-1]) == digits[-1]


def check_character_pair(body: str) -> str:
    """Return the two check characters that belong behind a body of characters of set 82.

    >>> check_character_pair("1987654Ad4X4bL5ttr2310c")  # GS1 General Specifications, GMN example
    '2K'
    """
    total = sum(
        CHARACTER_SET_82.index(character) * prime for character, prime in zip(reversed(body), _PRIMES, strict=False)
    )
    high, low = divmod(total % _PAIR_MODULUS, 32)
    return CHARACTER_SET_32[high] + CHARACTER_SET_32[low]


def has_valid_pair(text: str) -> bool:
    """Tell whether a text ends in its own two check characters (the text may be nothing but them).

    >>> has_valid_pair("1987654Ad4X4bL5ttr2310c2K"), has_valid_pair("1987654Ad4X4bL5ttr2310cK2")
    (True, False)
    """
    body, pair = text[:-_PAIR_LENGTH], text[-_PAIR_LENGTH:]
    return len(pair) == _PAIR_LENGTH and set(CHARACTER_SET_82).issuperset(body) and check_character_pair(body) == pair


def as_gtin_14(text: str) -> str:
    """Return a GTIN of 8, 12, 13 or 14 digits as 14 digits, with zeros before it.

    Raises:
        IdentifierError: If it has another length, a character that is no digit, or a wrong check digit.

    >>> as_gtin_14("9501101530003")
    '09501101530003'
    """
    if len(text) not in _TRADE_ITEM_LENGTHS or not _DIGITS.issuperset(text):
        raise IdentifierError(
            given=f"GTIN {text[:40]!r}",
            expected="8, 12, 13 or 14 digits",
            remedy="type the number below the bar code of the product, check digit included",
        )
    if not has_valid_check_digit(text):
        raise IdentifierError(
            given=f"GTIN {text!r}",
            expected=f"a check digit of {mod10_check_digit(text[:-1])} after {text[:-1]}",
            remedy="type the number below the bar code of the product again",
        )
    return text.zfill(GTIN_LENGTH)


def is_restricted_circulation(gtin: str) -> bool:
    """Tell whether a GTIN of 14 digits is a number for restricted circulation, which must never stand behind (01).

    GS1 General Specifications R26.0, 1.2.2.2.1: prefixes 02, 04, 20 to 29 and 0000000. The same for numbers of 8 digits
    (first digit 0 or 2) is from memory.

    >>> is_restricted_circulation("02012345678903"), is_restricted_circulation("09501101530003")
    (True, False)
    """
    if gtin.startswith("000000"):
        return gtin[6] in "02" or gtin[1:8] == "0000000"
    prefix = gtin[1:3]
    return prefix in {"02", "04"} or prefix[0] == "2"
