"""Grading a matrix symbol in a picture: the steps of ISO/IEC 15415 in their order."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from tracelabels.legibility.grades import scale
from tracelabels.legibility.grades.fixed_patterns import Segment, segments
from tracelabels.legibility.grades.grade import (
    OTHER_MODULES,
    RELATIVE,
    SCALED,
    ModuleMap,
    NotGraded,
    Parameter,
    ParameterName,
    SymbolGrade,
    too_few_pixels,
)
from tracelabels.legibility.grades.grid import Grid
from tracelabels.legibility.grades.matrix_grades import (
    ModuleReflectances,
    fixed_pattern_grade,
    modulation_grade,
    segment_grades,
)
from tracelabels.legibility.grades.recovery import find_recovered
from tracelabels.legibility.grades.refining import refined
from tracelabels.legibility.grades.sampling import ReflectanceScale, has_enough_pixels, module_levels
from tracelabels.legibility.grades.scale import GradeMethod, Thresholds
from tracelabels.legibility.grades.truth import Match, find_match
from tracelabels.legibility.grades.uniformity import axial_nonuniformity, grid_nonuniformity
from tracelabels.symbols import Symbol
from tracelabels.symbols.codewords import CodewordMap, find_codeword_map

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tracelabels.lengths import Mm
    from tracelabels.symbols import RawReading

_LEAST_AGREEMENT: Final = 0.6
"""Share of modules below which the picture does not show the symbol at all; chance alone gives a half."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Measured:
    """A symbol as it lies in the picture."""

    symbol: Symbol
    grid: Grid
    codewords: CodewordMap
    modules: ModuleReflectances

    @property
    def wrong_codewords(self) -> "NDArray[np.bool_]":
        """Return which codewords have a module on the wrong side of the threshold."""
        return self.codewords.codewords_with(self.modules.wrong[self.window])

    @property
    def window(self) -> tuple[slice, slice]:
        """Return the symbol without its quiet zone."""
        quiet = self.symbol.quiet_zone
        return slice(quiet, -quiet), slice(quiet, -quiet)

    @property
    def segments(self) -> tuple[Segment, ...]:
        """Return the parts of the fixed pattern."""
        return segments(self.symbol.symbology, self.symbol.modules.shape, self.symbol.quiet_zone)

    @property
    def decoded(self) -> bool:
        """Say whether the reference decoder would correct all wrong codewords."""
        return self.codewords.corrects(self.wrong_codewords)


def grade_matrix(
    image: "NDArray[np.uint8]",
    reading: "RawReading",
    *,
    method: GradeMethod = GradeMethod.WHOLE_2011,
    expected: Symbol | None = None,
    reflectance: ReflectanceScale | None = None,
    x: "Mm | None" = None,
) -> SymbolGrade | NotGraded:
    """Grade a Data Matrix or QR code in a picture, or say why not: indicative, not a verifier.

    Args:
        image: grey picture, shape (height, width), type uint8: a raster of the print, a flatbed scan, a photograph.
        reading: what was read and where; its corners may be rough.
        method: whole or continuous grades.
        expected: the symbol that should be there; None writes the text again and compares.
        reflectance: which grey is which reflectance; None: relative to the brightest stock at the symbol.
        x: size of a printed module, for the aperture's number.
    """
    measured = _measured(image, reading, expected, reflectance)
    if isinstance(measured, NotGraded):
        return measured
    parts = segment_grades(measured.segments, measured.modules.margin, method)
    parameters = _parameters(measured, fixed_pattern_grade(parts, method), method)
    return SymbolGrade(
        symbology=measured.symbol.symbology,
        version=measured.symbol.version,
        text=reading.text,
        corners=measured.grid.corners,
        method=method,
        parameters=parameters,
        grade=min(parameter.grade for parameter in parameters if parameter.grade is not None),
        pixels_per_module=min(measured.grid.pitch),
        x=x,
        basis=SCALED if reflectance else RELATIVE,
        segments=parts,
        modules=_module_map(measured),
    )


def _measured(
    image: "NDArray[np.uint8]",
    reading: "RawReading",
    expected: Symbol | None,
    reflectance: ReflectanceScale | None,
) -> _Measured | NotGraded:
    """Find the symbol, refine its grid, sample its modules; or say why that makes no sense."""
    found = _fitted(image, reading, find_match(image, reading, expected), reflectance)
    if expected is not None or _is_decoded(found):
        return found
    recovered = _fitted(image, reading, find_recovered(image, reading), reflectance)
    if _is_decoded(recovered):
        return recovered
    return found if isinstance(found, NotGraded) else _refused(reading, OTHER_MODULES, min(found.grid.pitch))


def _is_decoded(found: _Measured | NotGraded) -> bool:
    return isinstance(found, _Measured) and found.decoded


def _fitted(
    image: "NDArray[np.uint8]", reading: "RawReading", match: Match | None, reflectance: ReflectanceScale | None
) -> _Measured | NotGraded:
    """Lay a symbol over the picture, or say why that makes no sense."""
    if match is None:
        return _refused(reading, f"which modules this {reading.symbology_name} should have is not known here")
    codewords = find_codeword_map(match.symbol.symbology, match.symbol.version)
    if codewords is None:
        return _refused(reading, f"{reading.symbology_name} {match.symbol.version} is not graded")
    measured = _sampled(image, match, codewords, reflectance)
    pixels = min(measured.grid.pitch)
    if not has_enough_pixels(pixels):
        return _refused(reading, too_few_pixels(pixels), pixels)
    if match.agreement < _LEAST_AGREEMENT:
        return _refused(reading, OTHER_MODULES, pixels)
    return measured


def _refused(reading: "RawReading", reason: str, pixels: float | None = None) -> NotGraded:
    return NotGraded(reason=reason, text=reading.text, pixels_per_module=pixels)


def _sampled(
    image: "NDArray[np.uint8]", match: Match, codewords: CodewordMap, reflectance: ReflectanceScale | None
) -> _Measured:
    symbol = match.symbol
    grid = refined(image, match.grid, symbol.modules)
    levels = module_levels(image, grid, symbol.quiet_zone)
    chosen = reflectance or ReflectanceScale(white=max(1.0, float(levels.max())))
    modules = ModuleReflectances(reflectance=chosen.reflectance(levels), dark=np.pad(symbol.modules, symbol.quiet_zone))
    return _Measured(symbol=symbol, grid=grid, codewords=codewords, modules=modules)


def _parameters(measured: _Measured, damage: float, method: GradeMethod) -> tuple[Parameter, ...]:
    """Return all parameters, in the order in which people read them."""
    return (
        _only_grade(ParameterName.DECODE, scale.pass_or_fail(passed=measured.decoded), "ISO/IEC 15415:2011"),
        *_reflectance_parameters(measured, method),
        *_geometry_parameters(measured.grid, method),
        _unused_correction(measured, method),
        _only_grade(ParameterName.FIXED_PATTERN_DAMAGE, damage, scale.SOLID_DAMAGE.source),
        *_growth(measured.grid),
    )


def _reflectance_parameters(measured: _Measured, method: GradeMethod) -> tuple[Parameter, ...]:
    modules, window = measured.modules, measured.window
    modulation = modulation_grade(modules.modulation[window], measured.codewords, method)
    margin = modulation_grade(modules.margin[window], measured.codewords, method)
    return (
        _graded(ParameterName.SYMBOL_CONTRAST, modules.contrast, "share", scale.SYMBOL_CONTRAST, method),
        _only_grade(ParameterName.MODULATION, modulation, scale.MODULE_MODULATION.source),
        _only_grade(ParameterName.REFLECTANCE_MARGIN, margin, scale.MODULE_MODULATION.source),
    )


def _geometry_parameters(grid: Grid, method: GradeMethod) -> tuple[Parameter, ...]:
    axial, uneven = axial_nonuniformity(*grid.pitch), grid_nonuniformity(grid)
    return (
        _graded(ParameterName.AXIAL_NONUNIFORMITY, axial, "share", scale.AXIAL_NONUNIFORMITY, method),
        _graded(ParameterName.GRID_NONUNIFORMITY, uneven, "share of X", scale.GRID_NONUNIFORMITY, method),
    )


def _growth(grid: Grid) -> tuple[Parameter, ...]:
    names = (ParameterName.PRINT_GROWTH_ACROSS, ParameterName.PRINT_GROWTH_DOWN)
    return tuple(
        Parameter(name=name, value=value, unit="share of X", grade=None, source="ISO/IEC 15415:2011, reported only")
        for name, value in zip(names, grid.growth, strict=True)
    )


def _unused_correction(measured: _Measured, method: GradeMethod) -> Parameter:
    unused = measured.codewords.unused(measured.wrong_codewords)
    name = ParameterName.UNUSED_ERROR_CORRECTION
    return _graded(name, unused, "share", scale.UNUSED_ERROR_CORRECTION, method)


def _graded(name: ParameterName, value: float, unit: str, thresholds: Thresholds, method: GradeMethod) -> Parameter:
    grade = thresholds.grade(value, method)
    return Parameter(name=name, value=value, unit=unit, grade=grade, source=thresholds.source)


def _only_grade(name: ParameterName, grade: float, source: str) -> Parameter:
    return Parameter(name=name, value=None, unit="", grade=grade, source=source)


def _module_map(measured: _Measured) -> ModuleMap:
    modules, window = measured.modules, measured.window
    wrong = modules.wrong[window]
    least = scale.MODULE_MODULATION.levels[-1]
    return ModuleMap(
        outlines=measured.grid.lattice,
        dark=measured.symbol.modules,
        reflectance=modules.reflectance[window],
        wrong=wrong,
        weak=(modules.modulation[window] < least) & ~wrong,
    )
