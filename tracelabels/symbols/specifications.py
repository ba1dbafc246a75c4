"""GS1 symbol specification tables: the smallest, wished and largest X-dimension of a printed symbol.

Source: GS1 General Specifications as transcribed in the public BWIPP resource ``render.ps.src`` (2026-07); tables 6
and 7 are also quoted clause by clause from R26.0 (January 2026), sections 5.12.3.6 and 5.12.3.7. Where releases
contradict each other both rows stand here, each under its own release.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from tracelabels.lengths import Mm
from tracelabels.symbols.symbol import Symbology


class Release(StrEnum):
    """The text that a row was taken from."""

    R26 = "GS1 General Specifications R26.0 (January 2026)"
    TRANSCRIPT = "GS1 General Specifications as transcribed in BWIPP (2026-07)"
    OLDER = "GS1 General Specifications, releases before R26.0"


@dataclass(frozen=True, slots=True, kw_only=True)
class SymbolSpecification:
    """One row of a symbol specification table.

    Attributes:
        table: Number of the table, with its part if it has some: "6", "7 DPM-A", "1 addendum 2".
        meaning: What the table is for, in plain words.
        symbologies: Symbol kinds that the row holds for.
        minimum: Smallest X-dimension allowed.
        target: X-dimension to aim at.
        maximum: Largest X-dimension allowed.
        bar_height: Height that the bars of a linear symbol should have; None for matrix symbols.
        release: The text that the row was taken from.
    """

    table: str
    meaning: str
    symbologies: frozenset[Symbology]
    minimum: Mm
    target: Mm
    maximum: Mm
    bar_height: Mm | None = None
    release: Release = Release.TRANSCRIPT

    @property
    def title(self) -> str:
        """Return the name that a message shows."""
        return f"GS1 symbol specification table {self.table} ({self.release})"


MATRIX: Final = frozenset({Symbology.DATA_MATRIX})
MATRIX_AND_QR: Final = frozenset({Symbology.DATA_MATRIX, Symbology.QR})
LINEAR: Final = frozenset({Symbology.CODE_128})


def _row(
    table: str,
    meaning: str,
    symbologies: frozenset[Symbology],
    sizes: tuple[float, float, float],
    *,
    bar_height: float | None = None,
    release: Release = Release.TRANSCRIPT,
) -> SymbolSpecification:
    minimum, target, maximum = sizes
    return SymbolSpecification(
        table=table,
        meaning=meaning,
        symbologies=symbologies,
        minimum=Mm(minimum),
        target=Mm(target),
        maximum=Mm(maximum),
        bar_height=None if bar_height is None else Mm(bar_height),
        release=release,
    )


_FOUR = "items that are not scanned in retail, general distribution or regulated healthcare"
_SIX = "regulated healthcare items, neither retail nor general distribution (vials, ampoules, blister cells)"
_SEVEN = "direct part marking"
_EIGHT = "items scanned in pharmacies and in general distribution"
_NINE = "documents, returnable assets, individual assets and locations"
_TEN = "regulated healthcare items in retail"
_ELEVEN = "service relations"
_ONE = "Digital Link at the point of sale"

SPECIFICATIONS: Final[tuple[SymbolSpecification, ...]] = (
    _row("1 addendum 2", _ONE, MATRIX_AND_QR, (0.396, 0.495, 0.743)),
    _row("1 addendum 2", _ONE, MATRIX_AND_QR, (0.396, 0.495, 0.990), release=Release.R26),
    _row("4", _FOUR, MATRIX_AND_QR, (0.380, 0.380, 0.495)),
    _row("4", _FOUR, LINEAR, (0.250, 0.495, 0.495), bar_height=12.70),
    _row("6", _SIX, MATRIX, (0.254, 0.380, 0.990), release=Release.R26),
    _row("6", _SIX, MATRIX, (0.254, 0.380, 0.495), release=Release.OLDER),
    _row("6", _SIX, LINEAR, (0.170, 0.495, 0.495), bar_height=12.70, release=Release.R26),
    _row("7", _SEVEN, MATRIX_AND_QR, (0.254, 0.300, 0.615), release=Release.R26),
    _row("7 DPM-A", "etched small instruments", MATRIX, (0.100, 0.200, 0.300)),
    _row("7 DPM-B", "dot-peened small instruments", MATRIX, (0.200, 0.300, 0.495)),
    _row("8", _EIGHT, MATRIX_AND_QR, (0.750, 0.750, 1.520)),
    _row("8", _EIGHT, LINEAR, (0.495, 0.495, 1.016), bar_height=31.75),
    _row("9", _NINE, MATRIX_AND_QR, (0.380, 0.380, 0.495)),
    _row("9", _NINE, LINEAR, (0.250, 0.250, 0.495), bar_height=12.70),
    _row("10", _TEN, MATRIX, (0.396, 0.495, 0.990)),
    _row("10", _TEN, LINEAR, (0.264, 0.330, 0.660), bar_height=12.70),
    _row("11", _ELEVEN, MATRIX_AND_QR, (0.254, 0.380, 0.495)),
    _row("11", _ELEVEN, LINEAR, (0.170, 0.250, 0.495), bar_height=12.70),
)
"""Every row, in the order of the tables."""

TUBE_LABELS: Final = "6"
"""The table that comes closest to tubes and pouches: small healthcare items that no till scans."""


def find_specification(
    table: str,
    symbology: Symbology,
    *,
    release: Release | None = None,
    rows: Iterable[SymbolSpecification] = SPECIFICATIONS,
) -> SymbolSpecification | None:
    """Find the row of a table for a kind of symbol.

    Args:
        table: Number of the table.
        symbology: Kind of symbol.
        release: The release wanted; None takes R26.0 where it is on record, else the first that is.
        rows: The rows to look through.

    Returns:
        The row, or None if the table does not list this kind of symbol (table 6 lists no QR).
    """
    found = [row for row in rows if row.table == table and symbology in row.symbologies]
    if release is not None:
        found = [row for row in found if row.release is release]
    return min(found, key=lambda row: row.release is not Release.R26, default=None)
