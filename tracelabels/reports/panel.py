"""One panel of a chart: values over time within a frame, marks on its axes, labels that never overlap."""

import math
from collections.abc import Iterable, Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tracelabels.cycles import Readings, Span
from tracelabels.lengths import MM_PER_INCH, Mm, Points
from tracelabels.reports.marks import Area, Box, Line, Mark, Words, as_points, filled, framed, line, words, words_ending
from tracelabels.reports.thinning import pieces
from tracelabels.reports.ticks import Ticks

SMALL: Final = Points(6.5)
"""Type size of everything in a chart."""
ROOM: Final = 2.9
"""Room for one line of that size, in millimetres."""
TICK: Final = 1.0
_PER_INCH: Final = 200
"""Columns of pixels that a curve is thinned out to."""
_DOT: Final = 0.35
_FRAME: Final = 0.2


class Labels:
    """The labels placed so far; one that would run into another, or out of its room, is not placed."""

    def __init__(self, within: Box) -> None:
        """Begin without labels.

        Args:
            within: the room for all of them.
        """
        self._within = within
        self.placed: list[Words] = []

    def place(self, *candidates: Words, within: Box | None = None) -> bool:
        """Place the first of several ways to set a label that fits; say whether one did."""
        for one in candidates:
            box = one.box
            if not (within or self._within).holds(box) or any(box.overlaps(other.box) for other in self.placed):
                continue
            self.placed.append(one)
            return True
        return False


class Panel:
    """Values over time within a frame."""

    def __init__(self, box: Box, *, reach_s: float, least: float, greatest: float) -> None:
        """Take the frame, and what it spans.

        Args:
            box: the frame.
            reach_s: the time at its right edge, in seconds; its left edge is 0.
            least: the value at its bottom.
            greatest: the value at its top.
        """
        self.box = box
        self._reach_s = reach_s
        self._least, self._greatest = least, greatest

    @classmethod
    def over(cls, box: Box, ticks: Ticks, *, reach_s: float) -> "Panel":
        """Return a panel that spans the marks of its axis."""
        return cls(box, reach_s=reach_s, least=ticks.values[0], greatest=ticks.values[-1])

    def x(self, seconds: float) -> float:
        """Return where a time lies, from the page's left edge."""
        return self.box.left + self.box.width * seconds / self._reach_s

    def y(self, value: float) -> float:
        """Return where a value lies, from the page's top edge."""
        return self.box.bottom - self.box.height * (value - self._least) / (self._greatest - self._least)

    def frame(self) -> Line:
        """Return its outline."""
        return framed(self.box, _FRAME)

    def shade(self, span: Span, grey: float) -> Area:
        """Return a stretch of time, filled."""
        left, right = self.x(span.start_s), self.x(span.end_s)
        return filled(Box(left=Mm(left), top=self.box.top, right=Mm(right), bottom=self.box.bottom), grey)

    def level(self, value: float, *, thickness: float, dashes: Sequence[float] = (), grey: float = 0.0) -> Line:
        """Return a line across at a value."""
        ends = as_points(((self.box.left, self.y(value)), (self.box.right, self.y(value))))
        pattern = tuple(map(Mm, dashes))
        return Line(points=ends, thickness=Mm(thickness), dashes=pattern, grey=grey, clip=self.box)

    def upright(self, seconds: float, *, thickness: float, dashes: Sequence[float] = (), grey: float = 0.0) -> Line:
        """Return a line from top to bottom at a time."""
        ends = as_points(((self.x(seconds), self.box.top), (self.x(seconds), self.box.bottom)))
        return Line(points=ends, thickness=Mm(thickness), dashes=tuple(map(Mm, dashes)), grey=grey)

    def curve(
        self,
        readings: Readings,
        values: NDArray[np.float64],
        *,
        thickness: float,
        dashes: Sequence[float] = (),
        grey: float = 0.0,
    ) -> tuple[Line, ...]:
        """Return the values over time, broken where one is missing; one that stands alone is a dot."""
        found = []
        for piece in self._pieces(readings, values):
            is_alone = len(piece) == 1
            points = piece[[0, 0]] + ((-_DOT, 0.0), (_DOT, 0.0)) if is_alone else piece
            pattern = () if is_alone else tuple(map(Mm, dashes))
            course = as_points(points.tolist())
            found.append(Line(points=course, thickness=Mm(thickness), dashes=pattern, grey=grey, clip=self.box))
        return tuple(found)

    def area(self, readings: Readings, values: NDArray[np.float64], *, grey: float) -> tuple[Area, ...]:
        """Return what lies between values over time and zero, filled."""
        zero = self.y(0.0)
        return tuple(
            Area(
                points=as_points([(piece[0, 0], zero), *piece.tolist(), (piece[-1, 0], zero)]), grey=grey, clip=self.box
            )
            for piece in self._pieces(readings, values)
        )

    def dots(self, readings: Readings, values: NDArray[np.float64]) -> tuple[Area, ...]:
        """Return a small square for each value: what was read, where there are few readings."""
        there = np.isfinite(values)
        places = zip(readings.seconds[there].tolist(), values[there].tolist(), strict=True)
        return tuple(
            filled(Box(left=Mm(x - _DOT), top=Mm(y - _DOT), right=Mm(x + _DOT), bottom=Mm(y + _DOT)), 0.0)
            for x, y in ((self.x(seconds), self.y(value)) for seconds, value in places)
        )

    def crosses(self, readings: Readings, values: NDArray[np.float64], box: Box) -> bool:
        """Say whether a curve may run through a rectangle: its values beside it reach from above to below its edges."""
        there = np.isfinite(values)
        if not there.any():
            return False
        edges = (np.array([box.left, box.right]) - self.box.left) / self.box.width * self._reach_s
        seconds, measured = readings.seconds[there], values[there]
        beside = measured[(seconds >= edges[0]) & (seconds <= edges[1])]
        heights = np.concatenate([beside, np.interp(edges, seconds, measured)])
        return bool(self.y(heights.max()) <= box.bottom and self.y(heights.min()) >= box.top)

    def _pieces(self, readings: Readings, values: NDArray[np.float64]) -> list[NDArray[np.float64]]:
        x = self.box.left + self.box.width * readings.seconds / self._reach_s
        y = self.box.bottom - self.box.height * (values - self._least) / (self._greatest - self._least)
        breaks = np.array([self.x((gap.start_s + gap.end_s) / 2) for gap in readings.gaps])
        return pieces(x, y, columns=math.ceil(self.box.width * _PER_INCH / MM_PER_INCH), breaks=breaks)


def side_axis(
    panel: Panel, labels: Labels, marks: Iterable[tuple[float, str]], *, is_right: bool = False
) -> tuple[Mark, ...]:
    """Return the little lines of an axis; its numbers are placed where there is room, the first ones first.

    Args:
        panel: whose axis.
        labels: where the numbers are placed.
        marks: value and number of each.
        is_right: the axis stands on the right.
    """
    edge, out = (panel.box.right, TICK) if is_right else (panel.box.left, -TICK)
    found = []
    for value, text in marks:
        y = panel.y(value)
        set_words = words if is_right else words_ending
        if labels.place(set_words(text, edge + 1.6 * out, y + 0.8, size=SMALL)):
            found.append(line(((edge, y), (edge + out, y)), _FRAME))
    return tuple(found)
