"""A pouch is opened at the chair: what was seen and what the gate said, recorded once; others are told who and when.

The opening is recorded whatever the gate says, because it happened. What was opened against STOP is not used.
"""

from dataclasses import dataclass
from datetime import datetime

from tracelabels.custody import (
    Fitness,
    Kind,
    Name,
    OpeningCheck,
    PastKind,
    PouchOpening,
    Reason,
    ReasonKind,
    SeenLabel,
    Verdict,
    assess,
)
from tracelabels.records import Reading, Writing
from tracelabels.workflows.chair_record import ChairReader
from tracelabels.workflows.practice import Practice, require_own_serial
from tracelabels.workflows.request_keys import answered


@dataclass(frozen=True, slots=True, kw_only=True)
class PouchInHand:
    """A pouch that is opened, and what is seen."""

    seen: SeenLabel
    """What its label says, scanned or typed."""
    client: str
    """Code of the client."""
    opening: OpeningCheck
    """What was seen at opening."""
    found_with: tuple[str, ...] = ()
    """Serials of the tubes found in it."""
    at: datetime | None = None
    """When; None for now."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Opened:
    """An opening, or why it is not recorded."""

    opening: PouchOpening | None
    """As recorded; None if the pouch was opened or used before."""
    verdict: Verdict
    """What the gate says."""
    reasons: tuple[Reason, ...]
    """Everything that speaks against use; who opened it and when, if it was opened before."""


def open_at_chair(practice: Practice, pouch: PouchInHand, *, by: str, request_key: str | None = None) -> Opened:
    """Ask the gate, and record the opening with its answer.

    Args:
        practice: whose.
        pouch: which pouch, for whom, and what is seen.
        by: opaque staff id.
        request_key: names the request; asked again, it gives the same answer and writes nothing.

    Raises:
        InputError: it is no serial of ours, or the time is still to come.
        LedgerError: no pouch with this serial is on record.
    """
    serial = require_own_serial(pouch.seen.serial)
    at = practice.when(pouch.at)
    with practice.write(by=by, at=at) as ledger:
        before = answered(ledger, PouchOpening, request_key, is_same=lambda one: _is_same(one, pouch, serial))
        if before is not None:
            return _as_answer(before)
        name = Name(Kind.POUCH, serial)
        ledger.require_thing(name)
        fitness = ask_gate(practice, ledger, pouch, serial=serial, at=at)
        if ledger.claims("opened", name) or ledger.claims("used", name):
            return Opened(opening=None, verdict=Verdict.STOP, reasons=fitness.reasons)
        opening = record_opening(
            ledger, name, pouch.opening, fitness, client=pouch.client, at=at, request_key=request_key
        )
    return Opened(opening=opening, verdict=fitness.verdict, reasons=fitness.reasons)


def _is_same(opening: PouchOpening, pouch: PouchInHand, serial: str) -> bool:
    """Say whether an opening is of this pouch, for this client, with these answers; who is not on record is nobody."""
    is_client = opening.client is None or opening.client.text == pouch.client
    seen = OpeningCheck(indicator=opening.indicator, dry=opening.dry, whole=opening.whole)
    return is_client and opening.pouch.text == serial and seen == pouch.opening


def ask_gate(practice: Practice, ledger: Reading, pouch: PouchInHand, *, serial: str, at: datetime) -> Fitness:
    """Ask the gate about a pouch, inside an open unit."""
    reader = ChairReader(practice, ledger)
    known = reader.know(serial).as_item()
    return assess(
        pouch.seen,
        known,
        today=reader.day_of(at),
        client=reader.client(pouch.client),
        opening=pouch.opening,
        found_with=pouch.found_with,
    )


def record_opening(
    ledger: Writing,
    pouch: Name,
    seen: OpeningCheck,
    fitness: Fitness,
    *,
    client: str,
    at: datetime,
    request_key: str | None = None,
) -> PouchOpening:
    """Record an opening and claim the pouch, inside an open unit.

    Raises:
        LedgerError: somebody opened it before.
    """
    person = Name(Kind.CLIENT, client)
    opening = PouchOpening(
        pouch=pouch,
        client=person if ledger.find_thing(person) is not None else None,
        indicator=seen.indicator,
        dry=seen.dry,
        whole=seen.whole,
        verdict=fitness.verdict,
        at=at,
        reasons=tuple(reason.sentence for reason in fitness.reasons),
    )
    ledger.record(opening, request_key=request_key, claims=[(PastKind.OPENED.value, pouch)])
    return opening


def _as_answer(opening: PouchOpening) -> Opened:
    """Return the answer of the first time."""
    reasons = tuple(Reason(kind=ReasonKind.AS_ANSWERED, sentence=sentence) for sentence in opening.reasons)
    return Opened(opening=opening, verdict=opening.verdict, reasons=reasons)
