"""The grade of one symbol: its parameters as values, the lowest of them, and the line that people quote."""

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Final

from tracelabels.legibility.grades.sampling import APERTURE_SHARE, FEWEST_PIXELS
from tracelabels.legibility.grades.scale import GradeMethod, letter
from tracelabels.lengths import MM_PER_INCH, Mm

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from tracelabels.symbols import Symbology

INDICATIVE: Final = "indicative, not a verifier"
"""Stands beside every grade: light, angle and reflectance of a picture are not those of a verifier."""

RELATIVE: Final = (
    "reflectances are relative: the brightest stock at the symbol counts as 100 %, grey level 0 as 0 %; light and "
    "angle are unknown"
)
"""What a grade without a calibrated scale rests on."""

SCALED: Final = "reflectances follow the white and black that were given; light and angle are unknown"
"""What a grade with a given scale rests on."""

OTHER_MODULES: Final = (
    "what is seen is not the symbol of the text that was read: it was written in another way, or the picture is too "
    "blurred to grade"
)
"""Why a symbol is not graded whose modules or bars do not fit its text."""

_THOUSANDTHS: Final = 1000.0


class ParameterName(StrEnum):
    """What is graded (or only reported)."""

    DECODE = "decode"
    SYMBOL_CONTRAST = "symbol contrast"
    MODULATION = "modulation"
    REFLECTANCE_MARGIN = "reflectance margin"
    AXIAL_NONUNIFORMITY = "axial non-uniformity"
    GRID_NONUNIFORMITY = "grid non-uniformity"
    UNUSED_ERROR_CORRECTION = "unused error correction"
    FIXED_PATTERN_DAMAGE = "fixed pattern damage"
    PRINT_GROWTH_ACROSS = "print growth, width"
    PRINT_GROWTH_DOWN = "print growth, height"
    MINIMUM_REFLECTANCE = "minimum reflectance"
    EDGE_CONTRAST = "minimum edge contrast"
    DEFECTS = "defects"
    DECODABILITY = "decodability"
    QUIET_ZONE = "quiet zone"


@dataclass(frozen=True, slots=True, kw_only=True)
class Parameter:
    """One measured parameter."""

    name: ParameterName
    """Which one."""
    value: float | None
    """What was measured; None for one that is only a grade."""
    unit: str
    """Unit of the value: "share", "share of X", "modules", "damaged modules"; empty if there is no value."""
    grade: float | None
    """4 to 0; None for one that is reported and not graded."""
    source: str
    """The standard and where its thresholds were read."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ModuleMap:
    """Every module as measured, for a picture of the bad ones."""

    outlines: "NDArray[np.float64]"
    """Intersections of the grid in pixels of the picture, shape (rows + 1, columns + 1, 2): module (r, c) lies between
    [r, c], [r, c + 1], [r + 1, c + 1] and [r + 1, c]."""
    dark: "NDArray[np.bool_]"
    """Which modules should be dark, shape (rows, columns)."""
    reflectance: "NDArray[np.float64]"
    """As measured, 0 to 1, same shape."""
    wrong: "NDArray[np.bool_]"
    """Which lie on the wrong side of the threshold, same shape."""
    weak: "NDArray[np.bool_]"
    """Which lie on the right side, but so near to the threshold that their modulation has grade 0, same shape."""

    @property
    def damaged(self) -> "NDArray[np.bool_]":
        """Return which modules are wrong or weak."""
        return self.wrong | self.weak


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SymbolGrade:
    """The grade of a symbol in a picture: indicative, not a verifier."""

    symbology: "Symbology"
    """Which kind."""
    version: str
    """Its size, by its standard's name."""
    text: str
    """What it says, the group separator as U+001D."""
    corners: tuple[tuple[float, float], ...]
    """Its corners in the picture, pixels, clockwise from its own top left."""
    method: GradeMethod
    """Whole or continuous grades."""
    parameters: tuple[Parameter, ...]
    """All that was measured."""
    grade: float
    """The lowest grade of a matrix symbol; the mean over the scan lines of a linear one. 4 is best."""
    pixels_per_module: float
    """Average size of a module in the picture, pixels."""
    x: Mm | None
    """Size of a printed module, if the caller knows it."""
    basis: str
    """What the reflectances rest on."""
    segments: tuple[tuple[str, float], ...] = ()
    """Parts of the fixed pattern with their grades; none for linear symbols."""
    modules: ModuleMap | None = None
    """Every module of a matrix symbol; None for linear symbols."""

    @property
    def letter(self) -> str:
        """Return A, B, C, D or F."""
        return letter(self.grade)

    @property
    def aperture(self) -> str:
        """Return the aperture: in thousandths of an inch if X is known, else as a share of X."""
        if self.x is None:
            return f"{APERTURE_SHARE:g}X"
        return f"{round(APERTURE_SHARE * self.x / MM_PER_INCH * _THOUSANDTHS):02d}"

    @property
    def overall(self) -> str:
        """Return grade/aperture/light/angle with its mark; a picture knows neither light nor angle."""
        return f"{self.grade:.1f}/{self.aperture}/light unknown/angle unknown ({INDICATIVE})"

    @property
    def weakest(self) -> Parameter:
        """Return the parameter with the lowest grade, the first of several."""
        graded = [parameter for parameter in self.parameters if parameter.grade is not None]
        return min(graded, key=lambda parameter: parameter.grade or 0.0)

    def find(self, name: ParameterName) -> Parameter | None:
        """Find a parameter; None if this kind of symbol has none of that name."""
        return next((parameter for parameter in self.parameters if parameter.name is name), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class NotGraded:
    """A finding in place of a grade: the picture gives no basis for one."""

    reason: str
    """One sentence for people: what is the matter and what would help."""
    text: str | None = None
    """What the symbol says, if it was read."""
    pixels_per_module: float | None = None
    """Average size of a module in the picture, if it is known."""


def too_few_pixels(pixels: float) -> str:
    """Return the reason of a symbol that is too small in the picture.

    Args:
        pixels: size of a module.
    """
    return (
        f"too few pixels to grade: {pixels:.1f} a module, at least {FEWEST_PIXELS:g} are needed; go nearer or scan at "
        "a higher resolution"
    )
