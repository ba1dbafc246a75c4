"""A picture in which pale print is dark, so that it can be found at all."""

from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

_CALM: Final = 1.2
_MARK: Final = 61
"""Pixels: wider than any dark mark of a code whose modules are 8 pixels wide."""
_TIMES: Final = 6.0
_MOST: Final = 120.0
"""Grey levels: what is darker than the stock around it is made so six times as much, but by no more than this, so that
the bench beside a label does not outdo the print on it."""


def with_pale_print_dark(grey: "NDArray[np.uint8]") -> "NDArray[np.uint8]":
    """Return a picture on white in which whatever is darker than the stock around it is much darker."""
    calm = np.asarray(cv2.GaussianBlur(grey, (0, 0), _CALM), dtype=np.uint8)
    darker = cv2.morphologyEx(calm, cv2.MORPH_BLACKHAT, np.ones((_MARK, _MARK), dtype=np.uint8))
    return np.asarray(255.0 - np.minimum(_TIMES * np.asarray(darker, dtype=np.float32), _MOST), dtype=np.uint8)
