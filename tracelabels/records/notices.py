"""What was said of things since: holds and recalls that name them, adverse events; for whole sets of things.

Of a hold or a recall only those of its things are fetched that were asked about: either may name thousands.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Final

from sqlalchemy import Table

from tracelabels.custody import Direction, HoldCause, Link
from tracelabels.records.fact_reading import pair_of, standing_rows
from tracelabels.records.facts import FactId
from tracelabels.records.schema import chair, fact, processing
from tracelabels.records.tracing import Tracing


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldNotice:
    """A hold, as it concerns some things."""

    number: str
    """Our number of the hold."""
    cause: HoldCause
    """Why."""
    reason: str
    """In words."""
    at: datetime
    """Since when (UTC)."""
    lifted_at: datetime | None
    """When it was lifted (UTC); None while it stands."""
    lifted_because: str | None
    """Why it was lifted, in words."""
    recall: FactId | None
    """The recall it belongs to, if any."""
    things: frozenset[FactId]
    """Those of the things asked about that it keeps back."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RecallNotice:
    """A recall, as it concerns some things."""

    thing: FactId
    """The recall's lasting name."""
    number: str
    """Our number of the recall."""
    cause: str
    """What was asked when it was recorded."""
    reason: str
    """Why, in words."""
    at: datetime
    """When (UTC)."""
    things: frozenset[FactId]
    """Those of the things asked about that it reached when it was recorded: items, clients, incidents, causes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EventNotice:
    """An adverse event, without anything that is sealed about it."""

    thing: FactId
    """The event's lasting name."""
    number: str
    """Our number of the event."""
    client: FactId
    """Who."""
    onset: date
    """The day it began."""
    report_due: date | None
    """When a report to an authority is due."""
    report_sent: date | None
    """When it was sent."""
    closed_on: date | None
    """When it was closed; None while it is open."""


_THING: Final = pair_of(fact, "thing")
_RECALLED: Final = (chair.recall_roots, chair.recall_items, chair.recall_clients, chair.recall_incidents)


class NoticeReading(Tracing):
    """Finds what was said of things since."""

    def holds_on(self, things: Collection[FactId]) -> tuple[HoldNotice, ...]:
        """Return every hold that names one of many things, lifted ones too, by number."""
        named = self._naming((processing.hold_items,), things)
        hold, lifted, ends = processing.hold, processing.hold_lifted, pair_of(processing.hold_lifted, "hold")
        ended = {
            FactId(site=a, sequence=b): (datetime.fromisoformat(at), why)
            for a, b, at, why in self._pairs_among(
                standing_rows(lifted, *ends, lifted.c.at, lifted.c.reason), ends, named
            )
        }
        columns = (hold.c.number, hold.c.cause, hold.c.reason, hold.c.at, *pair_of(hold, "recall"))
        found = []
        for a, b, number, cause, reason, at, *recall in self._pairs_among(
            standing_rows(hold, *_THING, *columns), _THING, named
        ):
            thing = FactId(site=a, sequence=b)
            lifted_at, why = ended.get(thing, (None, None))
            notice = HoldNotice(
                number=number,
                cause=HoldCause(cause),
                reason=reason,
                at=datetime.fromisoformat(at),
                lifted_at=lifted_at,
                lifted_because=why,
                recall=None if recall[0] is None else FactId(site=recall[0], sequence=recall[1]),
                things=frozenset(named[thing]),
            )
            found.append(notice)
        return tuple(sorted(found, key=lambda one: one.number))

    def recalls_of(self, things: Collection[FactId]) -> tuple[RecallNotice, ...]:
        """Return every recall that reached one of many things when it was recorded, by number."""
        named = self._naming(_RECALLED, things)
        recall = chair.recall
        query = standing_rows(recall, *_THING, recall.c.number, recall.c.cause, recall.c.reason, recall.c.at)
        found = [
            RecallNotice(
                thing=FactId(site=a, sequence=b),
                number=number,
                cause=cause,
                reason=reason,
                at=datetime.fromisoformat(at),
                things=frozenset(named[FactId(site=a, sequence=b)]),
            )
            for a, b, number, cause, reason, at in self._pairs_among(query, _THING, named)
        ]
        return tuple(sorted(found, key=lambda one: one.number))

    def events_about(
        self, *, uses: Collection[FactId] = (), clients: Collection[FactId] = ()
    ) -> tuple[EventNotice, ...]:
        """Return every adverse event that is linked with one of many uses, or befell one of many clients, by number."""
        linked = {event for _, event in self.neighbours(Link.USE_EVENT, Direction.FORWARD, uses)}
        event, client = chair.adverse_event, pair_of(chair.adverse_event, "client")
        dates = (event.c.onset, event.c.report_due, event.c.report_sent, event.c.closed_on)
        query = standing_rows(event, *_THING, *client, event.c.number, *dates)
        found = {}
        for ends, wanted in ((_THING, linked), (client, clients)):
            for a, b, c, d, number, onset, due, sent, closed in self._pairs_among(query, ends, wanted):
                thing = FactId(site=a, sequence=b)
                found[thing] = EventNotice(
                    thing=thing,
                    number=number,
                    client=FactId(site=c, sequence=d),
                    onset=onset,
                    report_due=due,
                    report_sent=sent,
                    closed_on=closed,
                )
        return tuple(sorted(found.values(), key=lambda one: one.number))

    def _naming(self, tables: Iterable[Table], things: Collection[FactId]) -> dict[FactId, set[FactId]]:
        """Return what names some things in tables of parts, each with those that it names."""
        found: dict[FactId, set[FactId]] = defaultdict(set)
        for table in tables:
            item = pair_of(table, "item")
            for a, b, c, d in self._pairs_among(standing_rows(table, *_THING, *item), item, things):
                found[FactId(site=a, sequence=b)].add(FactId(site=c, sequence=d))
        return found
