"""Cards set below a chain: as many beside each other as there is room for, each in the column that is shortest."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from tracelabels.lengths import Mm, Points
from tracelabels.paper import Face, text_width
from tracelabels.workflows.chain_cards import Card
from tracelabels.workflows.chain_text import Words, block

_LEAST: Final = 84.0
"""A card is at least so wide, in millimetres."""
_GAP: Final = (6.0, 4.0)
_PAD: Final = 2.2
_TITLE, _TEXT = Points(7.5), Points(6.5)
_AFTER_LABEL: Final = 2.0
_AFTER_TITLE: Final = 0.8


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """One card in its place."""

    title: str
    """What it is about."""
    left: Mm
    """From the picture's left edge."""
    top: Mm
    """From its top edge."""
    width: Mm
    """How wide."""
    height: Mm
    """How high."""
    words: tuple[Words, ...]
    """What stands on it."""


def place_cards(cards: Iterable[Card], *, left: float, top: float, room: float) -> tuple[Panel, ...]:
    """Place cards below each other in equal columns, in their order.

    Args:
        cards: what is told.
        left: where the first column begins, in millimetres.
        top: where all columns begin, in millimetres.
        room: width of all columns, in millimetres.
    """
    count = max(1, int((room + _GAP[0]) / (_LEAST + _GAP[0])))
    width = (room - (count - 1) * _GAP[0]) / count
    ends = [top] * count
    panels = []
    for card in cards:
        place = ends.index(min(ends))
        panel = _panel(card, left=left + place * (width + _GAP[0]), top=ends[place], width=width)
        ends[place] = panel.top + panel.height + _GAP[1]
        panels.append(panel)
    return tuple(panels)


def _panel(card: Card, *, left: float, top: float, width: float) -> Panel:
    start, room = left + _PAD, width - 2 * _PAD
    words, y = block([card.title], left=start, top=top + _PAD, width=room, size=_TITLE, face=Face.BOLD)
    y += _AFTER_TITLE
    inset = max(text_width(what, Face.BOLD, _TEXT) for what, _ in card.rows) + _AFTER_LABEL
    for what, text in card.rows:
        label, _ = block([what], left=start, top=y, width=inset, size=_TEXT, face=Face.BOLD)
        told, y = block([text], left=start + inset, top=y, width=room - inset, size=_TEXT)
        words = (*words, *label, *told)
    return Panel(title=card.title, left=Mm(left), top=Mm(top), width=Mm(width), height=Mm(y + _PAD - top), words=words)
