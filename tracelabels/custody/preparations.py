"""What is prepared from bottles: preparations, tubes and pouches."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum

from tracelabels.custody.bottles import Bottle


class Variant(StrEnum):
    """When the pigment goes into the tube."""

    EMPTY_TUBES = "empty_tubes"
    """Empty tubes are processed and filled at the chair (the default)."""
    FILLED_BEFORE = "filled_before"
    """Tubes are filled before processing."""
    FILLED_AT_CHAIR = "filled_at_chair"
    """What is filled into an empty, processed tube at the chair; good for this session."""


class PouchKind(StrEnum):
    """The kind of sterile barrier."""

    PAPER_FILM = "paper_film"
    NONWOVEN_FILM = "nonwoven_film"
    WRAP = "wrap"


@dataclass(frozen=True, slots=True, kw_only=True)
class Diluent:
    """A liquid that thins a pigment."""

    name: str
    """What it is."""
    batch: str
    """Its maker's batch."""
    expiry: date | None = None
    """Its last day of use; None if its container states none."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Component:
    """One part of a preparation; a top-up is a component too."""

    source: Bottle | Diluent
    """Where it came from."""
    amount_ml: Decimal | None = None
    """How much in millilitres; None if it was not measured."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Preparation:
    """Tubes made in one go, from the same components."""

    number: str
    """Our preparation number."""
    prepared_on: date
    """The day."""
    prepared_by: str
    """Opaque staff id."""
    variant: Variant
    """Filled before processing, or empty tubes."""
    components: tuple[Component, ...] = ()
    """What went in; none for empty tubes."""
    tubes_made: int = 0
    """How many tubes."""
    fill_ml: Decimal | None = None
    """Millilitres in each tube; None for empty tubes."""

    @property
    def is_mix(self) -> bool:
        """Say whether more than one component went in, so that the preparation number is its batch."""
        return len(self.components) > 1

    @property
    def bottles(self) -> tuple[Bottle, ...]:
        """Return the bottles among the components."""
        return tuple(part.source for part in self.components if isinstance(part.source, Bottle))

    @property
    def label_batch(self) -> str | None:
        """Return what stands as batch on the label: the maker's batch of one pigment, else the preparation number.

        Empty tubes have no batch until they are filled.
        """
        if not self.components:
            return None
        only = self.components[0].source
        if self.is_mix or not isinstance(only, Bottle):
            return self.number
        return only.batch


@dataclass(frozen=True, slots=True, kw_only=True)
class Tube:
    """One tube."""

    serial: str
    """Its serial."""
    preparation: str | None = None
    """Number of the preparation it belongs to; None for an empty tube of no preparation yet."""
    size_ml: Decimal | None = None
    """Nominal size in millilitres."""
    lot: str | None = None
    """Lot of the tubes themselves, as on their box; None if it was not entered."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pouch:
    """One sealed pouch."""

    serial: str
    """Its serial."""
    kind: PouchKind
    """What it is made of."""
    material_lot: str
    """Lot of the pouch material."""
    sealed_by: str
    """Opaque staff id."""
    sealed_on: date
    """The day."""
    tubes: tuple[str, ...] = ()
    """Serials of the tubes scanned in."""
    instruments: tuple[str, ...] = ()
    """Instruments by name."""
