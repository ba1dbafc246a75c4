"""Grading a linear symbol in a picture: ten scan lines (ISO/IEC 15416)."""

from typing import TYPE_CHECKING, Final

import numpy as np

from tracelabels.errors import SymbolError
from tracelabels.legibility.grades.code_128_decoding import decodability, element_widths
from tracelabels.legibility.grades.grade import (
    OTHER_MODULES,
    RELATIVE,
    SCALED,
    NotGraded,
    Parameter,
    SymbolGrade,
    too_few_pixels,
)
from tracelabels.legibility.grades.grid import Grid, levels_at
from tracelabels.legibility.grades.linear_place import locate
from tracelabels.legibility.grades.sampling import ReflectanceScale, disc, has_enough_pixels
from tracelabels.legibility.grades.scale import LINEAR_DEFECTS, GradeMethod
from tracelabels.legibility.grades.scan_profile import ScanLine, ScanProfile
from tracelabels.symbols import Symbol, Symbology, write_code_128

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from tracelabels.lengths import Mm
    from tracelabels.symbols import RawReading

SCAN_LINES: Final = 10
"""ISO/IEC 15416: ten, spread over the height of the bars."""
_INNER_SHARE: Final = 0.8
"""Share of the bars' height that the lines are spread over: its middle."""
QUIET: Final = 10
"""Modules of quiet zone on either side that belong to the profile."""
STEPS: Final = 20
"""Samples a module along a line."""
_END_ROOM: Final = 1.0
"""Modules beyond the first and the last bar in which their outer edges may lie."""


def grade_linear(
    image: "NDArray[np.uint8]",
    reading: "RawReading",
    *,
    method: GradeMethod = GradeMethod.WHOLE_2011,
    expected: Symbol | None = None,
    reflectance: ReflectanceScale | None = None,
    x: "Mm | None" = None,
) -> SymbolGrade | NotGraded:
    """Grade a Code 128 in a picture, or say why not: indicative, not a verifier.

    The arguments are those of :func:`tracelabels.legibility.grades.grade_matrix`.
    """
    symbol = expected or _written(reading)
    if symbol is None or symbol.symbology is not Symbology.CODE_128:
        return NotGraded(reason=f"{reading.symbology_name} is not graded here", text=reading.text)
    grid = locate(image, reading.corners, symbol.modules[0])
    pixels = grid.pitch[0]
    if not has_enough_pixels(pixels):
        return NotGraded(reason=too_few_pixels(pixels), text=reading.text, pixels_per_module=pixels)
    lines = scan_lines(_profiles(image, grid, reflectance), symbol.modules[0])
    if expected is None and not any(line.decoded for line in lines):
        return NotGraded(reason=OTHER_MODULES, text=reading.text, pixels_per_module=pixels)
    return SymbolGrade(
        symbology=symbol.symbology,
        version=symbol.version,
        text=reading.text,
        corners=grid.corners,
        method=method,
        parameters=_parameters(lines, method),
        grade=symbol_grade([line.grade(method) for line in lines]),
        pixels_per_module=pixels,
        x=x,
        basis=SCALED if reflectance else RELATIVE,
    )


def symbol_grade(grades: "list[float]") -> float:
    """Return the mean of the scan lines' grades, one decimal.

    >>> symbol_grade([4, 4, 3, 3, 3, 3, 3, 2, 2, 2])
    2.9
    """
    return round(sum(grades) / len(grades), 1)


def _written(reading: "RawReading") -> Symbol | None:
    """Return the symbol that our writer makes of the text; None if it is of no kind that is graded here."""
    if reading.symbology is not Symbology.CODE_128:
        return None
    try:
        return write_code_128(reading.payload)
    except SymbolError:
        return None


def scan_lines(profiles: "Iterable[NDArray[np.float64]]", modules: "NDArray[np.bool_]") -> list[ScanLine]:
    """Measure scan lines.

    Args:
        profiles: reflectances of each line, 0 to 1, :data:`STEPS` samples a module, :data:`QUIET` modules of quiet zone
            on either side.
        modules: the symbol, one row, True is dark.
    """
    return [_scan_line(ScanProfile(reflectance=profile), modules) for profile in profiles]


def _scan_line(profile: ScanProfile, modules: "NDArray[np.bool_]") -> ScanLine:
    edges = profile.edges / STEPS - QUIET
    inside = (edges > -_END_ROOM) & (edges < len(modules) + _END_ROOM)
    left = decodability(edges[inside], element_widths(modules))
    return ScanLine(
        measures=profile.measure(),
        decoded=left is not None,
        quiet=bool(inside.all()),
        decodability=left or 0.0,
    )


def _profiles(image: "NDArray[np.uint8]", grid: Grid, reflectance: ReflectanceScale | None) -> "NDArray[np.float64]":
    """Return the reflectances along ten lines through the aperture, shape (lines, samples)."""
    u = np.arange(-QUIET * STEPS, (grid.columns + QUIET) * STEPS + 1) / STEPS
    module = (grid.lattice[:, -1] - grid.lattice[:, 0]).mean(axis=0) / grid.columns
    around = disc()
    offsets = around[:, :1] * module + around[:, 1:] * np.array([-module[1], module[0]])
    heights = 0.5 + _INNER_SHARE * (np.linspace(0.0, 1.0, SCAN_LINES) - 0.5)
    lines = [grid.at(u, np.full(u.shape, height)) for height in heights]
    levels = np.stack([levels_at(image, line[:, None, :] + offsets).mean(axis=1) for line in lines])
    chosen = reflectance or ReflectanceScale(white=max(1.0, float(levels.max())))
    return chosen.reflectance(levels)


def _parameters(lines: list[ScanLine], method: GradeMethod) -> tuple[Parameter, ...]:
    """Return each parameter as the mean over the lines."""
    grades = [line.grades(method) for line in lines]
    values = [line.values() for line in lines]
    return tuple(
        Parameter(
            name=name,
            value=None if values[0][name] is None else float(np.mean([value[name] for value in values])),
            unit="" if values[0][name] is None else "share",
            grade=symbol_grade([grade[name] for grade in grades]),
            source=LINEAR_DEFECTS.source,
        )
        for name in grades[0]
    )
