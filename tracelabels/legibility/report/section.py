"""What a report says about one design or one sheet, as values; how it is set is another matter."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from tracelabels.legibility.findings import Finding, Legibility
from tracelabels.legibility.margins import Margin

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ReportPicture:
    """A picture with its words."""

    caption: str
    """What is seen."""
    pixels: "NDArray[np.uint8]"
    """Shape (rows, columns) grey, or (rows, columns, 3)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ReportSection:
    """One design of label, or one sheet."""

    title: str
    """Which labels."""
    verdict: Legibility
    """How they stand."""
    sentence: str
    """The same in one line."""
    findings: tuple[Finding, ...]
    """Every rule."""
    margins: tuple[Margin, ...] = ()
    """What the trials found."""
    pictures: tuple[ReportPicture, ...] = ()
    """What is seen."""
    grades: tuple[tuple[str, str, str], ...] = ()
    """Rows of measured parameters: (name, value, grade)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Report:
    """A whole report."""

    title: str
    """What was checked."""
    basis: str
    """What the answers rest on: simulated, or indicative."""
    sections: tuple[ReportSection, ...]
    """In the order of the check."""
    notes: tuple[str, ...] = ()
    """What could not be checked, and cautions."""
