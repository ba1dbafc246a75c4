"""Code lists that some GS1 values are drawn from, kept in ``code_lists.tsv`` beside this module.

Countries: ISO 3166-1. Currencies: ISO 4217. Package types: UN/ECE Recommendation 21 with GS1's own additions. Media
types: GS1 General Specifications, table "AIDC media type values". All as the checks that go with the GS1 Barcode
Syntax Dictionary (Apache License 2.0) listed them in 2025. The file is read on first use and kept.
"""

from enum import StrEnum
from functools import cache
from importlib.resources import files
from typing import Final

LISTS_FILE: Final = "code_lists.tsv"
MEDIA_TYPES: Final = frozenset(f"{n:02d}" for n in (*range(1, 11), *range(80, 100)))


class CodeList(StrEnum):
    """A list by its name in the file."""

    COUNTRIES_NUMERIC = "countries_numeric"
    COUNTRIES_ALPHA_2 = "countries_alpha_2"
    CURRENCIES = "currencies"
    PACKAGE_TYPES = "package_types"


@cache
def codes(name: CodeList) -> frozenset[str]:
    """Return the codes of a list.

    >>> "GB" in codes(CodeList.COUNTRIES_ALPHA_2), "XX" in codes(CodeList.COUNTRIES_ALPHA_2)
    (True, False)
    """
    text = files(__package__).joinpath(LISTS_FILE).read_text(encoding="utf-8")
    rows = [line.partition("\t") for line in text.splitlines() if not line.startswith("#")]
    return frozenset(code for listed, _, line in rows if listed == name for code in line.split())
