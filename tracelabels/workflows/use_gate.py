"""The gate over everything that is used on a client in one session: pouches, tubes, bottles, lots of consumables."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Final

from tracelabels.custody import (
    ClientAtChair,
    Consumable,
    Fitness,
    Kind,
    Name,
    OpeningCheck,
    Reason,
    ReasonKind,
    SeenLabel,
    Verdict,
    assess,
    contents_reasons,
    lot_reasons,
    said_once,
    worst,
)
from tracelabels.errors import InputError, LedgerError
from tracelabels.records import Reading
from tracelabels.workflows.chair_record import ChairReader, KnownThing
from tracelabels.workflows.check_at_chair import bottle_at_chair
from tracelabels.workflows.fill_at_chair import opened_with_go
from tracelabels.workflows.practice import Practice, require_own_serial

_OF_ALL: Final = frozenset(
    {
        ReasonKind.CLIENT_MISSING,
        ReasonKind.CLIENT_UNKNOWN,
        ReasonKind.OPENING_UNCHECKED,
        ReasonKind.OPENING_FAILED,
    }
)
"""Reasons that are no single thing's."""


@dataclass(frozen=True, slots=True, kw_only=True)
class UsedItem:
    """A thing that is used."""

    serial: str
    """Its serial: of a pouch, a tube, or a bottle that is used directly."""
    seen: tuple[SeenLabel, ...] = ()
    """What its labels say; none if no label was read now. Then only an opening with GO in this session counts."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Together:
    """Everything that is used together, as named by staff."""

    client: str
    """Code of the client."""
    items: tuple[UsedItem, ...]
    """Pouches, tubes, and bottles used directly."""
    consumables: tuple[str, ...] = ()
    """Lots, as ``kind/lot``."""
    opening: OpeningCheck | None = None
    """What was seen at opening; None if it is on record, or was not answered."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """The gate's answer over everything used."""

    items: tuple[Name, ...]
    """Everything used: what was named, the pouches of tubes, the filled tubes of pouches."""
    answers: dict[Name, Fitness]
    """The gate's answer for each tube and pouch."""
    reasons: tuple[Reason, ...]
    """Everything that speaks against it."""

    @property
    def verdict(self) -> Verdict:
        """Return the verdict: the worst decides."""
        return worst(self.reasons)


def ask_for_use(practice: Practice, ledger: Reading, together: Together, *, at: datetime) -> Asked:
    """Ask the gate about everything that is used, inside an open unit.

    Args:
        practice: whose.
        ledger: the open unit.
        together: what is used, on whom.
        at: when.

    Raises:
        InputError: nothing is used, or a serial is none of ours.
        LedgerError: a thing is not on record, and so cannot be named by a use.
    """
    reader = ChairReader(practice, ledger)
    named = _named(ledger, together)
    things = {name: reader.know(name.text) for name in named if name.kind is not Kind.BOTTLE}
    pouches = _pouches_of_tubes(things.values())
    things |= {Name(Kind.TUBE, one.serial): one for one in _tubes_of_pouches(reader, things)}
    client = reader.client(together.client)
    lots = tuple(Name(Kind.CONSUMABLE, text) for text in together.consumables)
    answers = {
        name: _answer(reader, thing, together, named.get(name, ()), client=client, is_named=name in named, at=at)
        for name, thing in things.items()
    }
    reasons = [one for name, fitness in answers.items() for one in _of(name, fitness.reasons)]
    reasons += [(None, one) for one in _mixed_up(named, things)]
    for name in named:
        if name.kind is Kind.BOTTLE:
            reasons += _of(name, bottle_at_chair(reader, ledger, name.text, practice, client=client, at=at))
    for name in lots:
        lot = ledger.require(Consumable, name.text).value
        reasons += _of(name, lot_reasons(lot, reader.processing.holds_on(name), today=reader.day_of(at)))
    items = dict.fromkeys((*named, *pouches, *things, *lots))
    return Asked(items=tuple(items), answers=answers, reasons=said_once(reasons))


def named_and_belonging(ledger: Reading, together: Together) -> tuple[set[Name], set[Name]]:
    """Return what is named as used, and what may be used with it: pouches of tubes, tubes of pouches.

    Raises:
        InputError: nothing is used, or a serial is none of ours.
        LedgerError: a thing is not on record.
    """
    named = {*_named(ledger, together), *(Name(Kind.CONSUMABLE, text) for text in together.consumables)}
    belonging: set[Name] = set()
    for name in named:
        if name.kind is Kind.TUBE:
            belonging |= {Name(Kind.POUCH, one.value.serial) for one in ledger.pouches_with(name.text)}
        elif name.kind is Kind.POUCH and (pouch := ledger.find_pouch(name.text)) is not None:
            belonging |= {Name(Kind.TUBE, serial) for serial in pouch.value.tubes}
    return named, belonging


def _named(ledger: Reading, together: Together) -> dict[Name, tuple[SeenLabel, ...]]:
    found = {_name(ledger, one.serial): one.seen for one in together.items}
    if not found and not together.consumables:
        raise InputError(given="a use of nothing", expected="what was used", remedy="name pouches, tubes or bottles")
    return found


def _name(ledger: Reading, text: str) -> Name:
    serial = require_own_serial(text)
    kinds = ledger.kinds_of_serial(serial)
    if not kinds:
        raise LedgerError(
            given=f"serial {serial}",
            expected="a pouch, a tube or a bottle that is on record",
            remedy="check it; if a thing that is not on record was used, report an incident with an account of it",
        )
    return Name(kinds[0], serial)


def _pouches_of_tubes(things: Iterable[KnownThing]) -> tuple[Name, ...]:
    """Return the pouches that tubes lie in; what speaks against them is told of the tubes."""
    found = [one.pouch for one in things if one.tube is not None and one.pouch is not None]
    return tuple(dict.fromkeys(Name(Kind.POUCH, pouch.serial) for pouch in found))


def _tubes_of_pouches(reader: ChairReader, things: dict[Name, KnownThing]) -> Iterator[KnownThing]:
    """Give the tubes of each pouch of which none is named: those that hold something, or all if none does."""
    named = {name.text for name in things if name.kind is Kind.TUBE}
    for thing in things.values():
        pouch = thing.pouch
        if thing.tube is not None or pouch is None or named & set(pouch.tubes):
            continue
        tubes = [reader.know(serial) for serial in pouch.tubes]
        filled = [one for one in tubes if one.holds_something]
        yield from filled or ([] if pouch.instruments else tubes)


def _answer(
    reader: ChairReader,
    thing: KnownThing,
    together: Together,
    seen: tuple[SeenLabel, ...],
    *,
    client: ClientAtChair | None,
    is_named: bool,
    at: datetime,
) -> Fitness:
    labels: tuple[SeenLabel | None, ...] = seen or (None,)
    if is_named and not seen and not opened_with_go(reader, thing, together.client, at):
        labels = (SeenLabel(serial=thing.serial),)
    item, today = thing.as_item(), reader.day_of(at)
    answers = [assess(label, item, today=today, client=client, opening=together.opening) for label in labels]
    reasons = list(dict.fromkeys(reason for one in answers for reason in one.reasons))
    if thing.tube is not None and not thing.holds_something:
        sentence = "it is empty on record; record first what was filled in, with 'tracelabels fill'"
        reasons.append(Reason(kind=ReasonKind.NOT_FILLED, sentence=sentence))
    return replace(answers[0], reasons=tuple(reasons), verdict=worst(reasons))


def _mixed_up(named: Iterable[Name], things: dict[Name, KnownThing]) -> tuple[Reason, ...]:
    """Where pouches and tubes are named together, every tube has to lie in one of these pouches."""
    pouches = [things[name] for name in named if name.kind is Kind.POUCH]
    tubes = [name.text for name in named if name.kind is Kind.TUBE]
    held = tuple(serial for one in pouches if one.pouch is not None for serial in one.pouch.tubes)
    return contents_reasons(held, tubes) if pouches else ()


def _of(name: Name, reasons: Sequence[Reason]) -> Iterator[tuple[Name | None, Reason]]:
    for reason in reasons:
        yield None if reason.kind in _OF_ALL else name, reason
