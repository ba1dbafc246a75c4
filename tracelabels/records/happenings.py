"""What happened to bottles, tubes and pouches, oldest first, for whole sets of them: what their fates are derived from.

A tube shares what happens to its pouch as long as it lies in it: until it was packed in another. Of a use that names
the pouch, it shares the *used* unless the use names tubes of that pouch; then those alone were used.
"""

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from sqlalchemy import Table, select

from tracelabels.custody import Direction, Happening, IncidentKind, Kind, Link, PlaceKind
from tracelabels.records.among import Pair
from tracelabels.records.fact_reading import key_of, pair_of, standing_rows, wrote
from tracelabels.records.facts import FactId, FactKind
from tracelabels.records.schema import bottle_event, chair, component, fact, processing
from tracelabels.records.tracing import Tracing, by_kind

_USED_IN: Final = frozenset({IncidentKind.USED_AGAINST_STOP, IncidentKind.USED_DURING_OUTAGE, IncidentKind.USED_TWICE})
_MOVED: Final[Mapping[str, tuple[Happening, ...]]] = {
    PlaceKind.GIVEN_AWAY.value: (Happening.TRANSFERRED,),
    PlaceKind.LOST.value: (Happening.LOST,),
}
_ELSEWHERE: Final = (Happening.RETURNED, Happening.FOUND)
_BOTTLE_EVENTS: Final[Mapping[str, tuple[Happening, ...]]] = {
    FactKind.BOTTLE_OPENED.value: (Happening.OPENED,),
    FactKind.BOTTLE_FINISHED.value: (Happening.DESTROYED,),
}


@dataclass(frozen=True, slots=True, order=True)
class _Event:
    """One thing that happened, in the order of time; what happened at once, in the order of recording."""

    at: str
    """When (UTC), as text that sorts."""
    thing: FactId
    """The fact that first said so; a correction does not change the order."""
    fact: FactId
    """The fact that says so today."""
    happening: Happening
    """What."""


_Events = dict[FactId, list[_Event]]
Meaning = Callable[[str], tuple[Happening, ...]]
"""What a row's word says happened."""


class HappeningReading(Tracing):
    """Derives what happened to things."""

    def happenings(self, kinds: Mapping[FactId, Kind]) -> dict[FactId, tuple[Happening, ...]]:
        """Return what happened to each bottle, tube and pouch, oldest first.

        Args:
            kinds: the things, each with its kind; other kinds than these three are left out.
        """
        things_of = by_kind(kinds)
        bottles, tubes, pouches = (things_of.get(kind, []) for kind in (Kind.BOTTLE, Kind.TUBE, Kind.POUCH))
        packed = _by_effect(self.neighbours(Link.TUBE_POUCH, Direction.FORWARD, tubes))
        holding = {pouch for pouch, _ in packed}
        events: _Events = defaultdict(list)
        self._of_items((*bottles, *tubes, *pouches, *(holding - set(pouches))), events)
        self._of_pouches({*pouches, *holding}, events)
        self._of_bottles(bottles, events)
        self._of_fills(tubes, events)
        self._share(packed, events)
        return {
            thing: tuple(event.happening for event in sorted(events.get(thing, ())))
            for thing in (*bottles, *tubes, *pouches)
        }

    # -- inner workings ---------------------------------------------------------------------------------------------

    def _events(
        self,
        query: Any,  # noqa: ANN401  a query
        given: Pair,
        things: Collection[FactId],
        meaning: Meaning,
        events: _Events,
    ) -> None:
        """Add what the rows of a query say, each a moment and a word that decides what it means.

        Args:
            query: asks for both.
            given: the columns that name the things.
            things: of which.
            meaning: what happened, by the word; or whatever the word is.
            events: is added to.
        """
        whole = query.add_columns(*given, *pair_of(fact, "thing"), *key_of(fact))
        for at, word, *pairs in self._pairs_among(whole, given, things):
            thing, first, last = (FactId(site=pairs[one], sequence=pairs[one + 1]) for one in (0, 2, 4))
            events[thing] += [_Event(at, first, last, one) for one in meaning(word)]

    def _of_items(self, things: Collection[FactId], events: _Events) -> None:
        """Add uses, incidents in which something was used, destruction and moves: they name the thing itself."""
        use, incident = chair.client_use, chair.incident
        used = standing_rows(chair.client_use_items, use.c.at, use.c.number).join(use, wrote(use))
        met = standing_rows(chair.incident_items, incident.c.at, incident.c.kind).join(incident, wrote(incident))
        self._events(used, pair_of(chair.client_use_items, "item"), things, _always(Happening.USED), events)
        self._events(met, pair_of(chair.incident_items, "item"), things, _met, events)
        destroyed, moved = _asked(chair.destruction, "at", "what"), _asked(chair.move, "at", "kind")
        self._events(destroyed, pair_of(chair.destruction, "item"), things, _always(Happening.DESTROYED), events)
        self._events(moved, pair_of(chair.move, "item"), things, lambda kind: _MOVED.get(kind, _ELSEWHERE), events)

    def _of_pouches(self, pouches: Collection[FactId], events: _Events) -> None:
        """Add loading, unloading, opening."""
        load, loaded, unloaded, opening = processing.load, processing.load_pouches, processing.unloaded, chair.opening
        into = standing_rows(loaded, load.c.started_at, load.c.number).join(load, wrote(load))
        out, opened = _asked(unloaded, "at", "state"), _asked(opening, "at", "verdict")
        self._events(into, pair_of(loaded, "item"), pouches, _always(Happening.LOADED), events)
        self._events(out, pair_of(unloaded, "pouch"), pouches, _always(Happening.UNLOADED), events)
        self._events(opened, pair_of(opening, "pouch"), pouches, _always(Happening.OPENED), events)

    def _of_bottles(self, bottles: Collection[FactId], events: _Events) -> None:
        """Add opening and finishing, and taking something out for a preparation, which counts as a use."""
        happened = standing_rows(bottle_event, fact.c.happened_at, fact.c.kind)
        taken = standing_rows(component, fact.c.happened_at, fact.c.kind)
        named = pair_of(bottle_event, "bottle")
        self._events(happened, named, bottles, lambda kind: _BOTTLE_EVENTS.get(kind, ()), events)
        self._events(taken, pair_of(component, "bottle"), bottles, _always(Happening.USED), events)

    def _of_fills(self, tubes: Collection[FactId], events: _Events) -> None:
        """Add filling at the chair: the tube is open from then."""
        filled = _asked(chair.fill, "at", "at")
        self._events(filled, pair_of(chair.fill, "tube"), tubes, _always(Happening.OPENED), events)

    def _share(self, packed: Collection[tuple[FactId, FactId]], events: _Events) -> None:
        """Hand on to each tube what happened to its pouches while it lay in them."""
        since = self._happened_at({pouch for pouch, _ in packed})
        pouches: dict[FactId, list[tuple[str, FactId]]] = defaultdict(list)
        for pouch, tube in packed:
            pouches[tube].append((since[pouch], pouch))
        named = self._named_tubes({pouch for pouch, _ in packed}, events)
        shared = {
            tube: [
                event
                for since_when, pouch in pouches[tube]
                for event in events.get(pouch, ())
                if _lay_in(pouches[tube], since_when, event.at) and (pouch, event.fact) not in named
            ]
            for tube in pouches
        }
        for tube, found in shared.items():
            events[tube] += found

    def _happened_at(self, things: Collection[FactId]) -> dict[FactId, str]:
        query = select(*key_of(fact), fact.c.happened_at)
        return {FactId(site=a, sequence=b): at for a, b, at in self._pairs_among(query, key_of(fact), things)}

    def _named_tubes(self, pouches: Collection[FactId], events: _Events) -> set[tuple[FactId, FactId]]:
        """Return (pouch, fact) of each use or incident that names tubes of the pouch beside it."""
        facts = {(pouch, one.fact) for pouch in pouches for one in events.get(pouch, ()) if one.happening is _USED}
        contents: dict[FactId, set[FactId]] = defaultdict(set)
        used = {pouch for pouch, _ in facts}
        for tube, pouch in self.neighbours(Link.TUBE_POUCH, Direction.BACKWARD, used):
            contents[pouch].add(tube)
        items: dict[FactId, set[FactId]] = defaultdict(set)
        for table in (chair.client_use_items, chair.incident_items):
            query = select(*key_of(table), *pair_of(table, "item"))
            for a, b, c, d in self._pairs_among(query, key_of(table), {at for _, at in facts}):
                items[FactId(site=a, sequence=b)].add(FactId(site=c, sequence=d))
        return {(pouch, at) for pouch, at in facts if contents[pouch] & items[at]}


_USED: Final = Happening.USED


def _by_effect(pairs: Iterable[tuple[FactId, FactId]]) -> list[tuple[FactId, FactId]]:
    return [(effect, cause) for cause, effect in pairs]


def _lay_in(pouches: Collection[tuple[str, FactId]], since: str, at: str) -> bool:
    """Say whether at a moment the tube still lay in the pouch into which it was packed at another moment."""
    begins = sorted(when for when, _ in pouches)
    place = bisect_right(begins, since)
    return place == len(begins) or at < begins[place]


def _always(happening: Happening) -> Meaning:
    return lambda _: (happening,)


def _met(kind: str) -> tuple[Happening, ...]:
    return (Happening.USED,) if kind in _USED_IN else ()


def _asked(table: Table, at: str, what: str) -> Any:  # noqa: ANN401  a query
    return standing_rows(table, table.c[at], table.c[what])
