"""What a check finds, as values: a rule, what was measured, what is required, and what would mend it."""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from typing import Final


class Legibility(StrEnum):
    """How a label stands."""

    PASS = "pass"  # noqa: S105  a verdict, no secret
    WARN = "warn"
    """It reads, but with less room than wished, or a rule that only advises is not kept."""
    FAIL = "fail"


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One rule and how a label stands to it."""

    rule: str
    """Short name, such as ``x_dimension``."""
    verdict: Legibility
    """How the label stands to this rule."""
    measured: str
    """What was measured, with its unit."""
    required: str
    """What is required or advised, with its unit."""
    source: str
    """Where the requirement comes from: a standard with its clause or table, or "common practice, no source"."""
    fix: str
    """What would mend it; empty if nothing has to be mended."""


SEVEREST_FIRST: Final = (Legibility.FAIL, Legibility.WARN, Legibility.PASS)
"""The order in which people must see them."""


def severest_first(findings: Iterable[Finding]) -> list[Finding]:
    """Return findings in that order, those of one verdict as they came."""
    return sorted(findings, key=lambda finding: SEVEREST_FIRST.index(finding.verdict))


def worst(findings: Iterable[Finding]) -> Legibility:
    """Return the verdict of all findings together: the worst decides."""
    return worst_verdict(finding.verdict for finding in findings)


def worst_verdict(verdicts: Iterable[Legibility]) -> Legibility:
    """Return the worst of verdicts, pass if there is none."""
    return min(verdicts, key=SEVEREST_FIRST.index, default=Legibility.PASS)
