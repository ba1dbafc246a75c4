r"""Bracketed text, as people read and type it: ``(17)271130(10)AB\(1``.

Round brackets are GS1's; square ones and braces are met in hospital systems (the FHIR device examples use braces).
The kind that opens the text holds for all of it. A "(" that belongs to the data is written "\(".
"""

from collections.abc import Iterable
from typing import Final

from tracelabels.errors import IdentifierError
from tracelabels.identifiers.application_identifiers import require_application_identifier
from tracelabels.identifiers.element_string import require_few
from tracelabels.identifiers.elements import Element
from tracelabels.identifiers.values import check_value

BRACKETS: Final = {"(": ")", "[": "]", "{": "}"}
_ESCAPE: Final = "\\"
_LONGEST_AI: Final = 4


def as_human_readable(elements: Iterable[Element]) -> str:
    r"""Write elements with round brackets, a literal "(" in the data escaped.

    >>> as_human_readable([Element(ai="17", value="271130"), Element(ai="10", value="A(B")])
    '(17)271130(10)A\\(B'
    """
    return "".join(f"({element.ai})" + element.value.replace("(", "\\(") for element in elements)


def parse_human_readable(text: str) -> tuple[Element, ...]:
    r"""Read bracketed text whole: formats, characters, check digits and dates.

    Raises:
        IdentifierError: If any part of it breaks a rule.

    >>> parse_human_readable("{17}141120{10}7654321D")  # braces as in HL7's device example
    (Element(ai='17', value='141120'), Element(ai='10', value='7654321D'))
    """
    opening = text[:1]
    if opening not in BRACKETS:
        raise IdentifierError(
            given=f"the text {text[:8]!r}",
            expected="a bracket first, as in (17)271130",
            remedy="type the line below the code with its brackets",
        )
    elements: list[Element] = []
    start = 0
    while start < len(text):
        element, start = _extract_element(text, start, opening)
        elements.append(element)
        require_few(elements)
    return tuple(elements)


def _extract_element(text: str, start: int, opening: str) -> tuple[Element, int]:
    """Return the element whose opening bracket stands at an index, and the index behind it."""
    closing = BRACKETS[opening]
    end = text.find(closing, start, start + _LONGEST_AI + 2)
    if end < 0:
        raise IdentifierError(
            given=f"the text {text[start : start + 8]!r} at character {start + 1}",
            expected=f"an application identifier of two to four digits between {opening} and {closing}",
            remedy=f"close the bracket, or write {_ESCAPE}{opening} where the bracket belongs to the value",
        )
    entry = require_application_identifier(text[start + 1 : end])
    value, behind = _extract_value(text, end + 1, opening)
    check_value(entry, value)
    return Element(ai=entry.ai, value=value), behind


def _extract_value(text: str, start: int, opening: str) -> tuple[str, int]:
    """Return the value from an index up to the next bracket that is no data, and that bracket's index."""
    parts: list[str] = []
    while True:
        end = text.find(opening, start)
        if end < 0:
            return "".join([*parts, text[start:]]), len(text)
        if end == start or text[end - 1] != _ESCAPE:
            return "".join([*parts, text[start:end]]), end
        parts.append(text[start : end - 1] + opening)
        start = end + 1
