"""Does a label say what its print recorded? Mix-ups, voided and superseded labels, corrected records, gaps.

A label's second one (a tube's when it is filled at the chair, a pouch's at unloading) stands beside the first and does
not outdate it; any other later label of the same thing does.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from tracelabels.custody.prints import LabelKind, PrintedLabel
from tracelabels.custody.reasons import Reason, ReasonKind


@dataclass(frozen=True, slots=True, kw_only=True)
class SeenLabel:
    """What the label in front of the practitioner says, scanned or typed; None where it says nothing."""

    serial: str
    """Serial."""
    lot: str | None = None
    """Maker's batch or preparation number."""
    use_by: date | None = None
    """Use-by."""
    prepared: date | None = None
    """Date prepared."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OnRecord:
    """What stands on record today for what a label states."""

    batch: str | None = None
    """Batch or preparation number; None if it has none, or several."""
    prepared: date | None = None
    """The day it was prepared; None if it holds several preparations."""


def label_reasons(seen: SeenLabel, labels: Sequence[PrintedLabel]) -> tuple[Reason, ...]:
    """Compare a label with what was recorded at its print: lot, use-by and date prepared.

    Args:
        seen: what the label says.
        labels: every label ever printed for its serial, voided ones too, in the order printed.
    """
    if not labels:
        return (_reason(ReasonKind.LABEL_UNKNOWN, f"no label with serial {seen.serial} was ever recorded"),)
    valid = [label for label in labels if label.voided_by is None]
    if any(_agrees(seen, label) for label in valid):
        return (*_superseded(seen, valid), *_missing_on_label(seen, valid))
    for label in labels:
        if label.voided_by is not None and _agrees(seen, label):
            sentence = f"the label with serial {seen.serial} was voided: {label.voided_by}"
            return (_reason(ReasonKind.LABEL_VOIDED, sentence),)
    against = valid[-1] if valid else labels[-1]
    sentence = f"the label does not say what was printed for {seen.serial}: " + ", ".join(_differences(seen, against))
    return (_reason(ReasonKind.LABEL_DIFFERS, sentence),)


def is_second(seen: SeenLabel, labels: Sequence[PrintedLabel]) -> bool:
    """Say whether a label can only be the second one of its thing."""
    kinds = {label.kind for label in labels if label.voided_by is None and _agrees(seen, label)}
    return kinds == {LabelKind.SECOND}


def outdated_reasons(seen: SeenLabel, today: OnRecord) -> tuple[Reason, ...]:
    """Return why a label has to be printed again: its batch or date prepared was corrected since.

    Args:
        seen: what the label says; it agrees with its print.
        today: what is on record for it today.
    """
    corrected = [
        f"{name} {_said(said)}, on record is {_said(known)}"
        for name, said, known in (
            ("batch", seen.lot, today.batch),
            ("date prepared", seen.prepared, today.prepared),
        )
        if said is not None and known is not None and said != known
    ]
    if not corrected:
        return ()
    sentence = f"the record was corrected after this label was printed: {'; '.join(corrected)}; print it again"
    return (_reason(ReasonKind.LABEL_OUTDATED, sentence),)


def _superseded(seen: SeenLabel, valid: Sequence[PrintedLabel]) -> tuple[Reason, ...]:
    """A later label of the same thing, on whatever surface, that says otherwise outdates this one."""
    latest = []
    for second in (False, True):
        group = [label for label in valid if (label.kind is LabelKind.SECOND) is second]
        if any(_agrees(seen, label) for label in group):
            latest.append(group[-1])
    if any(_agrees(seen, label) for label in latest):
        return ()
    last = latest[-1]
    sentence = f"a later label ({last.kind.value}, print run {last.run}) says otherwise: this one says "
    return (_reason(ReasonKind.LABEL_SUPERSEDED, sentence + ", ".join(_differences(seen, last))),)


def _missing_on_label(seen: SeenLabel, valid: Sequence[PrintedLabel]) -> tuple[Reason, ...]:
    """A bare serial may agree with the record and still be a mix-up; the rest has to be entered from the label."""
    gaps = [
        [name for name, said, recorded in _fields(seen, label) if said is None and recorded is not None]
        for label in valid
        if _agrees(seen, label)
    ]
    fewest = min(gaps, key=len)
    if not fewest:
        return ()
    sentence = f"not read from the label yet: {', '.join(fewest)}; enter it from the label"
    return (_reason(ReasonKind.LABEL_INCOMPLETE, sentence),)


def _agrees(seen: SeenLabel, label: PrintedLabel) -> bool:
    return _differences(seen, label) == ()


def _differences(seen: SeenLabel, label: PrintedLabel) -> tuple[str, ...]:
    return tuple(
        f"{name} {_said(said)} instead of {_said(recorded)}"
        for name, said, recorded in _fields(seen, label)
        if said is not None and said != recorded
    )


def _fields(seen: SeenLabel, label: PrintedLabel) -> tuple[tuple[str, date | str | None, date | str | None], ...]:
    return (
        ("batch", seen.lot, label.lot),
        ("use-by", seen.use_by, label.use_by),
        ("date prepared", seen.prepared, label.prepared),
    )


def _said(value: date | str | None) -> str:
    return "nothing" if value is None else str(value)


def _reason(kind: ReasonKind, sentence: str) -> Reason:
    return Reason(kind=kind, sentence=sentence)
