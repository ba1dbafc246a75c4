"""The size of a module against GS1's symbol specification tables; releases that contradict each other stand apart."""

import math

from tracelabels.legibility.findings import Finding, Legibility
from tracelabels.legibility.rules.extent import KIND_NAMES, in_dots
from tracelabels.legibility.subject import Subject
from tracelabels.lengths import MM_PER_INCH
from tracelabels.symbols import GS1_IDENTIFIERS, SPECIFICATIONS, Release, SymbolSpecification

RULE = "x_dimension"
_ROUNDING = 5e-4  # tables are given to a thousandth of a millimetre


def check(subject: Subject, *, table: str) -> tuple[Finding, ...]:
    """Compare the module with each row of a table that holds for this kind of symbol, one finding a release.

    A code that claims GS1 (``]d2``, ``]Q3``, ``]C1``) fails below the minimum of the release in force, and is warned of
    above a maximum; an older release never does more than warn. A code that claims nothing is warned of below a minimum
    and may be as large as it likes.

    Args:
        subject: The label.
        table: Number of the GS1 symbol specification table, such as "6".
    """
    rows = [row for row in SPECIFICATIONS if row.table == table and subject.code.symbology in row.symbologies]
    return tuple(_finding(subject, row) for row in rows) or (_unlisted(subject, table),)


def _finding(subject: Subject, row: SymbolSpecification) -> Finding:
    x, claims = subject.x_dimension, subject.code.symbology_identifier in GS1_IDENTIFIERS
    verdict, fix = Legibility.PASS, ""
    if x < row.minimum - _ROUNDING:
        verdict = Legibility.FAIL if claims and row.release is not Release.OLDER else Legibility.WARN
        fix = _larger(subject, row)
    elif claims and x > row.maximum + _ROUNDING:
        verdict = Legibility.WARN
        fix = in_dots(math.floor((row.maximum + _ROUNDING) * subject.dpi / MM_PER_INCH), subject.dpi)
    return Finding(
        rule=RULE,
        verdict=verdict,
        measured=_measured(subject),
        required=f"minimum {row.minimum:.3f}, target {row.target:.3f}, maximum {row.maximum:.3f} mm",
        source=row.title,
        fix=fix,
    )


def _measured(subject: Subject) -> str:
    return f"X {subject.x_dimension:.3f} mm ({subject.code.x:.2f} dots at {subject.dpi} dpi)"


def _larger(subject: Subject, row: SymbolSpecification) -> str:
    dots = math.ceil((row.minimum - _ROUNDING) * subject.dpi / MM_PER_INCH)
    return in_dots(dots, subject.dpi)


def _unlisted(subject: Subject, table: str) -> Finding:
    """Say that a table has no row for this kind: no carrier there for a code that claims GS1, no matter for others."""
    claims = subject.code.symbology_identifier in GS1_IDENTIFIERS
    kind = KIND_NAMES[subject.code.symbology]
    return Finding(
        rule=RULE,
        verdict=Legibility.WARN if claims else Legibility.PASS,
        measured=_measured(subject),
        required=f"no limits: the table lists no {kind}",
        source=f"GS1 symbol specification table {table} ({Release.R26})",
        fix="a GS1 DataMatrix, which the table lists" if claims else "",
    )
