"""What was said since of the things in a chain: holds, recalls, adverse events; nothing that is sealed."""

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime

from tracelabels.custody import ClientStanding, HoldCause, Kind, Name, RecallAction, RecallStep, stand_of
from tracelabels.records import FactId, HoldNotice, Reading


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldOnChain:
    """A hold that names something in the chain."""

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
    things: tuple[Name, ...]
    """What in the chain it names."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RecallOfChain:
    """A recall that reached something in the chain when it was recorded."""

    number: str
    """Our number of the recall."""
    cause: str
    """What was asked when it was recorded."""
    reason: str
    """Why, in words."""
    at: datetime
    """When (UTC)."""
    is_closed: bool
    """Whether somebody closed it."""
    things: tuple[Name, ...]
    """What in the chain it reached, but for clients."""
    clients: tuple[ClientStanding, ...]
    """The clients in the chain that it reached, each with how it stands."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EventInChain:
    """An adverse event that befell a client in the chain, or is linked with a use in it."""

    number: str
    """Our number of the event."""
    client: Name
    """Who."""
    onset: date
    """The day it began."""
    report_due: date | None
    """When a report to an authority is due."""
    report_sent: date | None
    """When it was sent."""
    closed_on: date | None
    """When it was closed; None while it is open."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Notices:
    """All of them."""

    holds: tuple[HoldOnChain, ...] = ()
    """Holds, lifted ones too, by number."""
    recalls: tuple[RecallOfChain, ...] = ()
    """Recalls, closed ones too, by number."""
    events: tuple[EventInChain, ...] = ()
    """Adverse events, closed ones too, by number."""

    @property
    def kept_back(self) -> frozenset[Name]:
        """Return the things that a hold names which still stands."""
        return frozenset(thing for hold in self.holds if hold.lifted_at is None for thing in hold.things)

    def holds_now_on(self, thing: Name) -> tuple[HoldOnChain, ...]:
        """Return the holds that name a thing and still stand."""
        return tuple(one for one in self.holds if one.lifted_at is None and thing in one.things)


def notices_of(
    ledger: Reading, names: Mapping[FactId, Name], *, asked_about: Collection[FactId], erased: Collection[FactId]
) -> Notices:
    """Return what was said since of the things in a chain; the number of questions does not grow with their number.

    Args:
        ledger: the state of the ledger.
        names: what people call each thing in the chain.
        asked_about: clients whose adverse events and recalls are told, whatever else these are about.
        erased: clients whose personal data was erased.
    """
    return Notices(
        holds=tuple(_hold(one, names) for one in ledger.holds_on(names)),
        recalls=tuple(one for one in _recalls(ledger, names, erased) if one.things or asked_about),
        events=tuple(_events(ledger, names, asked_about)),
    )


def _hold(notice: HoldNotice, names: Mapping[FactId, Name]) -> HoldOnChain:
    return HoldOnChain(
        number=notice.number,
        cause=notice.cause,
        reason=notice.reason,
        at=notice.at,
        lifted_at=notice.lifted_at,
        lifted_because=notice.lifted_because,
        things=tuple(sorted(names[thing] for thing in notice.things)),
    )


def _events(ledger: Reading, names: Mapping[FactId, Name], asked_about: Collection[FactId]) -> Iterator[EventInChain]:
    uses = [thing for thing, name in names.items() if name.kind is Kind.USE]
    for one in ledger.events_about(uses=uses, clients=asked_about):
        yield EventInChain(
            number=one.number,
            client=names.get(one.client) or ledger.name_of(one.client),
            onset=one.onset,
            report_due=one.report_due,
            report_sent=one.report_sent,
            closed_on=one.closed_on,
        )


def _recalls(ledger: Reading, names: Mapping[FactId, Name], erased: Collection[FactId]) -> tuple[RecallOfChain, ...]:
    found = ledger.recalls_of(names)
    actions: dict[str, list[RecallAction]] = defaultdict(list)
    for action in ledger.about_each(RecallAction, "recall", [one.thing for one in found]):
        actions[action.value.recall.text].append(action.value)
    gone = {names[one] for one in erased if one in names}
    told = []
    for one in found:
        reached, done = sorted(names[thing] for thing in one.things), actions[one.number]
        recall = RecallOfChain(
            number=one.number,
            cause=one.cause,
            reason=one.reason,
            at=one.at,
            is_closed=any(step.step is RecallStep.CLOSED for step in done),
            things=tuple(name for name in reached if name.kind is not Kind.CLIENT),
            clients=tuple(stand_of(name, done, is_erased=name in gone) for name in reached if name.kind is Kind.CLIENT),
        )
        told.append(recall)
    return tuple(told)
