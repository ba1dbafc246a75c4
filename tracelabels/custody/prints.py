"""What was printed: runs and the labels in them, exactly as that print recorded them."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from tracelabels.custody.names import Name


class LabelKind(StrEnum):
    """Which surface a label is for."""

    TUBE = "tube"
    CAP = "cap"
    POUCH = "pouch"
    SECOND = "second"
    """The second label: a tube's when it is filled at the chair, a pouch's at unloading."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintRun:
    """One run of labels through a printer."""

    number: str
    """Our number of the run."""
    printed_on: date
    """The day."""
    layout: str
    """Name of the layout."""
    sheet: str
    """Name of the sheet or roll."""
    dpi: int
    """Printer resolution in dots per inch."""
    stock_lot: str | None = None
    """Lot of the label stock; None if not entered."""
    stock_withstands_steam: bool | None = None
    """Whether the stock stands a steam steriliser; None if not known."""
    proof_digest: str | None = None
    """SHA-256 (hexadecimal) of the proved PDF; None if there was no proof."""
    reprint_of: str | None = None
    """Number of the run that this one replaces, label by label."""
    override_by: str | None = None
    """Opaque staff id of who let it through although its check failed; None if it passed."""
    override_reason: str | None = None
    """Why it was let through."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedLabel:
    """One printed label: what that print put on it, not what is known today."""

    serial: str
    """Serial on the label."""
    kind: LabelKind
    """Surface it is for."""
    lot: str | None = None
    """Maker's batch or preparation number on the label."""
    use_by: date | None = None
    """Use-by on the label."""
    prepared: date | None = None
    """Date prepared on the label."""
    item_number: str | None = None
    """The product's item number on the label."""
    run: str | None = None
    """Number of its print run; None until it is recorded."""
    voided_by: str | None = None
    """What voided it, in words: the print run that replaced it, or the reason; None while it is valid."""


class LabelFate(StrEnum):
    """What became of a printed label."""

    APPLIED = "applied"
    DESTROYED = "destroyed"


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelOutcome:
    """A printed label was put on its thing, or destroyed; printed labels are applied or destroyed, all of them."""

    run: Name
    """Its print run."""
    serial: str
    """Serial on it."""
    kind: LabelKind
    """Surface it is for."""
    outcome: LabelFate
    """Applied, or destroyed."""
