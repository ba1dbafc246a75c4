"""Report an incident: recorded, never refused, and part of every recall that reaches what it is about."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from tracelabels.custody import Client, Incident, IncidentKind, Name, Use
from tracelabels.errors import InputError
from tracelabels.records import Series
from tracelabels.workflows.hold_stock import things_named
from tracelabels.workflows.practice import Practice
from tracelabels.workflows.request_keys import answered


@dataclass(frozen=True, slots=True, kw_only=True)
class IncidentReport:
    """What happened."""

    kind: IncidentKind
    """What kind of thing."""
    account: str
    """What happened, in words."""
    items: tuple[Name, ...] = ()
    """The things it is about."""
    client: Name | None = None
    """The client it touched, if any."""
    use: Name | None = None
    """The use it is about, if one is on record."""
    reasons: tuple[str, ...] = ()
    """What the gate had said."""
    at: datetime | None = None
    """When it happened; None for now."""


def report_incident(practice: Practice, report: IncidentReport, *, by: str, request_key: str | None = None) -> Incident:
    """Record an incident.

    Args:
        practice: whose.
        report: what happened.
        by: opaque staff id of who reports.
        request_key: names the request; asked again, it gives the same answer and writes nothing.

    Raises:
        InputError: there is no account, or the time is still to come.
        LedgerError: a thing that it names is not on record.
    """
    if not report.account.strip():
        raise InputError(given="an incident without an account", expected="what happened, in words", remedy="write it")
    at = practice.when(report.at)
    with practice.write(by=by, at=at) as ledger:
        before = answered(ledger, Incident, request_key, is_same=lambda one: _is_same(one, report))
        if before is not None:
            return before
        incident = Incident(
            kind=report.kind,
            at=at,
            items=report.items,
            client=report.client,
            use=report.use,
            reasons=report.reasons,
            account=report.account.strip(),
            number=ledger.next_numbered(Series.INCIDENT),
        )
        ledger.record(incident, request_key=request_key)
    return incident


def _is_same(incident: Incident, report: IncidentReport) -> bool:
    said = (report.kind, report.items, report.client, report.use)
    return (incident.kind, incident.items, incident.client, incident.use) == said


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """What a report names, as on record."""

    items: tuple[Name, ...]
    """The things."""
    client: Name | None
    """The client."""
    use: Name | None
    """The use."""


def named_in(practice: Practice, items: Sequence[str], *, client: str | None, use: str | None) -> Named:
    """Return what was typed as names of things on record.

    Raises:
        InputError: a text names nothing, or several kinds of thing.
        LedgerError: there is no such client or use.
    """
    with practice.ledger.read() as ledger:
        things = [name for text in items for name in things_named(ledger, text)]
        return Named(
            items=tuple(dict.fromkeys(things)),
            client=None if client is None else ledger.require(Client, client).value.as_name,
            use=None if use is None else ledger.require(Use, use).value.as_name,
        )
