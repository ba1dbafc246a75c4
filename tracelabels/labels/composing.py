"""Drawing the words and lines of a label; the code is drawn elsewhere.

What repeats from label to label (captions, lines, product, batch, dates) is set once and stamped again; the
serial and the number of the copy are set for each label.
"""

from dataclasses import dataclass
from typing import Final, Protocol

from tracelabels.errors import LabelError
from tracelabels.labels.boxes import aligned, line_pitch
from tracelabels.labels.content import SERIAL_FIELDS, ContentField, LabelContent, LotKind, find_text
from tracelabels.labels.fitting import FittedText, Room, clean_text, find_fitted, what_would_fit
from tracelabels.labels.layouts import FieldPlace, FixedText, Layout
from tracelabels.lengths import Mm, Points
from tracelabels.paper import Face, cap_height, text_width

WRITE_IN_RULE: Final = Mm(0.12)
"""Thickness of the line to write on."""

_MOST_KEPT: Final = 512
_EACH_LABEL: Final = SERIAL_FIELDS | {ContentField.COPY}


class Drawing(Protocol):
    """What a label is drawn on: a fragment of a page, or a recorder."""

    def text(
        self, text: str, *, left: Mm, baseline: Mm, size: Points, face: Face = ..., quarter_turns: int = ...
    ) -> None:
        """Write one line of text."""

    def line(self, *, from_: tuple[Mm, Mm], to: tuple[Mm, Mm], thickness: Mm) -> None:
        """Draw a straight line."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Composition:
    """A label's texts, checked and ready to be drawn.

    Attributes:
        recurring: The texts that other labels may share, in the order of the layout's recurring fields.
        single: The texts of this label alone, in the order of the layout's other fields.
        lot_kind: What the lot is.
    """

    recurring: tuple[str | None, ...]
    single: tuple[str | None, ...]
    lot_kind: LotKind


class Composer:
    """Sets the words of one layout."""

    __slots__ = ("_fitted", "_layout", "_recurring", "_single")

    def __init__(self, layout: Layout) -> None:
        """Prepare for a layout."""
        self._layout = layout
        self._recurring = tuple(field for field in layout.fields if field.content not in _EACH_LABEL)
        self._single = tuple(field for field in layout.fields if field.content in _EACH_LABEL)
        self._fitted: dict[tuple[ContentField, str], FittedText] = {}

    def compose(self, content: LabelContent, *, copy: int, copies: int) -> Composition:
        """Collect a label's texts.

        Raises:
            LabelError: If a required fact is missing.
        """
        mark = f"{copy}/{copies}" if copies > 1 else None
        return Composition(
            recurring=tuple([self._text(field, content) for field in self._recurring]),
            single=tuple(
                [mark if field.content is ContentField.COPY else self._text(field, content) for field in self._single]
            ),
            lot_kind=content.lot_kind,
        )

    def _text(self, field: FieldPlace, content: LabelContent) -> str | None:
        text = find_text(content, field.content)
        if text is None and field.required:
            raise LabelError(
                given=f"a label without {field.content}",
                expected=f"a value for it, as layout {self._layout.name} shows it on every label",
                remedy="add it, or choose another layout",
            )
        return text

    def draw_recurring(self, drawing: Drawing, composition: Composition) -> None:
        """Draw the fixed words, the lines, and the facts that other labels may share.

        Raises:
            LabelError: If a fact cannot be set whole and legibly.
        """
        for rule in self._layout.rules:
            drawing.line(from_=rule.start, to=rule.end, thickness=rule.thickness)
        for text in self._layout.texts:
            _draw_fixed(drawing, text)
        for field, value in zip(self._recurring, composition.recurring, strict=True):
            self._draw_field(drawing, field, value, composition.lot_kind)

    def draw_single(self, drawing: Drawing, composition: Composition) -> None:
        """Draw the serial and the number of the copy.

        Raises:
            LabelError: If one cannot be set whole and legibly.
        """
        for field, value in zip(self._single, composition.single, strict=True):
            self._draw_field(drawing, field, value, composition.lot_kind)

    def _draw_field(self, drawing: Drawing, field: FieldPlace, value: str | None, lot_kind: LotKind) -> None:
        if not value and not field.write_in:
            return
        _draw_caption(drawing, field, lot_kind)
        if value:
            _draw_lines(drawing, field, self._fit(field, value))
        else:
            start, level = Mm(field.left + field.caption_width), Mm(field.baseline + 0.3)
            drawing.line(from_=(start, level), to=(Mm(field.left + field.width), level), thickness=WRITE_IN_RULE)

    def _fit(self, field: FieldPlace, value: str) -> FittedText:
        if field.content in _EACH_LABEL:
            return fit_field(field, value)
        key = (field.content, value)
        fitted = self._fitted.get(key)
        if fitted is None:
            if len(self._fitted) >= _MOST_KEPT:
                self._fitted.clear()
            fitted = self._fitted[key] = fit_field(field, value)
        return fitted


def room_of(field: FieldPlace) -> Room:
    """Return the place that a field's text is fitted into."""
    return Room(
        width=Mm(field.width - field.caption_width),
        height=field.height,
        largest=field.largest,
        smallest=field.smallest,
        face=field.weight.face,
        shorten=field.shorten,
    )


def fit_field(field: FieldPlace, value: str) -> FittedText:
    """Fit a value into its field.

    Raises:
        LabelError: If it does not fit whole at the smallest size, or has a character that the face lacks.
    """
    text, room = clean_text(value), room_of(field)
    fitted = find_fitted(text, room)
    if fitted is None:
        raise _no_fit(field, text, room)
    return fitted


def _no_fit(field: FieldPlace, text: str, room: Room) -> LabelError:
    place = f"{room.width:g} x {room.height:g} mm" if room.height else f"1 line of {room.width:g} mm"
    return LabelError(
        given=f"{field.content} '{text}' in a place of {place}",
        expected=f"a text that fits whole at {room.smallest:g} pt",
        remedy=f"it needs {what_would_fit(text, room)}: choose a layout with more room or a shorter text",
    )


def _draw_caption(drawing: Drawing, field: FieldPlace, lot_kind: LotKind) -> None:
    caption = field.caption
    if lot_kind is LotKind.PREPARATION and field.content is ContentField.LOT:
        caption = field.caption_for_preparation or caption
    if not caption:
        return
    if field.caption_width:
        drawing.text(caption, left=field.left, baseline=field.baseline, size=field.caption_size, face=Face.REGULAR)
        return
    width = text_width(caption, Face.REGULAR, field.caption_size)
    left = field.left + aligned(field.width, field.align) - aligned(width, field.align)
    drawing.text(
        caption,
        left=Mm(left),
        baseline=Mm(field.baseline - field.caption_rise),
        size=field.caption_size,
        face=Face.REGULAR,
    )


def _draw_lines(drawing: Drawing, field: FieldPlace, fitted: FittedText) -> None:
    face, pitch = field.weight.face, line_pitch(fitted.size)
    room = field.width - field.caption_width
    # One line keeps its baseline whatever its size, so that a row of facts stays level; several hang from their top.
    first = field.baseline if not field.height else field.baseline - cap_height(field.largest) + cap_height(fitted.size)
    for number, (line, width) in enumerate(zip(fitted.lines, fitted.widths, strict=True)):
        run = field.caption_width + aligned(room, field.align) - aligned(width, field.align)
        if field.turned:
            drawing.text(
                line,
                left=field.left,
                baseline=Mm(field.baseline - run),
                size=fitted.size,
                face=face,
                quarter_turns=1,
            )
        else:
            baseline = Mm(first + number * pitch)
            drawing.text(line, left=Mm(field.left + run), baseline=baseline, size=fitted.size, face=face)


def _draw_fixed(drawing: Drawing, text: FixedText) -> None:
    face = text.weight.face
    before = aligned(text_width(text.text, face, text.size), text.align)
    if text.turned:
        drawing.text(
            text.text,
            left=text.left,
            baseline=Mm(text.baseline + before),
            size=text.size,
            face=face,
            quarter_turns=1,
        )
    else:
        drawing.text(text.text, left=Mm(text.left - before), baseline=text.baseline, size=text.size, face=face)
