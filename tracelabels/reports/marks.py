"""What is drawn, as values: where every text, line and area lies. Laid out once; paper and screen draw from them."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Final, TypeAlias

from tracelabels.lengths import Mm, Points
from tracelabels.paper import Face, ascent, descent, shown, text_width

Point: TypeAlias = tuple[Mm, Mm]
"""From a page's left edge, from its top edge."""

LEADING: Final = 1.25
"""From line to line, in type sizes: ascent and descent of the face with a little air."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """A rectangle on a page."""

    left: Mm
    """From the page's left edge."""
    top: Mm
    """From the page's top edge."""
    right: Mm
    """From the page's left edge."""
    bottom: Mm
    """From the page's top edge."""

    @property
    def width(self) -> Mm:
        """Return how wide it is."""
        return Mm(self.right - self.left)

    @property
    def height(self) -> Mm:
        """Return how high it is."""
        return Mm(self.bottom - self.top)

    def overlaps(self, other: "Box") -> bool:
        """Say whether two rectangles share more than an edge."""
        beside = self.right <= other.left or other.right <= self.left
        return not (beside or self.bottom <= other.top or other.bottom <= self.top)

    def holds(self, other: "Box") -> bool:
        """Say whether another lies within it."""
        is_within = self.left <= other.left and other.right <= self.right
        return is_within and self.top <= other.top and other.bottom <= self.bottom

    def moved(self, *, right: float, down: float) -> "Box":
        """Return the same elsewhere."""
        return box_of(self.left + right, self.top + down, self.width, self.height)

    @property
    def corners(self) -> tuple[Point, ...]:
        """Return its corners, going round."""
        left, top, right, bottom = self.left, self.top, self.right, self.bottom
        return (left, top), (right, top), (right, bottom), (left, bottom)


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """One line of text."""

    text: str
    """What it says; what the face lacks is named by its number."""
    left: Mm
    """Where it begins."""
    baseline: Mm
    """Where its letters stand."""
    size: Points
    """Type size."""
    face: Face = Face.REGULAR
    """Weight."""
    grey: float = 0.0
    """From 0 (black) to 1 (white)."""
    is_ending: bool = False
    """Whether its end was placed and not its beginning; then a reader with another face keeps the end."""

    @property
    def box(self) -> Box:
        """Return the room that it takes, accents and tails included."""
        return Box(
            left=self.left,
            top=Mm(self.baseline - ascent(self.size)),
            right=Mm(self.left + text_width(self.text, self.face, self.size)),
            bottom=Mm(self.baseline + descent(self.size)),
        )

    def moved(self, *, right: float, down: float) -> "Words":
        """Return the same elsewhere."""
        return replace(self, left=Mm(self.left + right), baseline=Mm(self.baseline + down))


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """Straight lines from point to point."""

    points: tuple[Point, ...]
    """Where it goes."""
    thickness: Mm
    """How thick it is."""
    grey: float = 0.0
    """From 0 (black) to 1 (white)."""
    dashes: tuple[Mm, ...] = ()
    """Lengths of dash, gap and so on; none for an unbroken line."""
    clip: Box | None = None
    """Within what it shows."""

    def moved(self, *, right: float, down: float) -> "Line":
        """Return the same elsewhere."""
        clip = None if self.clip is None else self.clip.moved(right=right, down=down)
        return replace(self, points=_moved(self.points, right, down), clip=clip)


@dataclass(frozen=True, slots=True, kw_only=True)
class Area:
    """What a closed line holds, filled."""

    points: tuple[Point, ...]
    """Its corners."""
    grey: float
    """From 0 (black) to 1 (white)."""
    clip: Box | None = None
    """Within what it shows."""

    def moved(self, *, right: float, down: float) -> "Area":
        """Return the same elsewhere."""
        clip = None if self.clip is None else self.clip.moved(right=right, down=down)
        return replace(self, points=_moved(self.points, right, down), clip=clip)


Mark: TypeAlias = Words | Line | Area


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """One page."""

    width: Mm
    """How wide."""
    height: Mm
    """How high."""
    marks: tuple[Mark, ...]
    """What stands on it; later ones lie over earlier ones."""

    @property
    def words(self) -> tuple[Words, ...]:
        """Return its texts."""
        return tuple(mark for mark in self.marks if isinstance(mark, Words))


def words(
    text: str, left: float, baseline: float, *, size: Points, face: Face = Face.REGULAR, grey: float = 0.0
) -> Words:
    """Return one line of text that begins at a place, in characters that the face has."""
    return Words(text=shown(text), left=Mm(left), baseline=Mm(baseline), size=size, face=face, grey=grey)


def words_ending(
    text: str, right: float, baseline: float, *, size: Points, face: Face = Face.REGULAR, grey: float = 0.0
) -> Words:
    """Return one line of text that ends at a place."""
    left = right - text_width(shown(text), face, size)
    return replace(words(text, left, baseline, size=size, face=face, grey=grey), is_ending=True)


def line(points: Iterable[tuple[float, float]], thickness: float, *, grey: float = 0.0) -> Line:
    """Return an unbroken line through points."""
    return Line(points=as_points(points), thickness=Mm(thickness), grey=grey)


def box_of(left: float, top: float, width: float, height: float) -> Box:
    """Return a rectangle by its corner and size."""
    return Box(left=Mm(left), top=Mm(top), right=Mm(left + width), bottom=Mm(top + height))


def filled(box: Box, grey: float) -> Area:
    """Return a filled rectangle."""
    return Area(points=box.corners, grey=grey)


def framed(box: Box, thickness: float, *, grey: float = 0.0) -> Line:
    """Return a rectangle's outline."""
    return line((*box.corners, box.corners[0], box.corners[1]), thickness, grey=grey)


def as_points(points: Iterable[tuple[float, float]]) -> tuple[Point, ...]:
    """Return pairs of numbers as points in millimetres."""
    return tuple((Mm(x), Mm(y)) for x, y in points)


def _moved(points: tuple[Point, ...], right: float, down: float) -> tuple[Point, ...]:
    return tuple((Mm(x + right), Mm(y + down)) for x, y in points)
