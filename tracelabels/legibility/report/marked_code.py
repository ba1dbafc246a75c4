"""A graded code enlarged, its bad modules marked: wrong ones with a heavy frame, weak ones with a light one."""

from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tracelabels.legibility.grades import SymbolGrade

_WRONG: Final = (200, 40, 32)
_WEAK: Final = (214, 150, 30)
_SIDE: Final = 480


def mark_code(image: "NDArray[np.uint8]", grade: "SymbolGrade") -> "NDArray[np.uint8]":
    """Return the part of a picture with a code, enlarged, its bad modules framed.

    Args:
        image: the grey picture that was graded.
        grade: the code's grade; a linear one is enlarged without marks.

    Returns:
        Red, green, blue, shape (rows, columns, 3).
    """
    corners = np.array(grade.corners, dtype=np.float64)
    margin = 3.0 * grade.pixels_per_module
    low = np.maximum(np.floor(corners.min(axis=0) - margin), 0).astype(int)
    high = np.ceil(corners.max(axis=0) + margin).astype(int)
    part = image[low[1] : high[1], low[0] : high[0]]
    scale = max(1.0, _SIDE / max(part.shape))
    enlarged = cv2.resize(part, None, fx=scale, fy=scale, interpolation=cv2.INTER_NEAREST)
    marked = cv2.cvtColor(enlarged, cv2.COLOR_GRAY2RGB)
    if grade.modules is not None:
        for bad, colour, width in ((grade.modules.weak, _WEAK, 1), (grade.modules.wrong, _WRONG, 2)):
            for row, column in np.argwhere(bad):
                outline = grade.modules.outlines[row : row + 2, column : column + 2].reshape(4, 2)[[0, 1, 3, 2]]
                points = np.rint((outline - low) * scale).astype(np.int32)
                cv2.polylines(marked, [points], isClosed=True, color=colour, thickness=width, lineType=cv2.LINE_AA)
    return np.asarray(marked, dtype=np.uint8)
