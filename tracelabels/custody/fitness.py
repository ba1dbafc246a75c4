"""The gate: may this be used? Every reason is given, and the worst decides.

It fails closed: what is not known counts against use. It never says that anything is sterile.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from tracelabels.custody.bottles import Bottle
from tracelabels.custody.policy import Policy
from tracelabels.custody.preparations import Component
from tracelabels.custody.prints import PrintedLabel
from tracelabels.custody.reasons import Reason, ReasonKind, Verdict, worst
from tracelabels.custody.use_by import Dating, date_bottle, date_component


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
class OpeningCheck:
    """What was seen when the pouch was opened."""

    indicator: bool
    """The indicator turned against the pouch lot's own printed reference."""
    dry: bool
    """No moisture inside."""
    whole: bool
    """Not torn, seal closed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownItem:
    """What the ledger knows about the thing that a label names."""

    labels: tuple[PrintedLabel, ...]
    """Every label ever printed for this serial, voided ones included; none if the serial is unknown."""
    dating: Dating
    """How long it is good, as known today."""
    on_record: bool = False
    """The tube or pouch itself is on record, not only a label."""
    batch: str | None = None
    """Its batch or preparation number as known today; None if it has none, or several."""
    prepared: date | None = None
    """The day it was prepared as known today; None if it holds several preparations."""
    bottles: tuple[Bottle, ...] = ()
    """The bottles it came from."""
    released: bool = False
    """A release of its load is recorded."""
    opened: bool = False
    """It was opened or used before."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitness:
    """The gate's answer."""

    verdict: Verdict
    """Go, preliminary or stop."""
    reasons: tuple[Reason, ...]
    """Everything that speaks against use; empty for go."""
    printed_use_by: date | None
    """The use-by on the label."""
    known_use_by: date | None
    """The use-by as known today."""


def assess(
    seen: SeenLabel,
    known: KnownItem,
    *,
    today: date,
    client: str | None = None,
    opening: OpeningCheck | None = None,
) -> Fitness:
    """Answer whether the labelled thing may be used today.

    Args:
        seen: what the label says.
        known: what the ledger knows of that serial.
        today: the day of use in the practice's zone.
        client: code of the client; None before it is entered.
        opening: what was seen at opening; None before it is answered.

    Returns:
        GO only if no reason speaks against it; *preliminary* while client or opening check is missing.
    """
    on_label = _label_reasons(seen, known.labels)
    reasons = (
        *on_label,
        *_record_reasons(seen, known, on_label),
        *_dating_reasons(seen, known.dating, today),
        *_bottle_status(known.bottles),
        *_release_reasons(known),
        *_chair_reasons(client, opening),
    )
    computed = known.dating.use_by
    return Fitness(
        verdict=worst(reasons),
        reasons=reasons,
        printed_use_by=seen.use_by,
        known_use_by=None if computed is None else computed.date,
    )


def _label_reasons(seen: SeenLabel, labels: Sequence[PrintedLabel]) -> tuple[Reason, ...]:
    """Compare a label with what was recorded at its print: lot, use-by and date prepared."""
    if not labels:
        return (_reason(ReasonKind.LABEL_UNKNOWN, f"no label with serial {seen.serial} was ever recorded"),)
    valid = [label for label in labels if label.voided_by is None]
    if any(_differences(seen, label) == () for label in valid):
        return (*_superseded(seen, valid), *_missing_on_label(seen, valid))
    for label in labels:
        if label.voided_by is not None and _differences(seen, label) == ():
            sentence = f"the label with serial {seen.serial} was voided: {label.voided_by}"
            return (_reason(ReasonKind.LABEL_VOIDED, sentence),)
    against = valid[-1] if valid else labels[-1]
    sentence = f"the label does not say what was printed for {seen.serial}: " + ", ".join(_differences(seen, against))
    return (_reason(ReasonKind.LABEL_DIFFERS, sentence),)


def _superseded(seen: SeenLabel, valid: Sequence[PrintedLabel]) -> tuple[Reason, ...]:
    """A later label of the same thing, on whatever surface, that says otherwise outdates this one."""
    latest = valid[-1]
    differences = _differences(seen, latest)
    if not differences:
        return ()
    sentence = f"a later label ({latest.kind.value}, print run {latest.run}) says otherwise: this one says "
    return (_reason(ReasonKind.LABEL_SUPERSEDED, sentence + ", ".join(differences)),)


def _record_reasons(seen: SeenLabel, known: KnownItem, on_label: Sequence[Reason]) -> tuple[Reason, ...]:
    """A thing that is not on record is not fit; a corrected batch or date prepared forces relabelling."""
    if not known.labels:
        return ()
    if not known.on_record:
        sentence = f"no tube or pouch {seen.serial} is on record, only a label"
        return (_reason(ReasonKind.NOT_ON_RECORD, sentence),)
    corrected = [
        f"{name} {_said(said)}, on record is {_said(today)}"
        for name, said, today in (
            ("batch", seen.lot, known.batch),
            ("date prepared", seen.prepared, known.prepared),
        )
        if said is not None and today is not None and said != today
    ]
    if not corrected or on_label:
        return ()
    sentence = f"the record was corrected after this label was printed: {'; '.join(corrected)}; print it again"
    return (_reason(ReasonKind.LABEL_OUTDATED, sentence),)


def bottle_reasons(bottle: Bottle, policy: Policy, *, today: date) -> tuple[Reason, ...]:
    """Return every reason against taking anything out of this bottle today: the bottle's own gate."""
    dating = date_bottle(bottle, policy)
    reasons = [*dating.stops, *_bottle_status((bottle,))]
    if bottle.finished_on is not None:
        sentence = f"{bottle.name} was finished on {bottle.finished_on.isoformat()}"
        reasons.append(_reason(ReasonKind.FINISHED, sentence))
    return (*reasons, *_past(dating, today))


def component_reasons(component: Component, policy: Policy, *, today: date) -> tuple[Reason, ...]:
    """Return every reason against putting this component into anything today, be it a bottle or a diluent."""
    if isinstance(component.source, Bottle):
        return bottle_reasons(component.source, policy, today=today)
    dating = date_component(component, policy)
    return (*dating.stops, *_past(dating, today))


def _past(dating: Dating, today: date) -> tuple[Reason, ...]:
    return tuple(
        _reason(ReasonKind.PAST_USE_BY, f"{cause.source} was good until {cause.date.isoformat()} ({cause.kind.value})")
        for cause in dating.causes
        if cause.date < today
    )


def _reason(kind: ReasonKind, sentence: str) -> Reason:
    return Reason(kind=kind, sentence=sentence)


def _said(value: date | str | None) -> str:
    return "nothing" if value is None else str(value)


def _fields(seen: SeenLabel, label: PrintedLabel) -> tuple[tuple[str, date | str | None, date | str | None], ...]:
    return (
        ("batch", seen.lot, label.lot),
        ("use-by", seen.use_by, label.use_by),
        ("date prepared", seen.prepared, label.prepared),
    )


def _differences(seen: SeenLabel, label: PrintedLabel) -> tuple[str, ...]:
    return tuple(
        f"{name} {_said(said)} instead of {_said(recorded)}"
        for name, said, recorded in _fields(seen, label)
        if said is not None and said != recorded
    )


def _missing_on_label(seen: SeenLabel, valid: Iterable[PrintedLabel]) -> tuple[Reason, ...]:
    """A bare serial may agree with the record and still be a mix-up; the rest has to be entered from the label."""
    agreeing = [label for label in valid if _differences(seen, label) == ()]
    gaps = [
        [name for name, said, recorded in _fields(seen, label) if said is None and recorded is not None]
        for label in agreeing
    ]
    fewest = min(gaps, key=len)
    if not fewest:
        return ()
    sentence = f"not read from the label yet: {', '.join(fewest)}; enter it from the label"
    return (_reason(ReasonKind.LABEL_INCOMPLETE, sentence),)


def _dating_reasons(seen: SeenLabel, dating: Dating, today: date) -> tuple[Reason, ...]:
    reasons = list(dating.stops)
    if seen.use_by is not None and seen.use_by < today:
        reasons.append(_reason(ReasonKind.PAST_USE_BY, f"the label says use by {seen.use_by.isoformat()}"))
    return (*reasons, *_past(dating, today))


def _bottle_status(bottles: Iterable[Bottle]) -> tuple[Reason, ...]:
    return tuple(
        _reason(ReasonKind.WITHDRAWN, f"{bottle.name} was withdrawn on {bottle.withdrawn_on.isoformat()}")
        for bottle in bottles
        if bottle.withdrawn_on is not None
    )


def _release_reasons(known: KnownItem) -> tuple[Reason, ...]:
    reasons = []
    if not known.released:
        reasons.append(_reason(ReasonKind.NOT_RELEASED, "no release of its steriliser load is recorded"))
    if known.opened:
        reasons.append(_reason(ReasonKind.ALREADY_OPENED, "it was opened or used before"))
    return tuple(reasons)


def _chair_reasons(client: str | None, opening: OpeningCheck | None) -> tuple[Reason, ...]:
    reasons = []
    if client is None:
        reasons.append(_reason(ReasonKind.CLIENT_MISSING, "the client is not entered yet"))
    if opening is None:
        reasons.append(_reason(ReasonKind.OPENING_UNCHECKED, "the checks at opening are not answered yet"))
        return tuple(reasons)
    answers = (
        (opening.indicator, "the pouch's indicator has not turned"),
        (opening.dry, "the pouch is wet"),
        (opening.whole, "the pouch is torn or open"),
    )
    reasons += [_reason(ReasonKind.OPENING_FAILED, sentence) for good, sentence in answers if not good]
    return tuple(reasons)
