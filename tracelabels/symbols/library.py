r"""Asking zxing-cpp for a symbol: the one place that knows its writer's habits.

The writer takes a GS1 text only with its application identifiers in brackets, and puts the separators itself. Square
brackets are safe because they are not in GS1's character set 82, while "(" may stand in a batch number. What the
written symbol says is compared byte by byte with what was asked.
"""

import re
from functools import cache
from typing import Any, Final

import numpy as np
import zxingcpp
from numpy.typing import NDArray

from tracelabels.errors import SymbolError
from tracelabels.identifiers import GS, Payload
from tracelabels.identifiers.application_identifiers import PREDEFINED_LENGTHS, application_identifiers

_WRAPPING: Final = re.compile(r"^Error \d+: | \(retval: \d+\)$")
_LONGEST_QUOTE: Final = 60
_UNKNOWN: Final = (2, 0)


def in_brackets(text: str) -> str:
    r"""Put a GS1 element string into the form with square brackets that the writer takes.

    Nothing is checked here: the writer refuses what it does not know, and ``create`` compares what it wrote.

    >>> in_brackets("010950110153000310A(B\x1d21123456")
    '[01]09501101530003[10]A(B[21]123456'
    """
    layout = _layout()
    parts: list[str] = []
    start = 0
    while start < len(text):
        digits, whole = layout.get(text[start : start + 2], _UNKNOWN)
        value = start + digits
        if whole:
            end = following = start + whole
        else:
            end = text.find(GS, value)
            end = len(text) if end < 0 else end
            following = end + 1
        parts += "[", text[start:value], "]", text[value:end]
        start = following
    return "".join(parts)


@cache
def _layout() -> dict[str, tuple[int, int]]:
    """Return, by its first two digits, an identifier's length and that of the whole element, 0 if it varies."""
    return {
        ai[:2]: (len(ai), 0 if entry.needs_separator else len(ai) + PREDEFINED_LENGTHS[ai[:2]])
        for ai, entry in application_identifiers().items()
    }


def create(payload: Payload, barcode_format: zxingcpp.BarcodeFormat, **options: Any) -> zxingcpp.Barcode:  # noqa: ANN401  the writer's own options
    """Let the library write a payload and make sure that the result says exactly that.

    Raises:
        SymbolError: The text is empty, too long for the size asked for, or cannot be written without loss.
    """
    text = payload.text
    try:
        if payload.fnc1_first:
            barcode = zxingcpp.create_barcode(in_brackets(text), barcode_format, gs1=True, **options)
        else:
            barcode = zxingcpp.create_barcode(text, barcode_format, **options)
    except (ValueError, RuntimeError) as error:
        raise _refusal(text, _WRAPPING.sub("", str(error))) from error
    if barcode.bytes != text.encode() and (payload.fnc1_first or barcode.text != text):
        raise _refusal(text, "the symbol would say something else")
    return barcode


def modules_of(barcode: zxingcpp.Barcode) -> NDArray[np.bool_]:
    """Return the modules of a written barcode, True for dark, shape (rows, columns), not to be written to."""
    modules: NDArray[np.bool_] = np.asarray(barcode.to_image(scale=1, add_quiet_zones=False)) == 0
    modules.flags.writeable = False
    return modules


def _refusal(text: str, reason: str) -> SymbolError:
    shown = text[:_LONGEST_QUOTE].replace("\x1d", "<GS>").encode("utf-8", "backslashreplace").decode()
    rest = f" and {len(text) - _LONGEST_QUOTE} characters more" if len(text) > _LONGEST_QUOTE else ""
    return SymbolError(
        given=f'the text "{shown}"{rest} cannot be written ({reason})',
        expected="a text that this kind of symbol carries whole",
        remedy="shorten the text or take a larger symbol",
    )
