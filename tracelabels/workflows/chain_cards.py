"""What is told beside a chain, a card for each thing: its loads at length, what happened since."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, tzinfo

from tracelabels.custody import ClientEnd, ClientStanding, Name
from tracelabels.words import in_words, local_minute, some
from tracelabels.workflows.chain_notices import EventInChain, HoldOnChain, Notices, RecallOfChain
from tracelabels.workflows.load_accounts import LoadAccount
from tracelabels.workflows.load_words import Row, fate_of_load, rows_of_load

CAUTION = (
    "Nothing here says that anything is sterile: a chemical indicator shows exposure, a spore test (biological "
    "indicator, BI) speaks for its own cycle. Local codes, the makers' instructions and licensed practice come first."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """What is told about one thing."""

    title: str
    """What it is called, and what became of it."""
    rows: tuple[Row, ...]
    """What is told, in order."""


def cards_of(loads: Iterable[LoadAccount], notices: Notices, zone: tzinfo) -> tuple[Card, ...]:
    """Return the cards beside a chain: loads by number, then holds, recalls, adverse events.

    Args:
        loads: the loads in the chain.
        notices: what was said since.
        zone: the practice's, for moments.
    """
    return (
        *(_of_load(one, notices, zone) for one in loads),
        *(_of_hold(one, zone) for one in notices.holds),
        *(_of_recall(one, zone) for one in notices.recalls),
        *(_of_event(one) for one in notices.events),
    )


def _of_load(account: LoadAccount, notices: Notices, zone: tzinfo) -> Card:
    name = account.load.as_name
    held = [one.number for one in notices.holds_now_on(name)]
    rows = tuple(rows_of_load(account, zone))
    kept = (("kept back", f"the load itself, by hold {', '.join(held)}"),) if held else ()
    return Card(title=f"{name}: {fate_of_load(account)}", rows=(*rows, *kept))


def _of_hold(hold: HoldOnChain, zone: tzinfo) -> Card:
    rows = [("since", local_minute(hold.at, zone)), ("why", hold.reason), ("keeps back", _named(hold.things))]
    if hold.lifted_at is not None:
        rows.append(("lifted", f"{local_minute(hold.lifted_at, zone)}: {hold.lifted_because}"))
    state = "stands" if hold.lifted_at is None else "lifted"
    return Card(title=f"hold {hold.number} ({in_words(hold.cause)}): {state}", rows=tuple(rows))


def _of_recall(recall: RecallOfChain, zone: tzinfo) -> Card:
    rows = [("of", recall.cause), ("since", local_minute(recall.at, zone)), ("why", recall.reason)]
    if recall.things:
        rows.append(("reached", _named(recall.things)))
    if recall.clients:
        rows.append(("clients", some(_client(one) for one in recall.clients)))
    return Card(title=f"recall {recall.number}: {'closed' if recall.is_closed else 'open'}", rows=tuple(rows))


def _client(one: ClientStanding) -> str:
    said = {ClientEnd.OPEN: "nobody tried yet", ClientEnd.ATTEMPTED: f"tried in vain so far ({one.attempts})"}
    return f"{one.client.text} {said.get(one.end, in_words(one.end))}"


def _of_event(event: EventInChain) -> Card:
    rows = [("client", event.client.text), ("began", event.onset.isoformat())]
    rows.append(("report", _report(event.report_due, event.report_sent)))
    state = "open" if event.closed_on is None else f"closed {event.closed_on.isoformat()}"
    return Card(title=f"adverse event {event.number}: {state}", rows=tuple(rows))


def _report(due: date | None, sent: date | None) -> str:
    said = [f"due {due.isoformat()}"] if due else []
    said += [f"sent {sent.isoformat()}"] if sent else []
    return ", ".join(said) or "no day on record"


def _named(things: Iterable[Name]) -> str:
    """Name a dozen things of each kind, and say how many more there are."""
    return "; ".join(_of_kinds(things))


def _of_kinds(things: Iterable[Name]) -> Iterator[str]:
    by_kind: dict[str, list[str]] = {}
    for one in things:
        by_kind.setdefault(in_words(one.kind), []).append(one.text)
    for kind, texts in by_kind.items():
        yield f"{kind} {some(texts)}"
