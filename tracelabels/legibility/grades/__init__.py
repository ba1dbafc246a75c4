"""Grades of symbols in pictures, after ISO/IEC 15415 (matrix) and ISO/IEC 15416 (linear): indicative, not a verifier.

Modules:
    scale: thresholds, whole and continuous grades.
    fixed_patterns: the segments of the fixed patterns.
    truth: which modules should be there: the text written again.
    recovery: the same for symbols that another writer made otherwise.
    grid: the grid of a symbol in a picture.
    refining: the lines that the print truly follows.
    uniformity: axial and grid non-uniformity.
    sampling: reflectance of the modules through the aperture.
    reflectances: the ends, contrast and threshold of reflectances.
    matrix_grades: modulation, reflectance margin, fixed pattern damage.
    grade: the grade of a symbol as a value.
    matrix: the steps for a matrix symbol.
    scan_profile: one scan line across a linear symbol.
    code_128_decoding: the reference decoder of Code 128 and the room that it has left.
    linear_place: where the bars lie.
    linear: the steps for a linear symbol.
    picture: whatever a picture shows.
"""

from tracelabels.legibility.grades.grade import (
    INDICATIVE,
    ModuleMap,
    NotGraded,
    Parameter,
    ParameterName,
    SymbolGrade,
)
from tracelabels.legibility.grades.linear import grade_linear
from tracelabels.legibility.grades.matrix import grade_matrix
from tracelabels.legibility.grades.picture import grade_picture, grade_reading
from tracelabels.legibility.grades.sampling import ReflectanceScale
from tracelabels.legibility.grades.scale import GradeMethod

__all__ = [
    "INDICATIVE",
    "GradeMethod",
    "ModuleMap",
    "NotGraded",
    "Parameter",
    "ParameterName",
    "ReflectanceScale",
    "SymbolGrade",
    "grade_linear",
    "grade_matrix",
    "grade_picture",
    "grade_reading",
]
