"""All rules over one label, in the order in which a person would look."""

from tracelabels.legibility.findings import Finding
from tracelabels.legibility.rules import (
    contrast,
    curvature,
    legible_text,
    orientation,
    quiet_zones,
    registration,
    steam,
    whole_dots,
    x_dimension,
)
from tracelabels.legibility.rules.stock import Stock
from tracelabels.legibility.subject import Subject

TABLE = "6"
"""GS1 symbol specification table for small healthcare items that no till scans: the one that comes closest."""


def check_rules(subject: Subject, *, stock: Stock | None = None, table: str = TABLE) -> tuple[Finding, ...]:
    """Hold a label against every rule.

    Args:
        subject: The label.
        stock: The label stock and ink, as far as known.
        table: Number of the GS1 symbol specification table whose limits are quoted.

    Returns:
        One finding a rule (a finding a release for the X-dimension), those that are kept among them. A rule that cannot
        be judged from what is known says nothing.
    """
    single = (orientation.check(subject), registration.check(subject))
    last = steam.check(subject, stock=stock)
    return (
        *x_dimension.check(subject, table=table),
        whole_dots.check(subject),
        quiet_zones.check(subject),
        *curvature.check(subject),
        *(finding for finding in single if finding is not None),
        *legible_text.check(subject),
        *contrast.check(subject, stock=stock),
        *((last,) if last is not None else ()),
    )
