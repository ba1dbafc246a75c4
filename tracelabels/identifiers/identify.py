r"""Any scanned or typed text, explained: its mode, its elements, its dates, and the GS1 rules that it does not keep.

How the mode is decided:

- A symbology identifier that says "GS1, FNC1 first" (]d2, ]d8, ]Q3, ]C1, ]e0, ]J1): the mode is gs1, the text an
  element string.
- A plain symbol (]d1, ]d7, ]Q1, ]C0) or no identifier: a text that opens with http:// or https:// is a GS1 Digital
  Link; one that opens with a bracket is bracketed text, GS1's own notation, and its mode is gs1; one that parses as
  elements out of (17), (13), (10) and (21) only is in_house.
- No identifier and anything else: a text that opens with a separator (FNC1 as some scanners send it), or that carries
  an identification key such as (00), (01) or (8004), is gs1. Digits alone that are a bare article number of 8, 12, 13
  or 14 digits are refused, since "4006..." would pass for (400).
- A plain symbol and anything else is refused: without FNC1 it claims nothing of GS1's.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from tracelabels.errors import IdentifierError
from tracelabels.identifiers.application_identifiers import require_application_identifier
from tracelabels.identifiers.associations import find_unmet, require_compatible
from tracelabels.identifiers.check_digits import has_valid_check_digit, is_restricted_circulation
from tracelabels.identifiers.dates import resolve_date
from tracelabels.identifiers.digital_link import is_web_address, parse_digital_link
from tracelabels.identifiers.element_string import parse_element_string
from tracelabels.identifiers.elements import GS, Element, IdentifierMode
from tracelabels.identifiers.human_readable import BRACKETS, parse_human_readable
from tracelabels.identifiers.label_identity import (
    GTIN,
    IN_HOUSE_IDENTIFIERS,
    LOT,
    PREPARED,
    SERIAL,
    USE_BY,
    LabelIdentity,
)
from tracelabels.identifiers.lost_separator import find_possibly_swallowed, find_swallowed
from tracelabels.identifiers.values import shown_element

LONGEST_TEXT: Final = 8000
"""More characters than the largest symbol carries (7,089 digits in QR version 40)."""
GS1_SYMBOLOGIES: Final = frozenset({"]d2", "]d8", "]Q3", "]C1", "]e0", "]J1"})
PLAIN_SYMBOLOGIES: Final = frozenset({"]d1", "]d7", "]Q1", "]C0"})
_IDENTIFIER_LENGTH: Final = 3
_ARTICLE_NUMBER_LENGTHS: Final = (8, 12, 13, 14)
_KEYS_WITHOUT_LINK: Final = frozenset({"02", "03", "8026"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Identification:
    """What a text says.

    Attributes:
        mode: How it is written.
        elements: Its elements in the order of the text.
        dates: The date of each element that begins with one, by application identifier; day 00 is the last of its
            month.
        unmet: One sentence for each of GS1's required-with rules that it does not keep.
        doubts: One sentence for each reason to look at the label again although no rule is broken: a separator that
            seems to be lost, a number for restricted circulation behind (01).
        symbology_identifier: What the scanner sent before the text, such as "]d2", or None.
    """

    mode: IdentifierMode
    elements: tuple[Element, ...]
    dates: dict[str, date]
    unmet: tuple[str, ...]
    doubts: tuple[str, ...]
    symbology_identifier: str | None

    def value(self, ai: str) -> str | None:
        """Return the value of an application identifier, or None if the text has none."""
        return next((element.value for element in self.elements if element.ai == ai), None)

    @property
    def identity(self) -> LabelIdentity:
        """What it says in the words of a label."""
        return LabelIdentity(
            gtin=self.value(GTIN),
            use_by=self.dates.get(USE_BY),
            prepared=self.dates.get(PREPARED),
            lot=self.value(LOT),
            serial=self.value(SERIAL),
        )


def identify(text: str, *, today: date, gs: str | None = None) -> Identification:
    r"""Explain a text: syntax, characters, formats, check digits, dates, GS1's exclusion pairs and repeats all hold.

    Args:
        text: As a scanner sends it or a person types it, with or without symbology identifier.
        today: The day of reading, which decides the century of a date.
        gs: What the scanner sends instead of the separator "\x1d", if it does; without it nothing is replaced.

    Raises:
        IdentifierError: If a rule is broken; nothing else, whatever the text.

    >>> found = identify("]d2010950110153000317271100", today=date(2026, 11, 25))
    >>> found.mode.value, found.value("17"), found.dates["17"].isoformat()
    ('gs1', '271100', '2027-11-30')
    """
    if len(text) > LONGEST_TEXT:
        raise IdentifierError(
            given=f"a text of {len(text)} characters",
            expected=f"at most {LONGEST_TEXT}, more than any symbol carries",
            remedy="scan one code at a time",
        )
    symbology, body = _split_symbology(text)
    body = _replace_substitute(body, gs).rstrip("\r\n")
    mode, elements = _parse(body, symbology)
    require_compatible(elements)
    dates = _resolve_dates(elements, today)
    doubts = _find_doubts(elements, mode)
    return Identification(
        mode=mode,
        elements=elements,
        dates=dates,
        unmet=find_unmet(elements),
        doubts=doubts,
        symbology_identifier=symbology,
    )


def _split_symbology(text: str) -> tuple[str | None, str]:
    if not text.startswith("]"):
        return None, text
    symbology = text[:_IDENTIFIER_LENGTH]
    if symbology not in GS1_SYMBOLOGIES | PLAIN_SYMBOLOGIES:
        raise IdentifierError(
            given=f"symbology identifier {symbology!r}",
            expected=f"{' '.join(sorted(GS1_SYMBOLOGIES))} (GS1) or {' '.join(sorted(PLAIN_SYMBOLOGIES))} (plain)",
            remedy="scan a GS1 code or one of our own labels",
        )
    return symbology, text[_IDENTIFIER_LENGTH:]


def _replace_substitute(text: str, gs: str | None) -> str:
    if gs is None:
        return text
    if not gs:
        raise IdentifierError(
            given="an empty text as substitute for the separator",
            expected="the characters that the scanner sends instead of GS",
            remedy="name them, or leave the option out",
        )
    return text.replace(gs, GS)


def _parse(text: str, symbology: str | None) -> tuple[IdentifierMode, tuple[Element, ...]]:
    if symbology in GS1_SYMBOLOGIES:
        return IdentifierMode.GS1, parse_element_string(text)
    if is_web_address(text):
        return IdentifierMode.DIGITAL_LINK, parse_digital_link(text)
    if text[:1] in BRACKETS:
        return IdentifierMode.GS1, parse_human_readable(text)
    if symbology is None and text.startswith(GS):
        return IdentifierMode.GS1, parse_element_string(text[1:])
    elements = parse_element_string(text)
    if all(element.ai in IN_HOUSE_IDENTIFIERS for element in elements):
        _require_separators(elements)
        return IdentifierMode.IN_HOUSE, elements
    _require_claim(text, symbology, elements)
    return IdentifierMode.GS1, elements


def _require_separators(elements: Sequence[Element]) -> None:
    swallowed = find_swallowed(elements)
    if swallowed is not None:
        raise IdentifierError(
            given=f"{shown_element(swallowed.ai, swallowed.value)}, which seems to have swallowed another element",
            expected="a separator (GS) between batch and serial",
            remedy="set the scanner to send the separator, or type batch and serial from the label",
        )


def _require_claim(text: str, symbology: str | None, elements: Sequence[Element]) -> None:
    """Refuse what is neither ours nor claims to be GS1's."""
    others = ", ".join(f"({element.ai})" for element in elements if element.ai not in IN_HOUSE_IDENTIFIERS)
    if symbology is not None:
        raise IdentifierError(
            given=f"{others} in a plain symbol ({symbology})",
            expected="FNC1 first (such as ]d2) for a GS1 text, or only (17), (13), (10) and (21) for one of ours",
            remedy="have the label's maker print it as a GS1 code",
        )
    if len(text) in _ARTICLE_NUMBER_LENGTHS and has_valid_check_digit(text):
        raise IdentifierError(
            given=f"the bare article number {text}",
            expected="application identifiers and their values",
            remedy=f"write (01){text.zfill(14)} if it is a GTIN",
        )
    if not any(_is_key(element.ai) for element in elements):
        raise IdentifierError(
            given=f"{others} without a symbology identifier or a key such as (01)",
            expected="a text that shows that it is a GS1 text",
            remedy="set the scanner to send the symbology identifier (such as ]d2), or write it with brackets",
        )


def _is_key(ai: str) -> bool:
    return ai in _KEYS_WITHOUT_LINK or require_application_identifier(ai).link_key


def _resolve_dates(elements: Sequence[Element], today: date) -> dict[str, date]:
    dates = {}
    for element in elements:
        kinds = require_application_identifier(element.ai).components[0].checks
        if "yyyymmdd" in kinds:
            dates[element.ai] = date.fromisoformat(element.value[:8])
        elif "yymmdd" in kinds or "yymmd0" in kinds:
            day = resolve_date(element.value[:6], today)
            if day is None:
                raise IdentifierError(
                    given=f"{shown_element(element.ai, element.value)}, read on {today.isoformat()}",
                    expected="a day that exists in the century meant",
                    remedy="scan the code again, or correct the date where it was written",
                )
            dates[element.ai] = day
    return dates


def _find_doubts(elements: Sequence[Element], mode: IdentifierMode) -> tuple[str, ...]:
    doubts = []
    if mode is IdentifierMode.GS1 and (swallowed := find_swallowed(elements)) is not None:
        shown = shown_element(swallowed.ai, swallowed.value)
        doubts.append(f"{shown} seems to have swallowed another element: was a separator (GS) lost?")
    if mode is IdentifierMode.IN_HOUSE and (suspect := find_possibly_swallowed(elements)) is not None:
        shown = shown_element(suspect.ai, suspect.value)
        doubts.append(
            f"{shown} has 21 inside and no (21) beside it: if the label shows a serial, a separator was lost."
        )
    doubts.extend(
        f"(01){element.value} is a number for restricted circulation, which GS1 does not allow behind (01)."
        for element in elements
        if element.ai == GTIN and is_restricted_circulation(element.value)
    )
    return tuple(doubts)
