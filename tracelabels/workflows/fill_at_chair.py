"""Fill empty processed tubes at the chair, from bottles that pass their own gate today; good for this session."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from tracelabels.custody import (
    ClientAtChair,
    Component,
    Dating,
    Fill,
    Kind,
    Name,
    Preparation,
    Reason,
    ReasonKind,
    Variant,
    Verdict,
    assess,
    component_reasons,
    date_tube,
    said_once,
)
from tracelabels.errors import InputError
from tracelabels.records import Reading, Series, Writing
from tracelabels.records.refusals import known
from tracelabels.workflows.chair_record import ChairReader, KnownThing
from tracelabels.workflows.check_at_chair import pouring_against
from tracelabels.workflows.practice import Practice, require_own_serial
from tracelabels.workflows.prepare_tubes import Part, component_of
from tracelabels.workflows.request_keys import answered


@dataclass(frozen=True, slots=True, kw_only=True)
class FillOrder:
    """What is filled into what, for whom."""

    tubes: tuple[str, ...]
    """Serials of the empty tubes."""
    parts: tuple[Part, ...]
    """Bottles and diluents that go in."""
    client: str
    """Code of the client."""
    fill_ml: Decimal | None = None
    """Millilitres in each tube; None if it was not measured."""
    at: datetime | None = None
    """When; None for now."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Filled:
    """Tubes that were filled, or the reasons why they may not be."""

    preparation: Preparation | None
    """What was filled in; None if it was refused."""
    tubes: tuple[str, ...]
    """Serials of the tubes filled."""
    dating: Dating | None
    """How long they are good: this session at most."""
    refused: tuple[Reason, ...]
    """Every reason against it; nothing was recorded if there is one."""


def fill_at_chair(practice: Practice, order: FillOrder, *, by: str, request_key: str | None = None) -> Filled:
    """Check every tube, its pouch and every bottle, then record what was filled in.

    Args:
        practice: whose.
        order: what is filled into what, for whom.
        by: opaque staff id.
        request_key: names the request; asked again, it gives the same answer and writes nothing.

    Raises:
        InputError: nothing to fill, or nothing to fill it with.
        LedgerError: a tube or a bottle is not on record.
    """
    serials = tuple(dict.fromkeys(map(require_own_serial, order.tubes)))
    if not serials or not order.parts:
        raise InputError(
            given=f"a filling of {len(serials)} tubes from {len(order.parts)} bottles",
            expected="at least one tube and one bottle",
            remedy="name the tubes, and the bottles with --from",
        )
    at = practice.when(order.at)
    with practice.write(by=by, at=at) as ledger:
        before = _answered(practice, ledger, request_key, order, serials)
        if before is not None:
            return before
        reader = ChairReader(practice, ledger)
        refused = _refusals(practice, ledger, reader, order, serials, at)
        if refused:
            return Filled(preparation=None, tubes=(), dating=None, refused=refused)
        preparation = _new_preparation(practice, ledger, order, len(serials), by=by, at=at)
        client = Name(Kind.CLIENT, order.client)
        for place, serial in enumerate(serials):
            tube = Name(Kind.TUBE, serial)
            fill = Fill(tube=tube, preparation=Name(Kind.PREPARATION, preparation.number), at=at, client=client)
            ledger.record(fill, request_key=request_key if place == 0 else None, claims=[("filled", tube)])
    return _filled(practice, preparation, serials, at)


def _filled(practice: Practice, preparation: Preparation, serials: tuple[str, ...], at: datetime) -> Filled:
    dating = date_tube(preparation, practice.settings.policy.as_policy(), filled_at_chair=practice.day_of(at))
    return Filled(preparation=preparation, tubes=serials, dating=dating, refused=())


def _answered(
    practice: Practice, ledger: Reading, key: str | None, order: FillOrder, serials: tuple[str, ...]
) -> Filled | None:
    def tubes_of(fill: Fill) -> tuple[str, ...]:
        return tuple(one.value.tube.text for one in ledger.about(Fill, "preparation", fill.preparation))

    def filling_of(fill: Fill) -> Preparation:
        number = fill.preparation.text
        return known(ledger.find_preparation(number), what="preparation", name=number).value

    def is_same(fill: Fill) -> bool:
        asked = (order.client, set(serials), _poured(order))
        whom = order.client if fill.client is None else fill.client.text
        return (whom, set(tubes_of(fill)), [one.serial for one in filling_of(fill).bottles]) == asked

    first = answered(ledger, Fill, key, is_same=is_same)
    return None if first is None else _filled(practice, filling_of(first), tubes_of(first), first.at)


def _poured(order: FillOrder) -> list[str]:
    """Return the serials of the bottles that go in, each once."""
    return list(dict.fromkeys(require_own_serial(part.bottle) for part in order.parts if part.bottle is not None))


def _refusals(
    practice: Practice, ledger: Reading, reader: ChairReader, order: FillOrder, serials: tuple[str, ...], at: datetime
) -> tuple[Reason, ...]:
    reasons: list[tuple[Name | None, Reason]] = []
    client = reader.client(order.client)
    for serial in serials:
        known(ledger.find_tube(serial), what="tube", name=serial)
        against = _tube_reasons(reader, reader.know(serial), order.client, client, at)
        reasons += [(Name(Kind.TUBE, serial), one) for one in against]
    return said_once((*reasons, *((None, one) for one in _parts_reasons(practice, ledger, reader, order, at))))


def _parts_reasons(
    practice: Practice, ledger: Reading, reader: ChairReader, order: FillOrder, at: datetime
) -> list[Reason]:
    reasons: list[Reason] = []
    for part in order.parts:
        if part.bottle is not None:
            reasons += pouring_against(reader, ledger, require_own_serial(part.bottle), practice, at=at)
        elif part.diluent is not None:
            policy = practice.settings.policy.as_policy()
            reasons += component_reasons(Component(source=part.diluent), policy, today=reader.day_of(at))
    return reasons


def _tube_reasons(
    reader: ChairReader, thing: KnownThing, code: str, client: ClientAtChair | None, at: datetime
) -> list[Reason]:
    """Its pouch was opened for this client in this session with GO, nothing speaks against it, and it is empty."""
    fitness = assess(None, thing.as_item(), today=reader.day_of(at), client=client)
    reasons = list(fitness.reasons)
    if not opened_with_go(reader, thing, code, at):
        sentence = f"no opening of its pouch with GO is recorded for client {code} in this session; record it first"
        reasons.append(Reason(kind=ReasonKind.NOT_OPENED, sentence=sentence))
    if thing.holds_something:
        numbers = ", ".join(one.number for one in thing.contents if one.components)
        sentence = f"it is filled already ({numbers}); a tube is filled once"
        reasons.append(Reason(kind=ReasonKind.ALREADY_FILLED, sentence=sentence))
    return reasons


def opened_with_go(reader: ChairReader, thing: KnownThing, code: str, at: datetime) -> bool:
    """Say whether a pouch was opened with GO for a client in the session of a moment: its label was checked then."""
    return any(
        one.verdict is Verdict.GO
        and one.client is not None
        and one.client.text == code
        and reader.day_of(one.at) == reader.day_of(at)
        for one in thing.openings
    )


def _new_preparation(
    practice: Practice, ledger: Writing, order: FillOrder, tubes: int, *, by: str, at: datetime
) -> Preparation:
    preparation = Preparation(
        number=ledger.next_numbered(Series.PREPARATION),
        prepared_on=practice.day_of(at),
        prepared_by=by,
        variant=Variant.FILLED_AT_CHAIR,
        components=tuple(component_of(ledger, part) for part in order.parts),
        tubes_made=tubes,
        fill_ml=order.fill_ml,
    )
    ledger.add_preparation(preparation)
    return preparation
