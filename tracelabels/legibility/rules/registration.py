"""The room between the quiet zone and the label's edge: no printer meets a die-cut label exactly."""

import math

from tracelabels.legibility.findings import Finding, Legibility
from tracelabels.legibility.rules.extent import Extent, extent_of, is_linear, runs_across
from tracelabels.legibility.rules.quiet_zones import REQUIRED
from tracelabels.legibility.subject import Subject
from tracelabels.lengths import Mm

RULE = "registration"
SOURCE = "derived: a label holds the symbol, its quiet zones and a tolerance of 1 to 1.5 mm for laser printers, shared"

LEAST_TOLERANCE = Mm(1.0)
"""Smallest tolerance for a sheet to lie aside, both directions together; derived for laser printers, not published."""

WISHED_TOLERANCE = Mm(1.5)
"""The same, with ease."""


def check(subject: Subject) -> Finding | None:
    """Measure the nearest label's edge; None if the label's edges are not known (a page of somebody else's)."""
    if subject.sheet is None:
        return None
    room = Mm(_room(subject) * subject.dot)
    verdict = Legibility.PASS if room >= LEAST_TOLERANCE / 2 else Legibility.WARN
    if room < 0:
        verdict = Legibility.FAIL
    return Finding(
        rule=RULE,
        verdict=verdict,
        measured=f"{room:.2f} mm from the quiet zone to the label's edge",
        required=f"{LEAST_TOLERANCE / 2:.2f} mm, {WISHED_TOLERANCE / 2:.2f} mm with ease",
        source=SOURCE,
        fix="" if verdict is Legibility.PASS else _fix(room),
    )


def _fix(room: Mm) -> str:
    return (
        f"move the code {LEAST_TOLERANCE / 2 - room:.2f} mm inwards, or take a label that is so much larger each side"
    )


def _room(subject: Subject) -> float:
    """Return the dots from the quiet zone to the label's edge where it is nearest."""
    box = _with_quiet_zone(subject)
    height, width = (float(side) for side in subject.picture.shape)
    if subject.sheet is not None and subject.sheet.is_round:
        reach = max(
            math.hypot(x - width / 2, y - height / 2) for x in (box.left, box.right) for y in (box.top, box.bottom)
        )
        return width / 2 - reach
    return min(box.left, box.top, width - box.right, height - box.bottom)


def _with_quiet_zone(subject: Subject) -> Extent:
    code, box = subject.code, extent_of(subject.code)
    margin = REQUIRED[code.symbology][0] * code.x
    beside = 0.0 if is_linear(code) and not runs_across(code) else margin
    above = 0.0 if is_linear(code) and runs_across(code) else margin
    return Extent(
        left=box.left - beside, top=box.top - above, width=box.width + 2 * beside, height=box.height + 2 * above
    )
