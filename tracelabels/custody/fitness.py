"""The gate: may this be used? Every reason is given, and the worst decides.

It fails closed: what is not known counts against use. It never says that anything is sterile.

Without client and opening checks (``chair_reasons``) it says *preliminary* at best. It looks at the label
(``label_reasons``), what happened before (``past``), dates and bottles (``content_reasons``), and the processing
(``processing_reasons``); what can still be put right at the chair is told last.
"""

from dataclasses import dataclass
from datetime import date

from tracelabels.custody.bottles import Bottle
from tracelabels.custody.chair_reasons import (
    ClientAtChair,
    OpeningCheck,
    client_reasons,
    contents_reasons,
    opening_reasons,
)
from tracelabels.custody.content_reasons import past_reasons, withdrawn_reasons
from tracelabels.custody.label_reasons import OnRecord, SeenLabel, is_second, label_reasons, outdated_reasons
from tracelabels.custody.names import Name
from tracelabels.custody.past import PastEvent, history_reasons
from tracelabels.custody.prints import PrintedLabel
from tracelabels.custody.processing import ProcessingRecord
from tracelabels.custody.processing_reasons import processing_reasons
from tracelabels.custody.reasons import Reason, ReasonKind, Verdict, worst
from tracelabels.custody.use_by import Dating


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownItem:
    """What the ledger knows about the tube or pouch that a label names."""

    item: Name | None
    """The tube or pouch; None if neither is on record, but a label at most."""
    labels: tuple[PrintedLabel, ...]
    """Every label ever printed for this serial, voided ones included; none if the serial is unknown."""
    dating: Dating
    """How long it is good, as known today."""
    first: OnRecord
    """Batch and day of what was in it when it was processed."""
    filled: OnRecord | None = None
    """Batch and day of what was filled in at the chair; None if nothing was."""
    bottles: tuple[Bottle, ...] = ()
    """The bottles it came from."""
    processing: ProcessingRecord | None = None
    """The processing of the pouch, or of the pouch that the tube lies in; None if there is no pouch."""
    holds_liquid: bool = False
    """What was processed are tubes filled before."""
    holds_solids: bool = False
    """What was processed are instruments or empty tubes."""
    past: tuple[PastEvent, ...] = ()
    """What happened to it, and to the pouch it lies in."""
    openings: tuple[OpeningCheck, ...] = ()
    """What was recorded when the pouch was opened."""
    tubes: tuple[str, ...] = ()
    """Serials of the tubes recorded in the pouch."""


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
    seen: SeenLabel | None,
    known: KnownItem,
    *,
    today: date,
    client: ClientAtChair | None = None,
    opening: OpeningCheck | None = None,
    found_with: tuple[str, ...] = (),
) -> Fitness:
    """Answer whether the labelled thing may be used today.

    Args:
        seen: what the label says; None where the label was scanned before, and only the rest is asked again.
        known: what the ledger knows of that serial.
        today: the day of use in the practice's zone.
        client: the client; None before it is entered.
        opening: what was seen at opening; None before it is answered.
        found_with: serials of tubes that were found in the pouch, or photographed with it.

    Returns:
        GO only if no reason speaks against it; *preliminary* while client or opening check is missing.
    """
    answers = (*known.openings, *((opening,) if opening is not None else ()))
    reasons = (
        *_label_reasons(seen, known),
        *contents_reasons(known.tubes, found_with),
        *_past_reasons(known, client, today),
        *_dating_reasons(seen, known.dating, today),
        *withdrawn_reasons(known.bottles),
        *_processing_reasons(known, client),
        *client_reasons(client),
        *opening_reasons(answers),
    )
    computed = known.dating.use_by
    return Fitness(
        verdict=worst(reasons),
        reasons=reasons,
        printed_use_by=None if seen is None else seen.use_by,
        known_use_by=None if computed is None else computed.date,
    )


def _label_reasons(seen: SeenLabel | None, known: KnownItem) -> tuple[Reason, ...]:
    """Compare label and record; a thing that is not on record is not fit, a corrected record forces relabelling."""
    if seen is None:
        return ()
    on_label = label_reasons(seen, known.labels)
    if not known.labels:
        return on_label
    if known.item is None:
        sentence = f"no tube or pouch {seen.serial} is on record, only a label"
        return (*on_label, Reason(kind=ReasonKind.NOT_ON_RECORD, sentence=sentence))
    if any(reason.kind is not ReasonKind.LABEL_INCOMPLETE for reason in on_label):
        return on_label
    today = known.filled if known.filled is not None and is_second(seen, known.labels) else known.first
    return (*on_label, *outdated_reasons(seen, today))


def _processing_reasons(known: KnownItem, client: ClientAtChair | None) -> tuple[Reason, ...]:
    return processing_reasons(
        known.processing,
        holds_liquid=known.holds_liquid,
        holds_solids=known.holds_solids,
        is_protected=client is not None and client.is_protected,
    )


def _past_reasons(known: KnownItem, client: ClientAtChair | None, today: date) -> tuple[Reason, ...]:
    if known.item is None:
        return ()
    code = None if client is None else client.code
    return history_reasons(known.item, known.past, client=code, today=today)


def _dating_reasons(seen: SeenLabel | None, dating: Dating, today: date) -> tuple[Reason, ...]:
    reasons = list(dating.stops)
    if seen is not None and seen.use_by is not None and seen.use_by < today:
        sentence = f"the label says use by {seen.use_by.isoformat()}"
        reasons.append(Reason(kind=ReasonKind.PAST_USE_BY, sentence=sentence))
    return (*reasons, *past_reasons(dating, today))
