"""What a scan answers."""

from dataclasses import dataclass
from enum import StrEnum

from tracelabels.identifiers import Identification
from tracelabels.scanning.picture import Corners


class ScanMode(StrEnum):
    """Whose codes are wanted."""

    OWN = "own"
    """Only labels that this package prints, with every guard."""

    ANY = "any"
    """Every kind of code that the reader knows; its plain answers are kept as they are, deeper attempts are guarded."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    r"""One code that was read."""

    text: str
    r"""As a scanner sends it: the group separator as "\x1d", no symbology identifier in front."""

    symbology_identifier: str
    """ISO/IEC 15424: "]d2", "]d1", "]Q3", "]C1" ..."""

    symbology_name: str
    """The reader's name of the kind: "Data Matrix", "Code 128" ..."""

    corners: Corners
    """In pixels of the upright picture at its full size."""

    how: str
    """The attempt that read it: "plain" for the reader's own defaults."""

    human_readable: str | None
    """Bracketed text if the text parses, else None."""

    identification: Identification | None
    """What the text says if it parses, else None."""


@dataclass(frozen=True, slots=True, kw_only=True)
class UnreadPlace:
    """A place that looks like a code, and was not read."""

    corners: Corners
    """In pixels of the upright picture at its full size."""

    reason: str
    """Why, as far as it can be measured, and what to do."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scan:
    """Everything that one picture said."""

    readings: tuple[Reading, ...]
    """In reading order: top to bottom, left to right."""

    unread: tuple[UnreadPlace, ...]
    """Places that look like a code and stayed unread, in reading order."""

    advice: tuple[str, ...]
    """What to do for a better photograph; empty if something was read and nothing stayed unread."""

    tried: tuple[str, ...]
    """The attempts that were made, in order."""

    elapsed_ms: float
    """How long it took, decoding of the file left out."""
