"""A symbol on a tube: within one sixth of the circumference, and what the curve does to its grid (closed form)."""

import math

from tracelabels.legibility.cylinder import axial_nonuniformity, grid_nonuniformity
from tracelabels.legibility.findings import Finding, Legibility
from tracelabels.legibility.rules.extent import (
    in_dots,
    is_ladder,
    is_linear,
    longest_arc,
    modules_round_tube,
    round_tube,
)
from tracelabels.legibility.subject import Subject
from tracelabels.lengths import Mm
from tracelabels.symbols import Symbology

ARC_RULE = "one_sixth"
AXIAL_RULE = "axial_nonuniformity"
GRID_RULE = "grid_nonuniformity"

ARC_SOURCE = "rule as commonly stated, one sixth of the circumference (a public training text cites GS1 for it)"
AXIAL_SOURCE = "ISO/IEC 15415:2011, axial non-uniformity; predicted from the cylinder in closed form, simulated"
GRID_SOURCE = "ISO/IEC 15415:2011, grid non-uniformity; predicted from the cylinder in closed form, simulated"

AXIAL_GRADES = ((0.06, 4), (0.08, 3), (0.10, 2), (0.12, 1))
"""Largest axial non-uniformity of each grade, ISO/IEC 15415:2011 (from open code that cites GS1's guideline)."""

GRID_GRADES = ((0.38, 4), (0.50, 3), (0.63, 2), (0.75, 1))
"""Largest grid non-uniformity of each grade, the same source."""

_GOOD = 2
_SMALLEST_X = Mm(0.2)  # below it no printer is asked for a module (common practice, no source)


def check(subject: Subject) -> tuple[Finding, ...]:
    """Judge a symbol on a tube; nothing on a flat label, and only the arc for a linear code, which has no grid."""
    diameter = subject.tube_diameter
    if diameter is None:
        return ()
    arc = _arc(subject, diameter)
    return (arc,) if is_linear(subject.code) else (arc, _axial(subject, diameter), _grid(subject, diameter))


def _arc(subject: Subject, diameter: Mm) -> Finding:
    """A ladder's bars may be longer than the arc: what turns out of sight is bar, and its middle still reads."""
    width, limit = round_tube(subject), longest_arc(diameter)
    good = width <= limit + 1e-6
    return Finding(
        rule=ARC_RULE,
        verdict=Legibility.PASS if good else Legibility.WARN,
        measured=f"{width:.2f} mm round a tube of {diameter:.2f} mm, {math.degrees(2 * width / diameter):.0f} degrees",
        required=f"at most {limit:.2f} mm, 60 degrees",
        source=ARC_SOURCE,
        fix="" if good else _smaller(subject, limit),
    )


def _axial(subject: Subject, diameter: Mm) -> Finding:
    width = round_tube(subject)
    value = axial_nonuniformity(width, diameter) if _is_in_sight(width, diameter) else math.inf
    return _graded(subject, AXIAL_RULE, value, AXIAL_GRADES, AXIAL_SOURCE)


def _grid(subject: Subject, diameter: Mm) -> Finding:
    width = round_tube(subject)
    value = grid_nonuniformity(width, diameter, subject.x_dimension) if _is_in_sight(width, diameter) else math.inf
    return _graded(subject, GRID_RULE, value, GRID_GRADES, GRID_SOURCE)


def _is_in_sight(width: Mm, diameter: Mm) -> bool:
    """Say whether both edges can be seen at once: the closed form holds up to half of the circumference."""
    return width / diameter < math.pi / 2


def _graded(subject: Subject, rule: str, value: float, grades: tuple[tuple[float, int], ...], source: str) -> Finding:
    grade = next((grade for most, grade in grades if value <= most), 0)
    verdict = Legibility.PASS if grade >= _GOOD else Legibility.WARN if grade else Legibility.FAIL
    best, worst = grades[0][0], grades[_GOOD][0]
    limit = longest_arc(subject.tube_diameter or Mm(math.inf))
    return Finding(
        rule=rule,
        verdict=verdict,
        measured=_predicted(value, grade),
        required=f"at most {worst:.2f} (grade {_GOOD}); {best:.2f} for grade 4",
        source=source,
        fix="" if verdict is Legibility.PASS else _smaller(subject, limit),
    )


def _predicted(value: float, grade: int) -> str:
    if math.isinf(value):
        return "none: the symbol reaches round more than half of the tube"
    return f"{value:.3f} predicted, grade {grade}"


def _smaller(subject: Subject, limit: Mm) -> str:
    """Say what keeps within an arc: a smaller module if it is still printable, else another shape or place."""
    thicker = f"a tube of at least {6 * round_tube(subject) / math.pi:.1f} mm"
    if is_linear(subject.code):
        return f"{f'bars of {limit:.1f} mm' if is_ladder(subject) else 'the code turned a quarter'}, or {thicker}"
    dots = int(limit / subject.dot / modules_round_tube(subject) + 1e-6)
    rows, columns = subject.code.modules.shape
    square = subject.code.symbology is Symbology.DATA_MATRIX and rows == columns
    other = "a rectangle with its short side round the tube" if square else "the code on the cap"
    if dots * subject.dot >= _SMALLEST_X:
        return f"{in_dots(dots, subject.dpi)}, {other}, or {thicker}"
    return f"{other}, or {thicker}"
