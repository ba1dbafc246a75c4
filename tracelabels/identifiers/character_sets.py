"""The character sets that GS1 values may use, and a precise complaint about a character outside them.

Source: GS1 General Specifications R26.0, tables 7-20 and following (figure 7.11-1 in R25), as the GS1 Barcode Syntax
Dictionary names them.
"""

import re
from enum import StrEnum
from typing import Final

DIGITS: Final = "0123456789"
UPPER: Final = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
LOWER: Final = "abcdefghijklmnopqrstuvwxyz"
CHARACTER_SET_82: Final = "!\"%&'()*+,-./" + DIGITS + ":;<=>?" + UPPER + "_" + LOWER
"""In the order of their weights; a space is not among them, lower case is."""
CHARACTER_SET_39: Final = "#-/" + DIGITS + UPPER
CHARACTER_SET_64: Final = UPPER + LOWER + DIGITS + "-_"
CHARACTER_SET_32: Final = "23456789ABCDEFGHJKLMNPQRSTUVWXYZ"
"""Of check character pairs, in the order of their weights."""


class CharacterSet(StrEnum):
    """A set by the letter that the syntax dictionary gives it."""

    NUMERIC = "N"
    SET_82 = "X"
    SET_39 = "Y"
    SET_64 = "Z"


NAMES: Final = {
    CharacterSet.NUMERIC: "digits 0 to 9 only",
    CharacterSet.SET_82: (
        "only characters of GS1's set 82 (letters A-Z and a-z, digits, and ! \" % & ' ( ) * + , - . / : ; < = > ? _)"
    ),
    CharacterSet.SET_39: "only characters of GS1's set 39 (letters A-Z, digits, and # - /)",
    CharacterSet.SET_64: "only characters of GS1's set 64 (letters, digits, - and _, with = at the end)",
}

_OUTSIDE: Final = {
    CharacterSet.NUMERIC: re.compile("[^0-9]"),
    CharacterSet.SET_82: re.compile("[^" + re.escape(CHARACTER_SET_82) + "]"),
    CharacterSet.SET_39: re.compile("[^" + re.escape(CHARACTER_SET_39) + "]"),
    CharacterSet.SET_64: re.compile("[^" + re.escape(CHARACTER_SET_64) + "=]"),
}


def find_stray(text: str, allowed: CharacterSet) -> int | None:
    """Return the index of the first character that the set lacks, or None if there is none.

    >>> find_stray("AB 12", CharacterSet.SET_82)
    2
    """
    stray = _OUTSIDE[allowed].search(text)
    return None if stray is None else stray.start()


def name_character(character: str) -> str:
    """Name a character so that a reader can find it even when it does not show.

    >>> name_character("~"), name_character(" "), name_character(chr(29))
    ("'~'", 'a space', 'the control character U+001D')
    """
    if character == " ":
        return "a space"
    if character.isprintable():
        return f"'{character}'"
    kind = "control" if ord(character) < ord(" ") else "unprintable"
    return f"the {kind} character U+{ord(character):04X}"
