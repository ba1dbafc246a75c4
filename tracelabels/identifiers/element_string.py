"""Element strings: application identifiers and values run together, as a scanner sends them.

Source: GS1 General Specifications R26.0, 7.8 (concatenation, separators, what a reader tolerates).
"""

from collections.abc import Iterable
from typing import Final

from tracelabels.errors import IdentifierError
from tracelabels.identifiers.application_identifiers import find_application_identifier, require_application_identifier
from tracelabels.identifiers.associations import require_compatible
from tracelabels.identifiers.elements import GS, Element, IdentifierMode, Payload
from tracelabels.identifiers.values import check_value

MOST_ELEMENTS: Final = 64
_SHOWN: Final = 8


def parse_element_string(text: str) -> tuple[Element, ...]:
    r"""Read an element string whole: formats, characters, check digits and dates.

    One separator is tolerated behind any element, needed or not. Whether the elements may stand together is not
    checked here (see ``require_compatible`` and ``find_unmet``).

    Args:
        text: The text behind FNC1, without symbology identifier, separators as "\x1d".

    Raises:
        IdentifierError: If any part of it breaks a rule.

    >>> parse_element_string("10AB-12\x1d17271130")
    (Element(ai='10', value='AB-12'), Element(ai='17', value='271130'))
    """
    if not text:
        raise IdentifierError(
            given="an empty text",
            expected="application identifiers and their values",
            remedy="scan the code again",
        )
    elements: list[Element] = []
    start = 0
    while start < len(text):
        element, start = _extract_element(text, start)
        elements.append(element)
        require_few(elements)
    return tuple(elements)


def encode(elements: Iterable[Element]) -> Payload:
    r"""Write elements as a conformant GS1 text in the given order: FNC1 first, separators only where needed.

    Rules of the kind "(10) needs (01) with it" are not checked, since another code on the same thing may keep them: see
    ``find_unmet``.

    Raises:
        IdentifierError: If there is none, a value breaks its format, or two elements must not stand together.

    >>> encode([Element(ai="10", value="12345"), Element(ai="11", value="991225")]).text
    '1012345\x1d11991225'
    """
    listed = tuple(elements)
    if not listed:
        raise IdentifierError(
            given="no elements", expected="at least one element", remedy="give a value for the code to carry"
        )
    require_few(listed)
    parts = []
    for element in listed:
        entry = require_application_identifier(element.ai)
        check_value(entry, element.value)
        parts.append(element.ai + element.value + (GS if entry.needs_separator else ""))
    require_compatible(listed)
    return Payload(text="".join(parts).removesuffix(GS), fnc1_first=True, mode=IdentifierMode.GS1)


def require_few(elements: list[Element] | tuple[Element, ...]) -> None:
    """Refuse more elements than one code carries.

    Raises:
        IdentifierError: If there are more than 64.
    """
    if len(elements) > MOST_ELEMENTS:
        raise IdentifierError(
            given=f"more than {MOST_ELEMENTS} elements",
            expected=f"at most {MOST_ELEMENTS} in one code",
            remedy="scan one code at a time",
        )


def _extract_element(text: str, start: int) -> tuple[Element, int]:
    """Return the element at an index and the index behind it and its separator."""
    entry = find_application_identifier(text, start)
    if entry is None:
        raise IdentifierError(
            given=f"the text {text[start : start + _SHOWN]!r} at character {start + 1}",
            expected="a GS1 application identifier there, such as 01, 10, 17 or 21",
            remedy="scan the code again; if it is a GS1 code, set the scanner to send separators (GS) and nothing else",
        )
    begin = start + len(entry.ai)
    end = text.find(GS, begin)
    end = len(text) if end < 0 else end
    if not entry.needs_separator:
        end = min(end, begin + entry.longest)
    value = text[begin:end]
    check_value(entry, value)
    return Element(ai=entry.ai, value=value), end + text.startswith(GS, end)
