"""Layouts: what goes where on a label, from TOML files that a practice can edit and add to.

A layout is drawn in its own frame of millimetres, measured from its top left. A tube's axis runs along x unless the
layout says otherwise; on the sheet the whole layout may be turned a quarter.
"""

from dataclasses import dataclass
from enum import StrEnum

from tracelabels.custody import LabelKind
from tracelabels.labels.content import ContentField
from tracelabels.lengths import Mm, Points
from tracelabels.paper import Face
from tracelabels.symbols import Symbology, TubeAxis


class Weight(StrEnum):
    """How heavy the type is."""

    REGULAR = "regular"
    BOLD = "bold"

    @property
    def face(self) -> Face:
        """Return the face that is drawn."""
        return Face.BOLD if self is Weight.BOLD else Face.REGULAR


class Align(StrEnum):
    """Where a text stands between the left and the right end of its place."""

    LEFT = "left"
    CENTRE = "centre"
    RIGHT = "right"


class Shorten(StrEnum):
    """What happens to a text that is too long even at its smallest size."""

    NEVER = "never"
    """The label is refused; it may still be set on several lines."""
    ABBREVIATE = "abbreviate"
    """It is cut after the last word that fits, and "…" shows that it was cut."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tube:
    """The round surface that a label goes on.

    Attributes:
        diameter: Outer diameter of the tube.
        axis: The side of the layout that lies along the tube; the other runs round it.
    """

    diameter: Mm
    axis: TubeAxis


@dataclass(frozen=True, slots=True, kw_only=True)
class SymbolPlace:
    """Where the code goes.

    Attributes:
        left: Left edge of its space, quiet zone included.
        top: Top edge of its space.
        width: Width of its space.
        height: Height of its space.
        symbologies: Kinds of symbol allowed, the most wished first.
        smallest_x: Smallest size of a module.
        largest_x: Largest size of a module.
    """

    left: Mm
    top: Mm
    width: Mm
    height: Mm
    symbologies: tuple[Symbology, ...]
    smallest_x: Mm
    largest_x: Mm


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldPlace:
    """Where a fact goes and how it is set.

    Attributes:
        content: Which fact.
        left: Left end of its place.
        baseline: Baseline of its line; of several, of the first one at the largest size.
        width: Width of its place, caption included if the caption stands before it.
        height: From the top of the first line's capitals to the last baseline; 0 for a single line.
        largest: Type size to begin with.
        smallest: Smallest type size.
        weight: Weight of the type.
        align: Where the text stands in its place.
        turned: Whether it reads upwards: the place then starts at (left, baseline) and its width runs up.
        caption: Small words that say what the fact is; empty for none.
        caption_for_preparation: The caption when the lot is a preparation number; empty for the same.
        caption_size: Type size of the caption.
        caption_width: Width kept for the caption before the text; 0 puts the caption above the text.
        caption_rise: From the text's baseline up to the baseline of a caption that stands above it.
        essential: Whether the fact is never cut nor set smaller than legible.
        required: Whether a label without this fact is refused.
        write_in: Whether a missing fact leaves a line to write on.
        shorten: What happens to a text that is too long.
    """

    content: ContentField
    left: Mm
    baseline: Mm
    width: Mm
    height: Mm
    largest: Points
    smallest: Points
    weight: Weight
    align: Align
    turned: bool
    caption: str
    caption_for_preparation: str
    caption_size: Points
    caption_width: Mm
    caption_rise: Mm
    essential: bool
    required: bool
    write_in: bool
    shorten: Shorten


@dataclass(frozen=True, slots=True, kw_only=True)
class FixedText:
    """Words that stand on every label of a layout.

    Attributes:
        text: The words.
        left: Left end of their place; the middle if centred, the right end if right-aligned.
        baseline: Their baseline.
        size: Type size.
        weight: Weight of the type.
        align: Which end of the text stands at ``left``.
        turned: Whether they read upwards.
    """

    text: str
    left: Mm
    baseline: Mm
    size: Points
    weight: Weight
    align: Align
    turned: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """A thin straight line.

    Attributes:
        start: Left and top of one end.
        end: Left and top of the other end.
        thickness: Thickness of the line.
    """

    start: tuple[Mm, Mm]
    end: tuple[Mm, Mm]
    thickness: Mm


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """What goes where on a label.

    Attributes:
        name: The file's name without its ending.
        title: What it is, in words.
        purpose: The tube or pouch that it is for, and where it goes on it.
        label_set: The set that it belongs to; a tube may have a cap disc and a side label.
        surface: What the label is for: of two labels of a serial on the same surface only one is ever valid.
        width: Smallest width of a label that takes it.
        height: Smallest height.
        widest: Largest width of a label that still serves (a tube is only so long).
        highest: Largest height.
        is_round: Whether it is a disc; width and height are then its diameter.
        tube: The round surface that it goes on; None if it lies flat.
        symbol: Where the code goes.
        fields: The facts.
        texts: Words on every label.
        rules: Lines on every label.
    """

    name: str
    title: str
    purpose: str
    label_set: str
    surface: LabelKind
    width: Mm
    height: Mm
    widest: Mm
    highest: Mm
    is_round: bool
    tube: Tube | None
    symbol: SymbolPlace
    fields: tuple[FieldPlace, ...]
    texts: tuple[FixedText, ...]
    rules: tuple[Rule, ...]

    def find_field(self, content: ContentField) -> FieldPlace | None:
        """Return the place of a fact, or None if the layout does not show it."""
        return next((field for field in self.fields if field.content is content), None)
