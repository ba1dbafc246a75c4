"""Everything the gate needs to know about a tube or a pouch, a bottle, a client, collected from the ledger."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Final, TypeVar

from tracelabels.custody import (
    Bottle,
    Client,
    ClientAtChair,
    Dating,
    Destroyed,
    Destruction,
    Fill,
    Incident,
    IncidentKind,
    Kind,
    KnownItem,
    Move,
    Name,
    OnRecord,
    OpeningCheck,
    PastEvent,
    PastKind,
    PlaceKind,
    Pouch,
    PouchOpening,
    Preparation,
    PrintedLabel,
    ProcessingRecord,
    Tube,
    Use,
    Variant,
    date_pack,
    date_tube,
)
from tracelabels.records import FactId, Reading, Recorded
from tracelabels.words import in_words
from tracelabels.workflows.practice import Practice
from tracelabels.workflows.processing_record import ProcessingReader

F = TypeVar("F")

_DOUBTFUL: Final = frozenset({IncidentKind.DUPLICATE_LABEL, IncidentKind.USED_AGAINST_STOP, IncidentKind.USED_TWICE})
"""Incidents after which nobody can say what was in which thing."""
_GONE: Final = {PlaceKind.GIVEN_AWAY: PastKind.GIVEN_AWAY, PlaceKind.LOST: PastKind.LOST}


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownThing:
    """What the ledger knows about the serial on a label."""

    serial: str
    """The serial."""
    labels: tuple[PrintedLabel, ...]
    """Every label printed for it, voided ones too."""
    tube: Tube | None
    """The tube, if it is one."""
    pouch: Pouch | None
    """The pouch, if it is one, or the last pouch that the tube lies in."""
    preparations: tuple[Preparation, ...]
    """What was in it when it was processed; none for instruments."""
    filled: Preparation | None
    """What was filled into the tube at the chair; None if nothing was."""
    dating: Dating
    """Every cause and every stop, as known today."""
    processing: ProcessingRecord | None
    """The pouch's processing; None if there is no pouch."""
    past: tuple[PastEvent, ...]
    """What happened to it, and to the pouch it lies in, oldest first."""
    openings: tuple[PouchOpening, ...]
    """The openings of the pouch, oldest first."""

    @property
    def item(self) -> Name | None:
        """Return its name; None if it is on record as nothing but a label."""
        if self.tube is not None:
            return Name(Kind.TUBE, self.serial)
        return None if self.pouch is None else Name(Kind.POUCH, self.serial)

    @property
    def contents(self) -> tuple[Preparation, ...]:
        """Return every preparation that is in it."""
        return (*self.preparations, *((self.filled,) if self.filled is not None else ()))

    @property
    def bottles(self) -> tuple[Bottle, ...]:
        """Return the bottles that it came from, each once."""
        return tuple({bottle.serial: bottle for one in self.contents for bottle in one.bottles}.values())

    @property
    def use_by_today(self) -> date | None:
        """Return the last day of use as known today; None if nothing sets one, or a stop leaves it open."""
        use_by = self.dating.use_by
        return use_by.date if use_by else None

    @property
    def holds_something(self) -> bool:
        """Say whether a tube holds pigment; an empty one has to be filled before it is used."""
        return any(one.components for one in self.contents)

    def as_item(self) -> KnownItem:
        """Return the same as the gate takes it."""
        first = self.preparations[0] if len(self.preparations) == 1 else None
        fillings = [one.variant for one in self.preparations]
        solids = self.pouch is not None and bool(self.pouch.instruments)
        return KnownItem(
            item=self.item,
            labels=self.labels,
            dating=self.dating,
            first=_as_recorded(first),
            filled=None if self.filled is None else _as_recorded(self.filled),
            bottles=self.bottles,
            processing=self.processing,
            holds_liquid=Variant.FILLED_BEFORE in fillings,
            holds_solids=solids or any(one is not Variant.FILLED_BEFORE for one in fillings),
            past=self.past,
            openings=tuple(
                OpeningCheck(indicator=one.indicator, dry=one.dry, whole=one.whole) for one in self.openings
            ),
            tubes=self.pouch.tubes if self.pouch is not None else (),
        )


class ChairReader:
    """Collects what the gate asks for in one state of the ledger."""

    def __init__(self, practice: Practice, ledger: Reading) -> None:
        """Read from a unit of reading or writing."""
        self._ledger = ledger
        self._practice = practice
        self._zone = practice.settings.zone
        self._policy = practice.settings.policy.as_policy()
        self.processing = ProcessingReader(ledger, practice.settings.spore_policy)
        self._opened: dict[Name, Sequence[Recorded[PouchOpening]]] = {}

    def know(self, serial: str) -> KnownThing:
        """Collect what is known about a serial of a tube or a pouch; nothing is a valid answer."""
        tube = self._ledger.find_tube(serial)
        pouches = tuple(self._ledger.pouches_with(serial)) if tube is not None else ()
        pouch = self._ledger.find_pouch(serial) if tube is None else (pouches[-1] if pouches else None)
        preparations = self._preparations(tube.value if tube else None, pouch.value if pouch else None)
        fill = self._fill(serial) if tube is not None else None
        filled = self.processing.find_preparation(fill.preparation.text) if fill else None
        processing = None if pouch is None else self._processing(pouch.value.serial, filled)
        names = [Name(Kind.POUCH, one.value.serial) for one in pouches]
        openings = () if pouch is None else self._openings(_pouch_name(pouch.value))
        return KnownThing(
            serial=serial,
            labels=tuple(one.value for one in self._ledger.labels_with_serial(serial)),
            tube=tube.value if tube else None,
            pouch=pouch.value if pouch else None,
            preparations=preparations,
            filled=filled,
            dating=self._dating(preparations, fill, filled, processing),
            processing=processing,
            past=self._past_of(serial, tube.value if tube else None, pouch.value if pouch else None, names),
            openings=tuple(one.value for one in openings),
        )

    def client(self, code: str | None) -> ClientAtChair | None:
        """Return a client as the gate takes it; None if no code was entered."""
        if code is None:
            return None
        found = self._ledger.find(Client, code)
        if found is None:
            return ClientAtChair(code=code, client=None)
        erased = self._ledger.is_erased(found.value.as_name)
        return ClientAtChair(code=code, client=found.value, is_erased=erased)

    def past(self, item: Name) -> tuple[PastEvent, ...]:
        """Return what happened to one thing, oldest first."""
        return tuple(sorted(self._happened(item), key=lambda event: event.at))

    def last_move(self, *items: Name) -> Recorded[Move] | None:
        """Return the last move of any of these things."""
        moves = (one for item in items for one in self._ledger.about(Move, "item", item))
        return max(moves, key=lambda one: (one.value.at, one.fact), default=None)

    def day_of(self, at: datetime) -> date:
        """Return the practice's day of a moment: its session."""
        return self._practice.day_of(at)

    # -- inner workings ---------------------------------------------------------------------------------------------

    def _processing(self, pouch: str, filled: Preparation | None) -> ProcessingRecord:
        """Return the pouch's processing; holds on what was filled in at the chair count with its own."""
        record = self.processing.processing_of(pouch)
        if filled is None:
            return record
        holds = self.processing.holds_on(*self.processing.origins_of_preparation(filled))
        return replace(record, holds=tuple(dict.fromkeys((*record.holds, *holds))))

    def _past_of(
        self, serial: str, tube: Tube | None, pouch: Pouch | None, pouches: Iterable[Name]
    ) -> tuple[PastEvent, ...]:
        """Of a tube: its own past and its pouches'; of a pouch: its own, and its tubes', if they got out of it."""
        if tube is not None:
            names = [Name(Kind.TUBE, serial), *pouches]
        elif pouch is not None:
            names = [_pouch_name(pouch), *(Name(Kind.TUBE, one) for one in pouch.tubes)]
        else:
            names = []
        return tuple(sorted((event for name in names for event in self._happened(name)), key=lambda event: event.at))

    def _happened(self, item: Name) -> Iterator[PastEvent]:
        if item.kind in {Kind.POUCH, Kind.TUBE}:
            yield from self._at_chairs(item)
        for gone in self._ledger.about(Destruction, "item", item):
            if gone.value.what is Destroyed.WHOLE or item.kind is not Kind.BOTTLE:
                yield self._event(PastKind.DESTROYED, item, gone, gone.value.at, None, note=gone.value.how)
        last = self.last_move(item)
        if last is not None and last.value.kind in _GONE:
            yield self._event(_GONE[last.value.kind], item, last, last.value.at, None, note=last.value.place)

    def _at_chairs(self, item: Name) -> Iterator[PastEvent]:
        if item.kind is Kind.POUCH:
            for opening in self._openings(item):
                yield self._event(PastKind.OPENED, item, opening, opening.value.at, opening.value.client)
        for use in self._ledger.about(Use, "items", item):
            yield self._event(PastKind.USED, item, use, use.value.at, use.value.client, note=use.value.number)
        for met in self._ledger.about(Incident, "items", item):
            if met.value.kind in _DOUBTFUL:
                note = f"{met.value.number}, {in_words(met.value.kind)}"
                yield self._event(PastKind.INCIDENT, item, met, met.value.at, met.value.client, note=note)

    def _openings(self, pouch: Name) -> Sequence[Recorded[PouchOpening]]:
        if pouch not in self._opened:
            self._opened[pouch] = self._ledger.about(PouchOpening, "pouch", pouch)
        return self._opened[pouch]

    def _event(
        self,
        kind: PastKind,
        item: Name,
        recorded: Recorded[F],
        at: datetime,
        client: Name | None,
        *,
        note: str | None = None,
    ) -> PastEvent:
        return PastEvent(
            kind=kind,
            item=item,
            at=at.astimezone(self._zone),
            by=self._by(recorded.thing),
            client=None if client is None else client.text,
            note=note,
        )

    def _by(self, at: FactId) -> str:
        found = self._ledger.find_fact(at)
        return "somebody" if found is None else found.by

    def _fill(self, serial: str) -> Fill | None:
        fills = self._ledger.about(Fill, "tube", Name(Kind.TUBE, serial))
        return fills[-1].value if fills else None

    def _preparations(self, tube: Tube | None, pouch: Pouch | None) -> tuple[Preparation, ...]:
        if tube is not None:
            numbers = [tube.preparation]
        else:
            inside = [self._ledger.find_tube(serial) for serial in pouch.tubes] if pouch else []
            numbers = [one.value.preparation for one in inside if one is not None]
        found = [self.processing.find_preparation(number) for number in dict.fromkeys(numbers) if number is not None]
        return tuple(one for one in found if one is not None)

    def _dating(
        self,
        preparations: tuple[Preparation, ...],
        fill: Fill | None,
        filled: Preparation | None,
        processing: ProcessingRecord | None,
    ) -> Dating:
        parts = [date_tube(one, self._policy) for one in preparations]
        if fill is not None and filled is not None:
            parts.append(date_tube(filled, self._policy, filled_at_chair=self.day_of(fill.at)))
        if processing is not None:
            parts.append(date_pack(processing.pouch.text, self._policy, processed_on=processing.processed_on))
        return Dating(
            causes=tuple(cause for part in parts for cause in part.causes),
            stops=tuple(stop for part in parts for stop in part.stops),
        )


def _as_recorded(preparation: Preparation | None) -> OnRecord:
    if preparation is None:
        return OnRecord()
    return OnRecord(batch=preparation.label_batch, prepared=preparation.prepared_on)


def _pouch_name(pouch: Pouch) -> Name:
    return Name(Kind.POUCH, pouch.serial)
