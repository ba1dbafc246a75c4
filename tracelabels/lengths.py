"""Lengths carry their unit in the type, so that millimetres never meet printer dots by accident.

The types cost nothing at run time; the type checker keeps them apart.
"""

from typing import NewType

Mm = NewType("Mm", float)
"""A length in millimetres."""

Dots = NewType("Dots", int)
"""A length in whole printer dots; its size follows from the printer's resolution in dots per inch."""

Modules = NewType("Modules", int)
"""A length in modules, the smallest square (or bar) of a symbol."""

Points = NewType("Points", float)
"""A type size in points of 1/72 inch."""

MM_PER_INCH = 25.4
POINTS_PER_INCH = 72.0


def dot_size(dpi: int) -> Mm:
    """Return the size of one printer dot in millimetres.

    >>> round(dot_size(300), 4)
    0.0847
    """
    return Mm(MM_PER_INCH / dpi)


def nearest_dots(length: Mm, dpi: int) -> Dots:
    """Round a length to the nearest whole printer dot.

    >>> nearest_dots(Mm(0.38), 300)
    4
    """
    return Dots(round(length * dpi / MM_PER_INCH))


def whole_dots_within(length: Mm, dpi: int) -> Dots:
    """Return how many whole printer dots fit into a length (a rounding error of a millionth of a dot is forgiven).

    >>> whole_dots_within(Mm(0.38), 300)
    4
    """
    return Dots(int(length * dpi / MM_PER_INCH + 1e-6))


def dots_as_mm(dots: int, dpi: int) -> Mm:
    """Return the length in millimetres of so many printer dots.

    >>> round(dots_as_mm(4, 300), 3)
    0.339
    """
    return Mm(dots * MM_PER_INCH / dpi)


def points_as_mm(points: float) -> Mm:
    """Return a type size in millimetres.

    >>> round(points_as_mm(6.0), 3)
    2.117
    """
    return Mm(points * MM_PER_INCH / POINTS_PER_INCH)
