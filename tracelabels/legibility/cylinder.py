"""What a tube's curve alone does to a matrix symbol: axial and grid non-uniformity in closed form.

Derived here, not published. A symbol of width W round a tube of diameter D is seen from far away, straight at its
middle line. A point at the angle t from that line is seen at R sin t; the symbol's edges lie at the half angle
a = W / D. So the symbol shrinks, in the direction round the tube only, to the share sin a / a, and the grid line at t
lies R sin t - R t sin a / a away from its place in an even grid with the same edges.

Grading uses ISO/IEC 15415: axial non-uniformity is the difference of the average module sizes in both directions over
their mean, grid non-uniformity the largest displacement of a grid intersection over X. X is the printed module, which
is also what is seen along the tube.
"""

import math

from tracelabels.errors import InputError
from tracelabels.lengths import Mm


def half_angle(width: Mm, diameter: Mm) -> float:
    """Return the angle in radians, seen from the tube's axis, between a symbol's middle and its edge.

    Args:
        width: the symbol's side that runs round the tube, without quiet zone.
        diameter: of the tube.

    Raises:
        InputError: a length is not positive, or the symbol reaches beyond what can be seen from one side.
    """
    if not (width > 0.0 and diameter > 0.0 and math.isfinite(width / diameter)):
        raise InputError(
            given=f"a symbol {width} mm wide round a tube of {diameter} mm",
            expected="two positive lengths",
            remedy="give both in millimetres",
        )
    angle = width / diameter
    if angle >= math.pi / 2.0:
        raise InputError(
            given=f"a symbol {width:g} mm wide round a tube of {diameter:g} mm",
            expected=f"less than half of the circumference, {math.pi * diameter / 2.0:.2f} mm",
            remedy="turn its short side round the tube, or use a smaller module",
        )
    return angle


def axial_ratio(width: Mm, diameter: Mm) -> float:
    """Return by which share the symbol shrinks in the direction round the tube, 0 to 1.

    >>> round(axial_ratio(Mm(5.0), Mm(10.0)), 4)
    0.9589
    """
    angle = half_angle(width, diameter)
    return math.sin(angle) / angle


def axial_nonuniformity(width: Mm, diameter: Mm) -> float:
    """Return the axial non-uniformity (a share) of a square-moduled symbol round a tube.

    >>> round(axial_nonuniformity(Mm(5.96), Mm(10.0)), 3)
    0.06
    """
    ratio = axial_ratio(width, diameter)
    return (1.0 - ratio) / ((1.0 + ratio) / 2.0)


def grid_nonuniformity(width: Mm, diameter: Mm, x: Mm) -> float:
    """Return the grid non-uniformity (a share of X) of a symbol round a tube.

    The displacement is largest where its slope is 0: at cos t = sin a / a. The intersections of a real grid need not
    fall there, so that a measurement stays at or a little below this value.

    Args:
        width: the symbol's side that runs round the tube, without quiet zone.
        diameter: of the tube.
        x: size of a printed module.

    >>> round(grid_nonuniformity(Mm(5.0), Mm(10.0), Mm(0.25)), 3)
    0.158
    """
    if not x > 0.0:
        raise InputError(given=f"a module of {x} mm", expected="a positive length", remedy="give it in millimetres")
    ratio = axial_ratio(width, diameter)
    angle = math.acos(ratio)
    return diameter / 2.0 * (math.sin(angle) - angle * ratio) / x
