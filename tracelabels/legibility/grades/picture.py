"""Grading whatever a picture shows."""

from typing import TYPE_CHECKING

from tracelabels.legibility.grades.grade import NotGraded, SymbolGrade
from tracelabels.legibility.grades.linear import grade_linear
from tracelabels.legibility.grades.matrix import grade_matrix
from tracelabels.legibility.grades.scale import GradeMethod
from tracelabels.symbols import Symbology, read_symbols

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from tracelabels.legibility.grades.sampling import ReflectanceScale
    from tracelabels.lengths import Mm
    from tracelabels.symbols import RawReading, Symbol

NOTHING_READ = "no symbol could be read in this picture, so that nothing is graded"


def grade_reading(
    image: "NDArray[np.uint8]",
    reading: "RawReading",
    *,
    method: GradeMethod = GradeMethod.WHOLE_2011,
    expected: "Symbol | None" = None,
    reflectance: "ReflectanceScale | None" = None,
    x: "Mm | None" = None,
) -> SymbolGrade | NotGraded:
    """Grade one symbol that was read, by the standard for its kind. The arguments are those of grade_matrix."""
    grade = grade_linear if reading.symbology is Symbology.CODE_128 else grade_matrix
    return grade(image, reading, method=method, expected=expected, reflectance=reflectance, x=x)


def grade_picture(
    image: "NDArray[np.uint8]",
    *,
    method: GradeMethod = GradeMethod.WHOLE_2011,
    reflectance: "ReflectanceScale | None" = None,
    x: "Mm | None" = None,
) -> tuple[SymbolGrade | NotGraded, ...]:
    """Read and grade all symbols of a picture; one finding, and no grade, if none is read.

    Args:
        image: grey picture, shape (height, width), type uint8.
        method: whole or continuous grades.
        reflectance: which grey is which reflectance; None: relative to the brightest stock at each symbol.
        x: size of a printed module, if all have the same.
    """
    readings = read_symbols(image)
    if not readings:
        return (NotGraded(reason=NOTHING_READ),)
    return tuple(grade_reading(image, one, method=method, reflectance=reflectance, x=x) for one in readings)
