"""How a code lies on a tube: bars like the rungs of a ladder, the long side of a matrix along the tube."""

from tracelabels.legibility.findings import Finding, Legibility
from tracelabels.legibility.rules.extent import extent_of, is_ladder, is_linear, longest_arc, round_tube
from tracelabels.legibility.subject import Subject
from tracelabels.symbols import TubeAxis

RULE = "orientation"
LINEAR_SOURCE = "ISO 15394 Annex A.9 (from a transcript): ladder orientation on tightly curved surfaces"
MATRIX_SOURCE = "common practice, no source: what runs round a tube turns out of sight first"

_TURN = "turn the code a quarter"


def check(subject: Subject) -> Finding | None:
    """Judge the direction of a code on a tube; None on a flat label and for a square, which has no long side."""
    if subject.tube_diameter is None:
        return None
    if is_linear(subject.code):
        return _linear(subject, longest_arc(subject.tube_diameter))
    box = extent_of(subject.code)
    rows, columns = subject.code.modules.shape
    if rows == columns:
        return None
    along = (box.width > box.height) == (subject.axis is TubeAxis.WIDTH)
    return Finding(
        rule=RULE,
        verdict=Legibility.PASS if along else Legibility.WARN,
        measured=f"the long side lies {'along' if along else 'round'} the tube",
        required="the long side along the tube",
        source=MATRIX_SOURCE,
        fix="" if along else _TURN,
    )


def _linear(subject: Subject, arc: float) -> Finding:
    """A code whose bars stand along the tube may stay within one sixth of the circumference, and hardly any does."""
    ladder = is_ladder(subject)
    verdict = Legibility.PASS
    if not ladder:
        verdict = Legibility.WARN if round_tube(subject) <= arc else Legibility.FAIL
    return Finding(
        rule=RULE,
        verdict=verdict,
        measured="bars like the rungs of a ladder" if ladder else "bars along the tube, like a picket fence",
        required="bars like the rungs of a ladder",
        source=LINEAR_SOURCE,
        fix="" if ladder else _TURN,
    )
