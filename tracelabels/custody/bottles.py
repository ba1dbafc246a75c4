"""Pigments and their bottles, as far as the bottle's label and the practice know them."""

from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from enum import StrEnum

from tracelabels.custody.names import Kind, Name
from tracelabels.custody.periods import Period, last_day_of_month


class Carrier(StrEnum):
    """The liquid that carries the pigment; it decides what steam can do to it."""

    WATER_BASED = "water_based"
    ALCOHOL_BEARING = "alcohol_bearing"
    OIL_OR_ANHYDROUS = "oil_or_anhydrous"
    UNKNOWN = "unknown"


class ExpiryPrecision(StrEnum):
    """How exactly a bottle states its expiry."""

    DAY = "day"
    MONTH = "month"


@dataclass(frozen=True, slots=True, kw_only=True)
class Product:
    """A pigment as its maker sells it; maker and item number together name it."""

    name: str
    """Name as on the bottle."""
    item_number: str
    """The maker's item number."""
    maker: str
    """Who made it."""
    carrier: Carrier = Carrier.UNKNOWN
    """What carries the pigment."""
    gtin: str | None = None
    """GTIN on the bottle, if any."""
    swatch: str | None = None
    """Colour to show on a screen, as ``#rrggbb``."""
    resterilising_statement: str | None = None
    """Where the maker's written statement on re-sterilising is filed; None if none is on file."""

    @property
    def as_name(self) -> Name:
        """Return its name in the record."""
        return Name(Kind.PRODUCT, f"{self.maker}/{self.item_number}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Expiry:
    """The expiry printed on a bottle."""

    last_day: date
    """The last day of use: the day itself, or the last day of the month if only a month is stated."""
    precision: ExpiryPrecision
    """What the bottle really states."""

    @classmethod
    def on_day(cls, day: date) -> "Expiry":
        """Return the expiry of a bottle that states a day."""
        return cls(last_day=day, precision=ExpiryPrecision.DAY)

    @classmethod
    def in_month(cls, year: int, month: int) -> "Expiry":
        """Return the expiry of a bottle that states a month only: good to its last day.

        >>> Expiry.in_month(2028, 2).last_day
        datetime.date(2028, 2, 29)
        """
        return cls(last_day=last_day_of_month(year, month), precision=ExpiryPrecision.MONTH)


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """A bottle was opened."""

    on: date | None
    """The day, or None if nobody knows it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bottle:
    """One bottle on the shelf."""

    serial: str
    """Our own serial of this bottle (two bottles of one batch differ by it)."""
    product: Product
    """What is in it."""
    batch: str
    """The maker's batch as printed on the bottle."""
    received_on: date
    """The day it came."""
    expiry: Expiry | None = None
    """The printed expiry, or None if the bottle states none."""
    opening: Opening | None = None
    """When it was opened; None while it is still closed."""
    period_after_opening: Period | None = None
    """How long the maker lets it be used after opening; None if the maker says nothing."""
    volume_ml: Decimal | None = None
    """Contents in millilitres, as printed."""
    finished_on: date | None = None
    """The day it was used up or thrown away."""
    withdrawn_on: date | None = None
    """The day it was taken out of use (a recall, a doubt)."""

    @property
    def name(self) -> str:
        """Return the bottle in words, as reasons name it."""
        return f"{self.product.name}, batch {self.batch}"

    def as_of(self, day: date) -> "Bottle":
        """Return the bottle as it stood on a day: what happened to it later is left out.

        A bottle of which nobody knows when it was opened counts as open from its receipt.
        """
        opened_on = self.received_on if self.opening is None else self.opening.on or self.received_on
        return replace(
            self,
            opening=self.opening if opened_on <= day else None,
            finished_on=_until(self.finished_on, day),
            withdrawn_on=_until(self.withdrawn_on, day),
        )


def _until(happened_on: date | None, day: date) -> date | None:
    return happened_on if happened_on is not None and happened_on <= day else None
