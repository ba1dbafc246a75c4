"""Invented contents for a layout that is checked without a list: the longest words that it takes, a usual code.

Nothing here is a real name, batch or number. The GTIN is the one of the figures in the GS1 General Specifications.
"""

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date
from typing import Final

from tracelabels.custody import LabelKind
from tracelabels.errors import TracelabelsError
from tracelabels.identifiers import IdentifierMode, LabelIdentity, format_serial
from tracelabels.labels import ContentField, ContentLine, LabelContent, Layout, smallest_legible
from tracelabels.labels.composing import fit_field, room_of
from tracelabels.labels.content import find_text
from tracelabels.labels.fitting import ELLIPSIS, find_fitted

_WORDS: Final = {
    ContentField.PRODUCT: "Rosehip, Oat Milk, Driftwood and Clay, blended and thinned for a second session",
    ContentField.ITEM_NUMBER: "TW-2047-118-B",
    ContentField.VOLUME: "0.25 mL of 1.5 mL",
    ContentField.CONTENTS: "Two trays, four cups, two handles, a stencil ruler, a needle holder and a blunt forceps",
    ContentField.STERILISER: "Steriliser 2, back room",
    ContentField.LOAD_NUMBER: "2-2026-1125-04",
    ContentField.OPERATOR: "MW",
    ContentField.NOTES: "Film side up, keep dry and dark until the day of use",
}
_GTIN: Final = "09501101530003"
_LOT: Final = "TW26K0471-2B93XC5D7"
USUAL_LOT: Final = 8
"""Characters of the sample's batch (no source: batches met in the trade have four to ten)."""

_USE_BY, _PREPARED = date(2027, 11, 30), date(2026, 11, 25)
_LINES: Final = tuple(
    ContentLine(name=name, item_number=f"P-{number:02d}", lot=f"55{number:02d}")
    for number, name in enumerate(("Rosehip", "Oat Milk", "Driftwood", "Clay", "Sand", "Fern"), start=1)
)


def sample_content(
    layout: Layout, *, mode: IdentifierMode = IdentifierMode.IN_HOUSE, lot_length: int = USUAL_LOT
) -> LabelContent:
    """Return an invented label for a layout: its words as long as the layout takes them whole and legibly.

    Args:
        layout: What is shown where.
        mode: How the code says it; in GS1 mode it carries a GTIN.
        lot_length: Characters of the batch, 1 to 19; fewer if its place takes no more.
    """
    content = LabelContent(
        identity=LabelIdentity(
            gtin=_GTIN if mode is IdentifierMode.GS1 else None,
            use_by=_USE_BY if _is_known(layout, ContentField.USE_BY) else None,
            prepared=_PREPARED if _is_known(layout, ContentField.PREPARED) else None,
            lot=_lot(layout, lot_length) if _is_known(layout, ContentField.LOT) else None,
            serial=format_serial(1, 471),
        ),
        mode=mode,
        product=_words(layout, ContentField.PRODUCT),
        item_number=_words(layout, ContentField.ITEM_NUMBER),
        volume=_words(layout, ContentField.VOLUME),
        contents=_words(layout, ContentField.CONTENTS),
        steriliser=_words(layout, ContentField.STERILISER),
        load_number=_words(layout, ContentField.LOAD_NUMBER),
        operator=_words(layout, ContentField.OPERATOR),
        notes=_words(layout, ContentField.NOTES),
        processed_on=_PREPARED if layout.find_field(ContentField.PROCESSED_ON) else None,
    )
    return replace(content, lines=_lines(layout, content))


def _is_known(layout: Layout, field: ContentField) -> bool:
    """Say whether the code carries a fact.

    The code of a cap or of a second label repeats all that its tube or pouch carries; on any other label a fact
    without a place is not there at all: an empty tube has no batch.
    """
    return layout.surface in {LabelKind.CAP, LabelKind.SECOND} or layout.find_field(field) is not None


def _lot(layout: Layout, length: int) -> str | None:
    return _longest(layout, ContentField.LOT, _LOT[:length], _cut_letters)


def _words(layout: Layout, field: ContentField) -> str | None:
    return _longest(layout, field, _WORDS[field], _cut_words)


def _longest(layout: Layout, field: ContentField, text: str, shorter: Callable[[str], Iterator[str]]) -> str | None:
    """Return as much of a text as its place takes whole, the whole text where the layout does not show it."""
    place = layout.find_field(field)
    if place is None:
        return text if field is ContentField.LOT else None
    room = room_of(place)
    room = replace(room, smallest=max(room.smallest, smallest_legible(field)))
    for candidate in shorter(text):
        fitted = find_fitted(candidate, room)
        if fitted is not None and not fitted.lines[-1].endswith(ELLIPSIS):
            return candidate
    return None


def _cut_words(text: str) -> Iterator[str]:
    """Yield a text with ever fewer words, then with ever fewer letters of the first."""
    words = text.split()
    for count in range(len(words), 0, -1):
        yield " ".join(words[:count]).rstrip(",")
    yield from _cut_letters(words[0].rstrip(",")[:-1])


def _cut_letters(text: str) -> Iterator[str]:
    for count in range(len(text), 0, -1):
        yield text[:count]


def _lines(layout: Layout, content: LabelContent) -> tuple[ContentLine, ...]:
    """Return as many entries of a pouch as its place takes."""
    place = layout.find_field(ContentField.LINES)
    if place is None:
        return ()
    for count in range(len(_LINES), 0, -1):
        text = find_text(replace(content, lines=_LINES[:count]), ContentField.LINES)
        try:
            fit_field(place, text or "")
        except TracelabelsError:
            continue
        return _LINES[:count]
    return ()
