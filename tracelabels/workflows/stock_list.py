"""What is in stock: where, until when, kept back or free; what to take first; what expires soon.

A list is no verdict: at the chair the gate decides about each thing by itself.
"""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from tracelabels.custody import Fate, Kind, Name, ProcessingRecord, fate_of
from tracelabels.errors import InputError
from tracelabels.records import FactId, Reading
from tracelabels.workflows.chair_record import ChairReader, KnownThing
from tracelabels.workflows.practice import Practice

EMPTY: Final = "empty"
"""What an empty tube is called where an item number is asked for."""
_HERE: Final = frozenset({Fate.UNPROCESSED, Fate.IN_A_LOAD, Fate.IN_STOCK})


@dataclass(frozen=True, slots=True, kw_only=True)
class StockLine:
    """One tube, or one pouch without tubes, that is still there unopened."""

    name: Name
    """What it is called."""
    pouch: str | None
    """Serial of its pouch; None while it lies in none."""
    items: tuple[str, ...]
    """Item numbers of what is in it; ``empty``, or the instruments of a pouch."""
    fate: Fate
    """Unprocessed, in a load, or in stock."""
    use_by: date | None
    """Last day of use as known today; None if none is set."""
    place: str
    """Where it was put last; empty if nobody said."""
    held: tuple[str, ...]
    """Numbers of the holds on it or on anything it came from or went through."""
    is_free: bool
    """Unloaded sound from a released load, not kept back, not past its use-by."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pick:
    """What to take for one item, first expiring first."""

    item: str
    """Item number, or ``empty``."""
    wanted: int
    """How many tubes are wanted."""
    lines: tuple[StockLine, ...]
    """What to take, in order."""

    @property
    def short(self) -> int:
        """Return how many are missing."""
        return self.wanted - len(self.lines)


@dataclass(frozen=True, slots=True, kw_only=True)
class Stock:
    """The list."""

    lines: tuple[StockLine, ...]
    """Everything there, first expiring first."""
    picks: tuple[Pick, ...]
    """What to take."""
    expiring: tuple[StockLine, ...]
    """What is good for no longer than the days asked for, or past already."""

    @property
    def held(self) -> tuple[StockLine, ...]:
        """Return what is kept back."""
        return tuple(one for one in self.lines if one.held)

    @property
    def places(self) -> dict[str, int]:
        """Return how much lies where."""
        return dict(sorted(Counter(one.place for one in self.lines).items()))


def list_stock(practice: Practice, *, within_days: int = 30, wanted: Mapping[str, int] | None = None) -> Stock:
    """List what is there.

    Args:
        practice: where.
        within_days: what expires within so many days is listed by itself.
        wanted: item numbers with the number of tubes wanted, for tomorrow's clients.

    Raises:
        InputError: a number below one is wanted.
    """
    for item, count in (wanted or {}).items():
        if count < 1:
            raise InputError(given=f"{item}={count}", expected="a number of tubes from 1", remedy="correct it")
    with practice.ledger.read() as ledger:
        reader = ChairReader(practice, ledger)
        found = [_line(practice, reader, name, fate) for name, fate in _there(ledger)]
    lines = sorted((one for one in found if one is not None), key=_first_expiring)
    until = practice.today + timedelta(days=within_days)
    return Stock(
        lines=tuple(lines),
        picks=tuple(_pick(lines, item, count, practice.today) for item, count in (wanted or {}).items()),
        expiring=tuple(one for one in lines if one.use_by is not None and one.use_by <= until),
    )


def _there(ledger: Reading) -> list[tuple[Name, Fate]]:
    """Return tubes and pouches that are still there unopened."""
    kinds: dict[FactId, Kind] = {**ledger.things_of_kind(Kind.TUBE), **ledger.things_of_kind(Kind.POUCH)}
    names = ledger.names_of(kinds)
    happened = ledger.happenings({thing: kinds[thing] for thing in names})
    fates = ((names[thing], fate_of(history)) for thing, history in happened.items())
    return [(name, fate) for name, fate in fates if fate in _HERE]


def _line(practice: Practice, reader: ChairReader, name: Name, fate: Fate) -> StockLine | None:
    known = reader.know(name.text)
    if name.kind is Kind.POUCH and (known.pouch is None or known.pouch.tubes):
        return None  # its tubes stand for it
    use_by = known.use_by_today
    record = known.processing
    return StockLine(
        name=name,
        pouch=known.pouch.serial if known.pouch else None,
        items=_items(known),
        fate=fate,
        use_by=use_by,
        place=_place(reader, name, known),
        held=tuple(one.number for one in record.holds) if record else (),
        is_free=_is_free(record)
        and fate is Fate.IN_STOCK
        and not known.dating.stops
        and (use_by is None or use_by >= practice.today),
    )


def _items(known: KnownThing) -> tuple[str, ...]:
    if known.tube is None:
        return known.pouch.instruments if known.pouch else ()
    return tuple(dict.fromkeys(one.product.item_number for one in known.bottles)) or (EMPTY,)


def _place(reader: ChairReader, name: Name, known: KnownThing) -> str:
    names = [name, *([Name(Kind.POUCH, known.pouch.serial)] if known.pouch and name.kind is Kind.TUBE else [])]
    last = reader.last_move(*names)
    return "" if last is None else last.value.place


def _is_free(record: ProcessingRecord | None) -> bool:
    return record is not None and record.is_released and record.came_out_sound and not record.holds


def _first_expiring(line: StockLine) -> tuple[date, str]:
    return line.use_by or date.max, line.name.text


def _pick(lines: list[StockLine], item: str, count: int, today: date) -> Pick:
    """Choose tubes for tomorrow: free ones that are still good then, first expiring first."""
    good = [one for one in lines if one.is_free and one.items == (item,) and (one.use_by is None or one.use_by > today)]
    return Pick(item=item, wanted=count, lines=tuple(good[:count]))
