"""Consumables with lots: what is used up on the way from the bottle to the client."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum

from tracelabels.custody.names import Kind, Name


class ConsumableKind(StrEnum):
    """Kinds of consumables."""

    TUBES = "tubes"
    POUCH_MATERIAL = "pouch_material"
    SYRINGES = "syringes"
    INDICATORS = "indicators"
    SPORE_TESTS = "spore_tests"
    LABEL_STOCK = "label_stock"
    NEEDLE_CARTRIDGES = "needle_cartridges"


@dataclass(frozen=True, slots=True, kw_only=True)
class Consumable:
    """One lot of a consumable; kind and lot together name it."""

    kind: ConsumableKind
    """What it is."""
    lot: str
    """The maker's lot as on its box."""
    product: str | None = None
    """What the maker calls it."""
    maker: str | None = None
    """Who made it."""
    expiry: date | None = None
    """Last day of use; None if the box states none."""
    reference: str | None = None
    """What a turned indicator of this lot looks like, in the box's own words; for indicators and pouch material."""
    reference_picture: str | None = None
    """Digest of the picture of that printed reference, among the evidence."""
    turned_picture: str | None = None
    """Digest of the practice's own picture of one that turned, among the evidence."""
    unturned_picture: str | None = None
    """Digest of the practice's own picture of one that has not."""
    type_number: int | None = None
    """Type of an indicator after ISO 11140-1, 1 to 6; the types are no ranking."""
    population: Decimal | None = None
    """Spores on each biological indicator of the lot, as on its certificate."""
    d_value_minutes: Decimal | None = None
    """Minutes at 121 degrees Celsius that leave one spore of ten alive, as on its certificate."""

    @property
    def name(self) -> Name:
        """Return its name."""
        return lot_name(self.kind, self.lot)


def lot_name(kind: ConsumableKind, lot: str) -> Name:
    """Return the name of a lot, on record or not."""
    return Name(Kind.CONSUMABLE, f"{kind.value}/{lot}")


@dataclass(frozen=True, slots=True, kw_only=True)
class ConsumablePeriod:
    """A lot was taken into use, or its use ended."""

    consumable: Name
    """The lot."""
    from_day: date
    """First day of use."""
    to_day: date | None = None
    """Last day of use; None while it is still in use."""
