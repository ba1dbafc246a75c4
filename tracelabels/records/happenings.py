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
from tracelabels.records.fact_reading import standing, wrote
from tracelabels.records.facts import FactId, FactKind
from tracelabels.records.schema import bottle_event, chair, component, fact, processing
from tracelabels.records.tracing import Pair, Tracing, among

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
        bottles, tubes, pouches = (
            [thing for thing, kind in kinds.items() if kind is wanted]
            for wanted in (Kind.BOTTLE, Kind.TUBE, Kind.POUCH)
        )
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
        own = (fact.c.thing_site, fact.c.thing_sequence, fact.c.site, fact.c.sequence)
        for condition in among(given, things):
            for at, word, *pairs in self._pairs(query.where(condition).add_columns(*given, *own)):
                thing, first, last = (FactId(site=pairs[one], sequence=pairs[one + 1]) for one in (0, 2, 4))
                events[thing] += [_Event(at, first, last, one) for one in meaning(word)]

    def _of_items(self, things: Collection[FactId], events: _Events) -> None:
        """Add uses, incidents in which something was used, destruction and moves: they name the thing itself."""
        use, incident = chair.client_use, chair.incident
        used = _about(chair.client_use_items).join(use, wrote(use)).with_only_columns(use.c.at, use.c.number)
        met = _about(chair.incident_items).join(incident, wrote(incident))
        met = met.with_only_columns(incident.c.at, incident.c.kind)
        self._events(used, _item_of(chair.client_use_items), things, _always(Happening.USED), events)
        self._events(met, _item_of(chair.incident_items), things, _met, events)
        destroyed, moved = _asked(chair.destruction, "at", "what"), _asked(chair.move, "at", "kind")
        self._events(destroyed, _item_of(chair.destruction), things, _always(Happening.DESTROYED), events)
        self._events(moved, _item_of(chair.move), things, lambda kind: _MOVED.get(kind, _ELSEWHERE), events)

    def _of_pouches(self, pouches: Collection[FactId], events: _Events) -> None:
        """Add loading, unloading, opening."""
        load, loaded, unloaded, opening = processing.load, processing.load_pouches, processing.unloaded, chair.opening
        into = _about(loaded).join(load, wrote(load)).with_only_columns(load.c.started_at, load.c.number)
        out, opened = _asked(unloaded, "at", "state"), _asked(opening, "at", "verdict")
        self._events(into, _item_of(loaded), pouches, _always(Happening.LOADED), events)
        self._events(out, _item_of(unloaded, "pouch"), pouches, _always(Happening.UNLOADED), events)
        self._events(opened, _item_of(opening, "pouch"), pouches, _always(Happening.OPENED), events)

    def _of_bottles(self, bottles: Collection[FactId], events: _Events) -> None:
        """Add opening and finishing, and taking something out for a preparation, which counts as a use."""
        happened = _about(bottle_event).with_only_columns(fact.c.happened_at, fact.c.kind)
        taken = _about(component).with_only_columns(fact.c.happened_at, fact.c.kind)
        named = _item_of(bottle_event, "bottle")
        self._events(happened, named, bottles, lambda kind: _BOTTLE_EVENTS.get(kind, ()), events)
        self._events(taken, _item_of(component, "bottle"), bottles, _always(Happening.USED), events)

    def _of_fills(self, tubes: Collection[FactId], events: _Events) -> None:
        """Add filling at the chair: the tube is open from then."""
        filled = _asked(chair.fill, "at", "at")
        self._events(filled, _item_of(chair.fill, "tube"), tubes, _always(Happening.OPENED), events)

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
        own = (fact.c.site, fact.c.sequence)
        return {
            FactId(site=site, sequence=sequence): at
            for condition in among(own, things)
            for site, sequence, at in self._pairs(select(*own, fact.c.happened_at).where(condition))
        }

    def _named_tubes(self, pouches: Collection[FactId], events: _Events) -> set[tuple[FactId, FactId]]:
        """Return (pouch, fact) of each use or incident that names tubes of the pouch beside it."""
        facts = {(pouch, one.fact) for pouch in pouches for one in events.get(pouch, ()) if one.happening is _USED}
        contents: dict[FactId, set[FactId]] = defaultdict(set)
        used = {pouch for pouch, _ in facts}
        for tube, pouch in self.neighbours(Link.TUBE_POUCH, Direction.BACKWARD, used):
            contents[pouch].add(tube)
        items: dict[FactId, set[FactId]] = defaultdict(set)
        for table in (chair.client_use_items, chair.incident_items):
            own = (table.c.site, table.c.sequence)
            for condition in among(own, {at for _, at in facts}):
                for a, b, c, d in self._pairs(select(*own, *_item_of(table)).where(condition)):
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


def _item_of(table: Table, column: str = "item") -> Pair:
    return table.c[f"{column}_site"], table.c[f"{column}_sequence"]


def _about(table: Table) -> Any:  # noqa: ANN401  a query
    """Return the query for rows that stand."""
    return select(table.c.site).select_from(table).join(fact, wrote(table)).where(standing())


def _asked(table: Table, at: str, what: str) -> Any:  # noqa: ANN401  a query
    return _about(table).with_only_columns(table.c[at], table.c[what])
