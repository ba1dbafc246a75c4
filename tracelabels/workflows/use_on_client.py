"""Record everything that was used on a client in one session.

The gate is asked again inside the unit that records. One pouch, one client: pouches and tubes are claimed, and of any
number of chairs exactly one wins; the others are told who and when. A use against STOP is refused, unless staff say
that it really happened: what happened is always recorded, as a use and as an incident.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from tracelabels.custody import (
    Client,
    Fitness,
    Incident,
    IncidentKind,
    Kind,
    Name,
    Reason,
    ReasonKind,
    Use,
    Verdict,
)
from tracelabels.errors import InputError
from tracelabels.records import Reading, Series, Writing
from tracelabels.workflows.keep_evidence import keep_evidence
from tracelabels.workflows.open_at_chair import record_opening
from tracelabels.workflows.practice import Practice
from tracelabels.workflows.request_keys import answered
from tracelabels.workflows.use_gate import Asked, Together, ask_for_use, named_and_belonging

_CLAIMED = (Kind.POUCH, Kind.TUBE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Photographed:
    """A photograph of the label, to be kept."""

    content: bytes
    """The file."""
    name: str
    """Its name, for sentences."""


@dataclass(frozen=True, slots=True, kw_only=True)
class UseOrder:
    """What was used, on whom, how."""

    together: Together
    """Everything used, the client, what was seen at opening."""
    happened: str | None = None
    """An account, if it happened whatever the gate says; None to be refused against STOP."""
    is_outage: bool = False
    """It happened while the system was down: the gate could not be asked."""
    at: datetime | None = None
    """When it happened; None for now."""
    practitioner: str | None = None
    """Opaque staff id of who used it; None for who records."""
    photograph: Photographed | None = None
    """The photograph of the label; None if none was taken."""
    procedure: str | None = None
    """What was done; sealed."""
    body_site: str | None = None
    """Where on the body; sealed."""
    side: str | None = None
    """Left, right, both, middle; sealed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class UseDone:
    """A use that is on record, or the reasons why it is not."""

    use: Use | None
    """As recorded; None if it was refused."""
    incidents: tuple[Incident, ...]
    """Incidents recorded with it."""
    verdict: Verdict | None
    """What the gate says; None if it could not be asked."""
    reasons: tuple[Reason, ...]
    """Everything that speaks against it; who had it and when, if somebody had."""


def use_on_client(practice: Practice, order: UseOrder, *, by: str, request_key: str | None = None) -> UseDone:
    """Ask the gate and record the use.

    Args:
        practice: whose.
        order: what was used, on whom, how.
        by: opaque staff id of who records.
        request_key: names the request; asked again, it gives the same answer and writes nothing.

    Raises:
        InputError: nothing is used, the time is still to come, or an outage or a use against STOP without an account.
        LedgerError: the client or a thing is not on record.
    """
    at = practice.when(order.at)
    _require_account(order)
    forced = order.happened is not None or order.is_outage
    with practice.ledger.read() as ledger:
        done = _answered(ledger, request_key, order)
        if done is None and not forced:
            done = _refused(ask_for_use(practice, ledger, order.together, at=at))
    if done is not None:
        return done
    with practice.write(by=by, at=at) as writing:
        done = _answered(writing, request_key, order)
        if done is not None:
            return done
        asked = ask_for_use(practice, writing, order.together, at=at)
        done = None if forced else _refused(asked)
        if done is not None:
            return done
        return _record(practice, writing, order, asked, by=by, at=at, request_key=request_key)


def _refused(asked: Asked) -> UseDone | None:
    if asked.verdict is Verdict.GO:
        return None
    return UseDone(use=None, incidents=(), verdict=asked.verdict, reasons=asked.reasons)


def _require_account(order: UseOrder) -> None:
    if order.happened is not None and not order.happened.strip():
        raise InputError(
            given="a use that really happened, without an account",
            expected="what happened, in words",
            remedy="write it; it is sealed with the client's key",
        )


def _answered(ledger: Reading, key: str | None, order: UseOrder) -> UseDone | None:
    use = answered(ledger, Use, key, is_same=lambda one: _is_same(ledger, one, order))
    if use is None:
        return None
    incidents = tuple(one.value for one in ledger.about(Incident, "use", use.as_name))
    reasons = tuple(Reason(kind=ReasonKind.AS_ANSWERED, sentence=sentence) for sentence in use.reasons)
    return UseDone(use=use, incidents=incidents, verdict=use.verdict, reasons=reasons)


def _is_same(ledger: Reading, use: Use, order: UseOrder) -> bool:
    """Say whether a use is on this client, and of what is named: all of it, and what belongs to it."""
    named, belonging = named_and_belonging(ledger, order.together)
    is_outage = (use.verdict is None) is order.is_outage
    return is_outage and use.client.text == order.together.client and named <= set(use.items) <= named | belonging


def _record(
    practice: Practice,
    ledger: Writing,
    order: UseOrder,
    asked: Asked,
    *,
    by: str,
    at: datetime,
    request_key: str | None,
) -> UseDone:
    client = ledger.require(Client, order.together.client).value.as_name
    taken = {name: _holders(ledger, name) for name in asked.items if name.kind in _CLAIMED}
    _record_openings(ledger, order, asked, at)
    use = Use(
        number=ledger.next_numbered(Series.USE),
        client=client,
        practitioner=order.practitioner or by,
        at=at,
        items=asked.items,
        verdict=None if order.is_outage else asked.verdict,
        reasons=tuple(reason.sentence for reason in asked.reasons),
        photograph=_keep(practice, ledger, order, asked, client),
        procedure=order.procedure,
        body_site=order.body_site,
        side=order.side,
    )
    claims = [("used", name) for name in taken if not ledger.claims("used", name)]
    ledger.record(use, request_key=request_key, claims=claims)
    incidents = tuple(_incidents(ledger, order, use, asked, taken))
    for incident in incidents:
        ledger.record(incident)
    return UseDone(use=use, incidents=incidents, verdict=use.verdict, reasons=asked.reasons)


def _holders(ledger: Reading, name: Name) -> tuple[Name, ...]:
    """Return the clients on whom a thing was used before, by every use that stands, claimed or not."""
    return tuple(one.value.client for one in ledger.about(Use, "items", name))


def _record_openings(ledger: Writing, order: UseOrder, asked: Asked, at: datetime) -> None:
    """Record the opening of each pouch that is not on record as opened, where it was answered what was seen."""
    if order.together.opening is None:
        return
    for name in asked.items:
        if name.kind is Kind.POUCH and not ledger.claims("opened", name):
            told = asked.answers.get(name) or _of_tubes(asked)
            record_opening(ledger, name, order.together.opening, told, client=order.together.client, at=at)


def _of_tubes(asked: Asked) -> Fitness:
    """Return what the gate says of a pouch that was not named itself: all that it says of what was used."""
    return Fitness(verdict=asked.verdict, reasons=asked.reasons, printed_use_by=None, known_use_by=None)


def _keep(practice: Practice, ledger: Writing, order: UseOrder, asked: Asked, client: Name) -> str | None:
    if order.photograph is None:
        return None
    about = asked.items[0]
    photograph = order.photograph
    return keep_evidence(practice, ledger, photograph.content, name=photograph.name, about=about, client=client).digest


def _incidents(
    ledger: Writing,
    order: UseOrder,
    use: Use,
    asked: Asked,
    taken: dict[Name, tuple[Name, ...]],
) -> Iterator[Incident]:
    """Give what the use means beyond itself: against STOP, during an outage, a second client."""
    kinds: list[tuple[IncidentKind, tuple[Name, ...]]] = []
    if order.is_outage:
        kinds.append((IncidentKind.USED_DURING_OUTAGE, use.items))
    elif asked.verdict is not Verdict.GO:
        kinds.append((IncidentKind.USED_AGAINST_STOP, use.items))
    twice = tuple(name for name, holders in taken.items() if any(one != use.client for one in holders))
    if twice:
        kinds.append((IncidentKind.USED_TWICE, twice))
    for kind, items in kinds:
        yield Incident(
            number=ledger.next_numbered(Series.INCIDENT),
            kind=kind,
            at=use.at,
            items=items,
            client=use.client,
            use=use.as_name,
            reasons=use.reasons,
            account=order.happened,
        )
