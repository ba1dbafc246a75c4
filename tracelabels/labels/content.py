"""What one label says, whatever its layout: the identity in its code, and the words beside it."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Final

from tracelabels.identifiers import IdentifierMode, LabelIdentity


class LotKind(StrEnum):
    """What the number in (10) is; the three kinds of number of a pouch never share a field."""

    BATCH = "batch"
    """The maker's batch, as it stands on the bottle: a tube with a single pigment."""
    PREPARATION = "preparation"
    """Our own preparation number: a mix, or whatever was decanted together."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ContentLine:
    """One entry of a pouch that holds several things.

    Attributes:
        name: Product or instrument.
        item_number: The product's item number, if it has one.
        lot: Its batch or preparation number, if it has one.
        lot_kind: Which of the two it is.
        use_by: Its own use-by date, if known.
        count: How many of it are in the pouch.
    """

    name: str
    item_number: str | None = None
    lot: str | None = None
    lot_kind: LotKind = LotKind.BATCH
    use_by: date | None = None
    count: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelContent:
    """The facts of one label; what is None is left out, or left blank to be written in by hand.

    Attributes:
        identity: What the code says: GTIN, use-by, date prepared, lot, serial.
        mode: How the code says it.
        product: Name of the product, or of the mix.
        item_number: The product's item number.
        lot_kind: Whether the identity's lot is a maker's batch or a preparation number.
        volume: Fill volume or tube size, with its unit.
        contents: What is in the pouch, in words.
        lines: The entries of a pouch with several batches or instruments.
        steriliser: The steriliser's name.
        load_number: Number of the load.
        processed_on: Date of the load.
        operator: Initials of the operator.
        notes: Anything else to be shown.
    """

    identity: LabelIdentity
    mode: IdentifierMode
    product: str | None = None
    item_number: str | None = None
    lot_kind: LotKind = LotKind.BATCH
    volume: str | None = None
    contents: str | None = None
    lines: tuple[ContentLine, ...] = ()
    steriliser: str | None = None
    load_number: str | None = None
    processed_on: date | None = None
    operator: str | None = None
    notes: str | None = None


class ContentField(StrEnum):
    """What a layout can show; the words that a layout file uses."""

    PRODUCT = "product"
    ITEM_NUMBER = "item_number"
    LOT = "lot"
    PREPARED = "prepared"
    USE_BY = "use_by"
    SERIAL = "serial"
    SERIAL_START = "serial_start"
    """First part of the serial, where it stands in two pieces, as on a cap disc."""
    SERIAL_END = "serial_end"
    """Second part of the serial."""
    VOLUME = "volume"
    CONTENTS = "contents"
    LINES = "lines"
    """The entries of a pouch, one below the other."""
    STERILISER = "steriliser"
    LOAD_NUMBER = "load_number"
    PROCESSED_ON = "processed_on"
    OPERATOR = "operator"
    NOTES = "notes"
    COPY = "copy"
    """"2/3": which of several labels with the same serial this one is."""


SERIAL_FIELDS = frozenset({ContentField.SERIAL, ContentField.SERIAL_START, ContentField.SERIAL_END})
"""Fields that differ from label to label."""

_SERIAL_GROUP = 5
_OWN_SERIAL_LENGTH = 9


def serial_parts(serial: str) -> tuple[str, str]:
    """Cut a serial in two for the eye: our own nine digits as five and four, any other in halves.

    >>> serial_parts("010001234"), serial_parts("A7")
    (('01000', '1234'), ('A', '7'))
    """
    own = len(serial) == _OWN_SERIAL_LENGTH and serial.isdecimal()
    cut = _SERIAL_GROUP if own else (len(serial) + 1) // 2
    return serial[:cut], serial[cut:]


def grouped_serial(serial: str) -> str:
    """Show a serial as people read it out: our own nine digits in two groups, any other as it is.

    >>> grouped_serial("010001234"), grouped_serial("A-17")
    ('01000 1234', 'A-17')
    """
    if len(serial) == _OWN_SERIAL_LENGTH and serial.isdecimal():
        return " ".join(serial_parts(serial))
    return serial


def line_text(line: ContentLine) -> str:
    """Write one entry of a pouch.

    >>> line_text(ContentLine(name="Oat Milk", item_number="P-02", lot="5502"))
    'Oat Milk · item P-02 · batch 5502'
    """
    parts = [f"{line.count} \N{MULTIPLICATION SIGN} {line.name}" if line.count > 1 else line.name]
    if line.item_number:
        parts.append(f"item {line.item_number}")
    if line.lot:
        parts.append(f"{'batch' if line.lot_kind is LotKind.BATCH else 'prep.'} {line.lot}")
    if line.use_by:
        parts.append(f"use by {line.use_by.isoformat()}")
    return " · ".join(parts)


def _day(day: date | None) -> str | None:
    """Write a date as ISO 8601 does (2027-11-30): the same everywhere, day and month never swapped."""
    return None if day is None else day.isoformat()


_TEXTS: Final[dict[ContentField, Callable[[LabelContent], str | None]]] = {
    ContentField.PRODUCT: lambda content: content.product,
    ContentField.ITEM_NUMBER: lambda content: content.item_number,
    ContentField.LOT: lambda content: content.identity.lot,
    ContentField.PREPARED: lambda content: _day(content.identity.prepared),
    ContentField.USE_BY: lambda content: _day(content.identity.use_by),
    ContentField.SERIAL: lambda content: grouped_serial(content.identity.serial or ""),
    ContentField.SERIAL_START: lambda content: serial_parts(content.identity.serial or "")[0],
    ContentField.SERIAL_END: lambda content: serial_parts(content.identity.serial or "")[1],
    ContentField.VOLUME: lambda content: content.volume,
    ContentField.CONTENTS: lambda content: content.contents,
    ContentField.LINES: lambda content: "\n".join(map(line_text, content.lines)),
    ContentField.STERILISER: lambda content: content.steriliser,
    ContentField.LOAD_NUMBER: lambda content: content.load_number,
    ContentField.PROCESSED_ON: lambda content: _day(content.processed_on),
    ContentField.OPERATOR: lambda content: content.operator,
    ContentField.NOTES: lambda content: content.notes,
}


def find_text(content: LabelContent, field: ContentField) -> str | None:
    """Return the text of a field, or None where there is nothing to show; the number of the copy is not content."""
    read = _TEXTS.get(field)
    return (read(content) or None) if read else None
