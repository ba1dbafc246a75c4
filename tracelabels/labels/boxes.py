"""The room that the parts of a layout take, and where boxes meet."""

import math
from dataclasses import dataclass
from typing import Final

from tracelabels.labels.layouts import Align, FieldPlace, FixedText, Rule
from tracelabels.labels.legible import DIGIT_FIELDS
from tracelabels.lengths import Mm, Points, points_as_mm
from tracelabels.paper import cap_height, descent, text_width

LINE_PITCH: Final = 1.18
"""From baseline to baseline, in type sizes."""

CAPTION_GAP: Final = Mm(0.45)
"""Between the feet of a caption that stands above and the tops of the text below it."""

_TOUCH: Final = 0.01


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """An upright rectangle in millimetres, y downwards.

    Attributes:
        left: Left edge.
        top: Top edge.
        right: Right edge.
        bottom: Bottom edge.
    """

    left: float
    top: float
    right: float
    bottom: float

    def __str__(self) -> str:
        """Show it in a message."""
        return f"{self.left:.2f} to {self.right:.2f} x {self.top:.2f} to {self.bottom:.2f}"

    def lies_within(self, width: float, height: float) -> bool:
        """Say whether it lies within a label of that size."""
        return self.left >= 0 and self.top >= 0 and self.right <= width and self.bottom <= height

    def overlaps(self, other: "Box") -> bool:
        """Say whether two boxes share more than an edge."""
        return (
            min(self.right, other.right) - max(self.left, other.left) > _TOUCH
            and min(self.bottom, other.bottom) - max(self.top, other.top) > _TOUCH
        )

    def reach_from(self, x: float, y: float) -> float:
        """Return how far its furthest corner lies from a point."""
        return math.hypot(max(x - self.left, self.right - x), max(y - self.top, self.bottom - y))


def line_pitch(size: Points) -> Mm:
    """Return the distance between baselines."""
    return Mm(points_as_mm(size) * LINE_PITCH)


def usual_caption_rise(largest: Points) -> Mm:
    """Return how far a caption's baseline stands above a text's, whatever size the text takes in the end."""
    return Mm(cap_height(largest) + CAPTION_GAP)


def extent_of_field(field: FieldPlace) -> Box:
    """Return the room that a field may take: its lines at the largest size, and its caption."""
    above = cap_height(field.largest)
    below = Mm(0.0) if field.content in DIGIT_FIELDS else descent(field.largest)
    if field.turned:
        return Box(
            left=field.left - above, top=field.baseline - field.width, right=field.left + below, bottom=field.baseline
        )
    top = field.baseline - above
    if field.caption and not field.caption_width:
        top = field.baseline - field.caption_rise - cap_height(field.caption_size)
    bottom = field.baseline + max(0.0, field.height - above) + below
    return Box(left=field.left, top=top, right=field.left + field.width, bottom=bottom)


def extent_of_text(text: FixedText) -> Box:
    """Return the room that fixed words take."""
    width = text_width(text.text, text.weight.face, text.size)
    above, below = cap_height(text.size), descent(text.size)
    start = text.left - aligned(width, text.align)
    if text.turned:
        low = text.baseline + aligned(width, text.align)
        return Box(left=text.left - above, top=low - width, right=text.left + below, bottom=low)
    return Box(left=start, top=text.baseline - above, right=start + width, bottom=text.baseline + below)


def extent_of_rule(rule: Rule) -> Box:
    """Return the room that a line takes."""
    (x0, y0), (x1, y1), half = rule.start, rule.end, rule.thickness / 2
    return Box(left=min(x0, x1), top=min(y0, y1) - half, right=max(x0, x1), bottom=max(y0, y1) + half)


def aligned(width: float, align: Align) -> float:
    """Return how far before its point of reference a text of a width begins."""
    match align:
        case Align.LEFT:
            return 0.0
        case Align.CENTRE:
            return width / 2
        case Align.RIGHT:
            return width
