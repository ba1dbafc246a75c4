r"""Asking zxing-cpp for a symbol: the one place that knows its writer's habits.

The writer takes a GS1 text only with its application identifiers in brackets, and puts the separators itself. Square
brackets are safe because they are not in GS1's character set 82, while "(" may stand in a batch number. What the
written symbol says is compared byte by byte with what was asked.
"""

import re
from typing import Any, Final

import numpy as np
import zxingcpp
from numpy.typing import NDArray

from tracelabels.errors import SymbolError
from tracelabels.identifiers import Payload

_PREDEFINED: Final = (
    (r"00", r".{18}"),
    (r"0[1-3]", r".{14}"),
    (r"04", r".{16}"),
    (r"1[1-9]", r".{6}"),
    (r"20", r".{2}"),
    (r"3[1-6]\d\d", r".{6}"),
    (r"41\d", r".{13}"),
)
"""Identifiers whose first two digits fix the length of the value (GS1 General Specifications R26.0, Table 7-6)."""

_VARIABLE: Final = r"10|2[12]|2[345]\d|3[078]|39\d\d|4[02]\d|43\d\d|7[02]\d\d|71\d|8[0-2]\d\d|9\d"
"""All others, by the length that their first two digits give the identifier (same release, Table 7-5)."""

_ELEMENT: Final = re.compile(
    "|".join([*(f"({ai})({value})" for ai, value in _PREDEFINED), f"({_VARIABLE})([^\x1d]+)\x1d?"]), re.DOTALL
)
_GROUPS: Final = range(1, 2 * len(_PREDEFINED) + 3, 2)
_IN_BRACKETS: Final = (
    "[" + "".join(rf"\{group}" for group in _GROUPS) + "]" + "".join(rf"\{group + 1}" for group in _GROUPS)
)
_WRAPPING: Final = re.compile(r"^Error \d+: | \(retval: \d+\)$")
_LONGEST_QUOTE: Final = 60


def in_brackets(text: str) -> str:
    r"""Put a GS1 element string into the form with square brackets that the writer takes.

    >>> in_brackets("010950110153000310A(B\x1d21123456")
    '[01]09501101530003[10]A(B[21]123456'
    """
    return _ELEMENT.sub(_IN_BRACKETS, text)


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
