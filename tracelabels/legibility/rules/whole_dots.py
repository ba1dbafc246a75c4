"""Modules on whole printer dots: a printer has nothing between two dots, so that uneven modules come out."""

import math

from tracelabels.legibility.findings import Finding, Legibility
from tracelabels.legibility.rules.extent import Extent, extent_of, in_dots, is_linear
from tracelabels.legibility.subject import PrintedCode, Subject

RULE = "whole_dots"
SOURCE = "arithmetic of the printer's grid: an edge between two dots is moved to one of them"

LARGEST_DRIFT = 0.25
"""Dots by which the last edge of a symbol may be off whole modules: half of what moves an edge to the next dot."""

LARGEST_OFFSET = 0.1
"""Dots by which the first edge may be off; twice the error of measuring a foreign page."""

UNEVEN_SHARE = 1 / 3
"""One dot more or less is so much of a module, or more: fail; less is warned of. Own bound, from simulated photographs
of 18x18 symbols with X of 0.30 mm: 2.4 dots at 203 dpi failed, 3.5 dots at 300 dpi stood at a warning."""

_FEWEST_DOTS = 2


def check(subject: Subject) -> Finding:
    """Compare the module and the first edges with whole dots."""
    code = subject.code
    drift = _drift(code)
    offset = _offset(extent_of(code))
    verdict, fix = Legibility.PASS, ""
    if drift > LARGEST_DRIFT:
        verdict = Legibility.FAIL if 1 / code.x >= UNEVEN_SHARE else Legibility.WARN
        fix = _whole(code.x, subject.dpi)
    elif offset > LARGEST_OFFSET:
        verdict = Legibility.WARN
        fix = f"place the symbol {offset:.2f} dots aside, so that its edges stand on whole dots"
    return Finding(
        rule=RULE,
        verdict=verdict,
        measured=_measured(code, drift=drift, offset=offset),
        required="modules and edges of whole dots",
        source=SOURCE,
        fix=fix,
    )


def _drift(code: PrintedCode) -> float:
    """Return by how many dots the far edge lies off the place that whole modules would give it, the worse side."""
    rows, columns = code.modules.shape
    across = abs(code.x - round(code.x)) * (max(rows, columns) if is_linear(code) else columns)
    down = 0.0 if is_linear(code) else abs(code.y - round(code.y)) * rows
    return float(max(across, down))


def _offset(box: Extent) -> float:
    return max(abs(edge - round(edge)) for edge in (box.left, box.top))


def _measured(code: PrintedCode, *, drift: float, offset: float) -> str:
    if drift <= LARGEST_DRIFT:
        module = f"modules of {round(code.x)} dots"
    else:
        few = math.floor(min(code.x, code.x if is_linear(code) else code.y))
        module = f"modules of {code.x:.3f} dots: some come out with {few}, some with {few + 1}"
    return f"{module}, edges {offset:.2f} dots off"


def _whole(x: float, dpi: int) -> str:
    smaller, larger = max(_FEWEST_DOTS, math.floor(x)), max(_FEWEST_DOTS, math.ceil(x))
    if smaller == larger:
        return in_dots(larger, dpi)
    return f"{in_dots(larger, dpi)}, or {in_dots(smaller, dpi)} if there is no more room"
