"""The table of GS1 application identifiers.

The facts stand in ``application_identifiers.tsv`` beside this module. They come from the GS1 Barcode Syntax
Dictionary (Apache License 2.0), repository head of 2026-07-27, which follows release 2026-01-27. The file is read on
first use and kept.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Final

from tracelabels.errors import IdentifierError
from tracelabels.identifiers.character_sets import DIGITS, CharacterSet

TABLE_FILE: Final = "application_identifiers.tsv"
_DIGITS: Final = frozenset(DIGITS)
_COLUMNS: Final = 9

PREDEFINED_LENGTHS: Final = (
    {"00": 18, "01": 14, "02": 14, "03": 14, "04": 16, "20": 2, "41": 13}
    | {f"{n}": 6 for n in range(11, 20)}
    | {f"{n}": 6 for n in range(31, 37)}
)
"""Value lengths that follow from the first two digits of an identifier: no separator is needed behind the value.

GS1 General Specifications R26.0, table 7-6: the list will not change. Identifiers that begin with 31 to 36 have four
digits, with 41 three; 04, 14, 18 and 19 are on the list and not assigned.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Component:
    """One part of a value.

    Attributes:
        character_set: Which characters it may hold.
        shortest: Its least length.
        longest: Its greatest length.
        optional: Whether it may be missing (only at the end).
        checks: Names of the checks of its content, as the syntax dictionary names them.
    """

    character_set: CharacterSet
    shortest: int
    longest: int
    optional: bool
    checks: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ApplicationIdentifier:
    """What the table says of one application identifier.

    Attributes:
        ai: The identifier, two to four digits.
        title: GS1's data title, empty if it has none.
        components: The parts of its value, in order.
        needs_separator: Whether a separator must stand behind the value unless it is the last.
        link_key: Whether it may be the primary key of a GS1 Digital Link URI.
        link_attribute: Whether it may stand in the query of a GS1 Digital Link URI.
        qualifiers: For a primary key, the sequences of qualifiers that may follow it in the path.
        requires: Sets of identifiers of which one must be present whole; empty if none is required.
        excludes: Identifiers or patterns (n is any digit) that must not be present.
    """

    ai: str
    title: str
    components: tuple[Component, ...]
    needs_separator: bool
    link_key: bool
    link_attribute: bool
    qualifiers: tuple[tuple[str, ...], ...]
    requires: tuple[tuple[str, ...], ...]
    excludes: tuple[str, ...]

    @property
    def shortest(self) -> int:
        """The least length of a value."""
        return sum(part.shortest for part in self.components if not part.optional)

    @property
    def longest(self) -> int:
        """The greatest length of a value."""
        return sum(part.longest for part in self.components)

    @property
    def length_in_words(self) -> str:
        """The length of a value, as a sentence says it."""
        if self.shortest == self.longest:
            return f"{self.longest} character" + ("s" if self.longest > 1 else "")
        return f"{self.shortest} to {self.longest} characters"


@cache
def application_identifiers() -> Mapping[str, ApplicationIdentifier]:
    """Return every application identifier of the syntax dictionary, by its digits.

    >>> application_identifiers()["17"].title
    'USE BY or EXPIRY'
    """
    text = files(__package__).joinpath(TABLE_FILE).read_text(encoding="utf-8")
    rows = [line for line in text.splitlines() if line and not line.startswith("#")]
    return MappingProxyType({entry.ai: entry for row in rows[1:] for entry in _parse_row(row)})


def find_application_identifier(text: str, start: int = 0) -> ApplicationIdentifier | None:
    """Return the application identifier that a text has at an index, or None.

    No identifier is the beginning of another.

    >>> find_application_identifier("7003271130").ai
    '7003'
    """
    table = application_identifiers()
    for length in (2, 3, 4):
        entry = table.get(text[start : start + length])
        if entry is not None:
            return entry
    return None


def require_application_identifier(ai: str) -> ApplicationIdentifier:
    """Return what the table says of an application identifier.

    Raises:
        IdentifierError: If there is no such identifier.
    """
    entry = application_identifiers().get(ai)
    if entry is None:
        raise IdentifierError(
            given=f"application identifier {ai[:10]!r}",
            expected="one of GS1's application identifiers, two to four digits such as 01, 10, 17 or 21",
            remedy="correct the number in the brackets, or scan the code again",
        )
    return entry


def _parse_row(row: str) -> list[ApplicationIdentifier]:
    first, last, separator, link, layout, requires, excludes, qualifiers, title = row.split("\t", _COLUMNS - 1)
    return [
        ApplicationIdentifier(
            ai=str(number).zfill(len(first)),
            title="" if title == "-" else title,
            components=tuple(_parse_component(part) for part in layout.split()),
            needs_separator=separator == "yes",
            link_key="key" in link,
            link_attribute="query" in link,
            qualifiers=tuple(tuple(sequence.split(",")) for sequence in _listed(qualifiers)),
            requires=tuple(tuple(together.split("+")) for together in _listed(requires)),
            excludes=_listed(excludes),
        )
        for number in range(int(first), int(last) + 1)
    ]


def _listed(cell: str) -> tuple[str, ...]:
    return () if cell == "-" else tuple(cell.split("|"))


def _parse_component(text: str) -> Component:
    shape, _, checks = text.partition(":")
    optional = shape.endswith("?")
    shortest, _, longest = shape[1:].rstrip("?").partition("..")
    return Component(
        character_set=CharacterSet(shape[0]),
        shortest=int(shortest),
        longest=int(longest or shortest),
        optional=optional,
        checks=tuple(checks.split("+")) if checks else (),
    )
