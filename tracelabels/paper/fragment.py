"""A piece of drawing with its own origin, recorded once and stamped on pages as often as needed.

Coordinates are millimetres from the fragment's top left, y downwards; they are turned into PDF operators
(ISO 32000-1, 8.5 path construction and 9.4 text objects) as they come.
"""

import math
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from functools import cache
from typing import Final, Protocol

from tracelabels.lengths import MM_PER_INCH, POINTS_PER_INCH, Dots, Mm, Points
from tracelabels.paper.faces import Face

POINTS_PER_MM: Final = POINTS_PER_INCH / MM_PER_INCH
_CIRCLE_CONTROL: Final = 4 / 3 * (math.sqrt(2) - 1)  # the Bezier arm that draws a quarter circle within 0.03 %

TURNS: Final = ("1 0 0 1", "0 1 -1 0", "-1 0 0 -1", "0 -1 1 0")
"""Rotation part of a PDF matrix for 0 to 3 quarter turns counter-clockwise."""


class FontShelf(Protocol):
    """What a fragment needs of its document: text as operators that show it in an embedded font."""

    def show(self, text: str, face: Face) -> tuple[tuple[str, str], ...]:
        """Return (font resource name, show operand) for each run of a text."""


@cache
def _run(row: int, start: int, end: int) -> str:
    return f"{start} {row} {end - start} 1 re "


class Fragment:
    """Text, lines and outlines in millimetres. Get one from :meth:`tracelabels.paper.Paper.fragment`."""

    __slots__ = ("_fonts", "_ops")

    def __init__(self, fonts: FontShelf) -> None:
        """Start an empty fragment that belongs to one document."""
        self._fonts = fonts
        self._ops: list[str] = []

    @property
    def operators(self) -> str:
        """The drawing so far, as PDF operators with the fragment's top left at the origin."""
        return "".join(self._ops)

    def text(
        self,
        text: str,
        *,
        left: Mm,
        baseline: Mm,
        size: Points,
        face: Face = Face.REGULAR,
        quarter_turns: int = 0,
        grey: float = 0.0,
    ) -> None:
        """Write one line of text; quarter turns are counter-clockwise about its start."""
        at = f"{TURNS[quarter_turns % 4]} {left * POINTS_PER_MM:.4f} {-baseline * POINTS_PER_MM:.4f} Tm"
        runs = " ".join([f"{font} {size:g} Tf {operand} Tj" for font, operand in self._fonts.show(text, face)])
        written = f"BT {at} {runs} ET\n"
        self._ops.append(f"{grey:g} g {written}0 g\n" if grey else written)

    def line(self, *, from_: tuple[Mm, Mm], to: tuple[Mm, Mm], thickness: Mm) -> None:
        """Draw a straight line between two points (left, top)."""
        (x0, y0), (x1, y1) = from_, to
        self._ops.append(
            f"{thickness * POINTS_PER_MM:.4f} w {x0 * POINTS_PER_MM:.4f} {-y0 * POINTS_PER_MM:.4f} m "
            f"{x1 * POINTS_PER_MM:.4f} {-y1 * POINTS_PER_MM:.4f} l S\n"
        )

    def rectangle(
        self, *, left: Mm, top: Mm, width: Mm, height: Mm, radius: Mm = Mm(0.0), thickness: Mm = Mm(0.1)
    ) -> None:
        """Outline a rectangle, its corners rounded if a radius is given."""
        x, y = left * POINTS_PER_MM, -top * POINTS_PER_MM
        w, h, r = width * POINTS_PER_MM, height * POINTS_PER_MM, radius * POINTS_PER_MM
        pen = f"{thickness * POINTS_PER_MM:.4f} w "
        if r <= 0:
            self._ops.append(f"{pen}{x:.4f} {y - h:.4f} {w:.4f} {h:.4f} re S\n")
            return
        r = min(r, w / 2, h / 2)
        k = r * (1 - _CIRCLE_CONTROL)
        right, low = x + w, y - h
        curves = (
            (x + r, y, right - r, y, right - k, y, right, y - k, right, y - r),
            (right, y - r, right, low + r, right, low + k, right - k, low, right - r, low),
            (right - r, low, x + r, low, x + k, low, x, low + k, x, low + r),
            (x, low + r, x, y - r, x, y - k, x + k, y, x + r, y),
        )
        path = "".join(
            "{:.4f} {:.4f} l {:.4f} {:.4f} {:.4f} {:.4f} {:.4f} {:.4f} c ".format(*curve[2:]) for curve in curves
        )
        self._ops.append(f"{pen}{x + r:.4f} {y:.4f} m {path}h S\n")

    def circle(self, *, centre: tuple[Mm, Mm], radius: Mm, thickness: Mm = Mm(0.1)) -> None:
        """Outline a circle about a point (left, top)."""
        (x, y), d = centre, Mm(radius * 2)
        self.rectangle(left=Mm(x - radius), top=Mm(y - radius), width=d, height=d, radius=radius, thickness=thickness)

    def solid(self, *, left: Mm, top: Mm, width: Mm, height: Mm, grey: float = 0.0) -> None:
        """Fill a rectangle, black unless a grey level from 0 (black) to 1 (white) is given."""
        k = POINTS_PER_MM
        box = f"{left * k:.4f} {-(top + height) * k:.4f} {width * k:.4f} {height * k:.4f} re f\n"
        self._ops.append(f"{grey:g} g {box}0 g\n" if grey else box)

    def curve(
        self, points: Sequence[tuple[Mm, Mm]], *, thickness: Mm, grey: float = 0.0, dashes: Sequence[Mm] = ()
    ) -> None:
        """Draw straight lines from point (left, top) to point; fewer than two points draw nothing.

        Args:
            points: where it goes.
            thickness: of the line.
            grey: from 0 (black) to 1 (white).
            dashes: lengths of dash, gap, dash, gap and so on; none for an unbroken line.
        """
        if len(points) < 2:  # noqa: PLR2004  a line has two ends
            return
        # Joins are round: a mitred peak would reach beyond the reading that it stands for.
        pen = f"1 j {grey:g} G {thickness * POINTS_PER_MM:.4f} w "
        if dashes:
            pen += f"[{' '.join(f'{length * POINTS_PER_MM:.4f}' for length in dashes)}] 0 d "
        self._ops.append(f"{pen}{_path(points)}S 0 G 0 j{' [] 0 d' if dashes else ''}\n")

    def polygon(self, points: Sequence[tuple[Mm, Mm]], *, grey: float = 0.0) -> None:
        """Fill what a closed line through points (left, top) holds; fewer than three points fill nothing."""
        if len(points) >= 3:  # noqa: PLR2004  an area has three corners
            self._ops.append(f"{grey:g} g {_path(points)}h f 0 g\n")

    @contextmanager
    def clipped(self, *, left: Mm, top: Mm, width: Mm, height: Mm) -> Iterator[None]:
        """Show of what is drawn meanwhile only what lies within a rectangle."""
        k = POINTS_PER_MM
        self._ops.append(f"q {left * k:.4f} {-(top + height) * k:.4f} {width * k:.4f} {height * k:.4f} re W n\n")
        yield
        self._ops.append("Q\n")


def _path(points: Sequence[tuple[Mm, Mm]]) -> str:
    k = POINTS_PER_MM
    (x, y), *rest = points
    return f"{x * k:.4f} {-y * k:.4f} m " + "".join([f"{x * k:.4f} {-y * k:.4f} l " for x, y in rest])


def symbol_path(
    runs: list[tuple[int, int, int]], *, left: Dots, top: Dots, x: Dots, dpi: int, page_height: float
) -> str:
    """Return the operators that fill a symbol's dark runs on whole printer dots.

    Args:
        runs: (row, first column, column after the last) of each dark run, in modules.
        left: the symbol's left edge from the page's left edge.
        top: the symbol's top edge from the page's top edge.
        x: the size of a module.
        dpi: the printer's resolution.
        page_height: in points.
    """
    dot = POINTS_PER_INCH / dpi
    module = x * dot
    rectangles = "".join([_run(*run) for run in runs])
    return f"q {module:.6f} 0 0 {-module:.6f} {left * dot:.6f} {page_height - top * dot:.6f} cm {rectangles}f Q\n"
