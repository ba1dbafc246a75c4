"""Noticing that a separator was lost between two values of variable length.

A scanner that is set up wrongly drops the separator (GS), and a batch swallows the serial behind it: "(10)5501" and
"(21)010000175" become "(10)550121010000175". Serials of ours have a check digit, so such an end is rarely an accident:
of batches that end in eleven digits, one in a thousand looks like it by chance. Any other serial gives no such sign:
a batch with 21 inside is then all that can be noticed.
"""

from collections.abc import Iterable
from typing import Final

from tracelabels.identifiers.application_identifiers import require_application_identifier
from tracelabels.identifiers.elements import Element
from tracelabels.identifiers.serial import SERIAL_LENGTH, is_serial

_SERIAL_AI: Final = "21"
_HIDDEN_LENGTH: Final = len(_SERIAL_AI) + SERIAL_LENGTH
_LOT_AI: Final = "10"


def hides_serial(value: str) -> bool:
    """Tell whether a value ends in 21 and a serial of ours, with something before them.

    >>> hides_serial("550121010000175"), hides_serial("550121010000176")
    (True, False)
    """
    return (
        len(value) > _HIDDEN_LENGTH
        and value[-_HIDDEN_LENGTH:-SERIAL_LENGTH] == _SERIAL_AI
        and is_serial(value[-SERIAL_LENGTH:])
    )


def find_swallowed(elements: Iterable[Element]) -> Element | None:
    """Return the element that seems to have swallowed another for want of a separator, or None.

    Either a value of variable length ends in 21 and a serial of ours while no (21) is there, or a (21) begins with a
    serial of ours and goes on with 10 and a batch while no (10) is there.
    """
    listed = tuple(elements)
    present = {element.ai for element in listed}
    for element in listed:
        if not require_application_identifier(element.ai).needs_separator:
            continue
        if _SERIAL_AI not in present and hides_serial(element.value):
            return element
        if element.ai == _SERIAL_AI and _LOT_AI not in present and _hides_lot(element.value):
            return element
    return None


def find_possibly_swallowed(elements: Iterable[Element]) -> Element | None:
    """Return a batch without a (21) beside it that has 21 inside, or None. It may well be an ordinary batch."""
    listed = tuple(elements)
    if any(element.ai == _SERIAL_AI for element in listed):
        return None
    lots = (element for element in listed if element.ai == _LOT_AI)
    return next((lot for lot in lots if _SERIAL_AI in lot.value[1:-1]), None)


def _hides_lot(value: str) -> bool:
    return (
        len(value) > _HIDDEN_LENGTH
        and value[SERIAL_LENGTH:_HIDDEN_LENGTH] == _LOT_AI
        and is_serial(value[:SERIAL_LENGTH])
    )
