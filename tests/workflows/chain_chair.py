"""The machine's rules of the chair: the gate, opening, filling, use."""

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from decimal import Decimal

from chain_bench import picks
from chain_decisions import DecisionRules
from chain_model import ALabel, AnIncident, AnOpening, APreparation, AUse
from chain_practice import chosen, lateness
from hypothesis import strategies as st
from hypothesis.stateful import precondition, rule

from tracelabels.custody import (
    Decision,
    IncidentKind,
    Kind,
    Name,
    OpeningCheck,
    ReasonKind,
    SeenLabel,
    Variant,
    Verdict,
)
from tracelabels.workflows.check_at_chair import check_typed
from tracelabels.workflows.fill_at_chair import FillOrder, fill_at_chair
from tracelabels.workflows.open_at_chair import PouchInHand, open_at_chair
from tracelabels.workflows.prepare_tubes import Part
from tracelabels.workflows.use_gate import Together, UsedItem
from tracelabels.workflows.use_on_client import UseDone, UseOrder, use_on_client

FINE = (True, True, True)
STILL_TO_CHECK = {
    ReasonKind.LABEL_INCOMPLETE,
    ReasonKind.CLIENT_MISSING,
    ReasonKind.OPENING_UNCHECKED,
    ReasonKind.NOT_OPENED,
    ReasonKind.NOT_FILLED,
}
"""What can be put right at the chair; anything else is STOP."""
answered = st.sampled_from([FINE] * 5 + [(False, True, True), (True, False, True), (True, True, False)])


@dataclass(frozen=True, kw_only=True)
class Happened:
    """How a use comes on record."""

    is_forced: bool = False
    """It happened whatever the gate says."""
    is_outage: bool = False
    """It happened while the system was down."""
    late: timedelta | None = None
    """How long ago."""


happenings = st.builds(
    Happened,
    is_forced=st.sampled_from([False, False, True]),
    is_outage=st.sampled_from([False, False, False, True]),
    late=lateness,
)


def personal(client: str) -> str:
    """Return what is personal about a client, and must be gone after an erasure."""
    return f"Odile {client} Ferncastle"


def verdict_of(reasons: set[ReasonKind]) -> Verdict:
    """Return the answer that some reasons come to: GO needs that there is none."""
    if reasons - STILL_TO_CHECK:
        return Verdict.STOP
    return Verdict.PRELIMINARY if reasons else Verdict.GO


def as_check(answers: tuple[bool, bool, bool] | None) -> OpeningCheck | None:
    return None if answers is None else OpeningCheck(indicator=answers[0], dry=answers[1], whole=answers[2])


def as_seen(serial: str, label: ALabel | None) -> SeenLabel:
    said = (None, None, None) if label is None else label.said
    return SeenLabel(serial=serial, lot=said[0], use_by=said[1], prepared=said[2])


class ChairRules(DecisionRules):
    """What happens at the chair and after."""

    # -- the gate ---

    def ask(
        self, serial: str, label: ALabel | None, client: str | None, answers: tuple[bool, bool, bool] | None
    ) -> Verdict:
        """Ask the gate about a tube or a pouch, and compare every reason, the verdict and the use-by."""
        found = check_typed(self.practice, as_seen(serial, label), client=client, opening=as_check(answers))
        expected = self.oracle.against_shown(serial, label, client, answers)
        self.compare(found.reasons, expected, f"gate of {serial} for {client}, seen {answers}")
        assert found.verdict is verdict_of(expected)
        self.seen[f"gate {found.verdict.value}"] += 1
        self.seen.update(f"why {one.value}" for one in expected)
        assert found.known is not None
        use_by = found.known.dating.use_by
        assert (use_by and (use_by.date, use_by.cause.kind)) == self.oracle.use_by(serial), f"use-by of {serial}"
        return found.verdict

    def _tubes_and_pouches(self) -> list[str]:
        return [*self.model.pouches, *self.model.tubes]

    @precondition(lambda self: self.model.pouches)
    @rule(pick=picks, which=picks, whom=st.none() | picks, answers=st.none() | answered)
    def the_gate_is_asked(self, pick, which, whom, answers):
        """With any label ever printed for it, for any client or a stranger."""
        self.tick()
        serial = chosen(self._tubes_and_pouches(), pick)
        labels = self.model.labels.get(serial)
        client = None if whom is None else chosen([*self.model.clients, "C-99"], whom)
        self.ask(serial, chosen(labels, which) if labels else None, client, answers)
        if self.model.bottles:
            self.ask_about_bottle(chosen(self.model.bottles, which), client)

    def ask_about_bottle(self, serial: str, client: str | None) -> None:
        """Ask a bottle's own gate, and compare every reason and the verdict."""
        found = check_typed(self.practice, SeenLabel(serial=serial), client=client)
        expected = self.oracle.against_bottle(serial, client)
        self.compare(found.reasons, expected, f"gate of bottle {serial} for {client}")
        assert found.verdict is verdict_of(expected)

    def _ready(self) -> list[str]:
        """Return pouches for use: those of released loads first, and any other once in a while."""
        released = [one for one in self.model.pouches if any(load.decided for load in self.model.loads_of(one))]
        return [*released, *released, *self.model.pouches]

    @precondition(lambda self: self.model.pouches and self.model.clients)
    @rule(pick=picks, whom=picks, answers=answered, late=lateness)
    def a_pouch_is_opened(self, pick, whom, answers, late):
        self.tick()
        self.open_pouch(chosen(self._ready(), pick), chosen(self.model.clients, whom), answers, late)

    def open_pouch(
        self, pouch: str, client: str, answers: tuple[bool, bool, bool], late: timedelta | None = None
    ) -> None:
        label, at = (self.model.labels.get(pouch) or [None])[-1], self.moment(late)
        expected = self.as_of(at).against_shown(pouch, label, client, answers)
        was_taken = pouch in self.model.openings or self._was_used(Name(Kind.POUCH, pouch))
        check = OpeningCheck(**_named(answers))
        hand = PouchInHand(seen=as_seen(pouch, label), client=client, opening=check, at=at)
        others = [replace(hand, client=one) for one in self.model.clients if one != client]
        others += [replace(hand, seen=as_seen(one, None)) for one in self.model.pouches if one != pouch][:1]
        done = self.once(
            lambda key: open_at_chair(self.practice, hand, by="s1", request_key=key),
            *(lambda key, one=one: open_at_chair(self.practice, one, by="s1", request_key=key) for one in others),
            about=lambda _: Name(Kind.POUCH, pouch),
        )
        self.compare(done.reasons, expected, f"opening of {pouch} for {client}")
        assert (done.opening is None) is was_taken
        if done.opening is not None:
            assert done.verdict is verdict_of(expected)
            was_go = not expected
            self.seen[f"opened, GO {was_go}"] += 1
            self.model.openings[pouch] = AnOpening(client=client, at=at, answers=answers, was_go=was_go)

    def _was_used(self, name: Name) -> bool:
        return any(name in one.items for one in self.model.uses.values())

    def _empty_tubes(self) -> list[str]:
        opened = [tube for one in self.model.openings for tube in self.model.pouches[one].tubes]
        return [*opened, *opened, *opened, *self.model.tubes]

    @precondition(lambda self: self.model.tubes and self.model.bottles and self.model.clients)
    @rule(pick=picks, bottle=picks, whom=picks, late=lateness)
    def a_tube_is_filled(self, pick, bottle, whom, late):
        """Most often for the client for whom its pouch was opened."""
        self.tick()
        tube, bottle = chosen(self._empty_tubes(), pick), chosen(self.model.bottles, bottle)
        pouch = self.model.pouch_of(tube)
        opening = self.model.openings.get(pouch.serial) if pouch else None
        client = opening.client if opening is not None and whom % 4 else chosen(self.model.clients, whom)
        self.fill(tube, bottle, client, late)

    def fill(self, tube: str, bottle: str, client: str, late: timedelta | None = None) -> None:
        """Fill a tube at the chair; refused exactly if the checker finds a reason."""
        self.tick()
        at = self.moment(late)
        expected = self.as_of(at).against_filling(tube, bottle, client)
        order = FillOrder(tubes=(tube,), parts=(Part(bottle=bottle, amount_ml=Decimal(1)),), client=client, at=at)
        others = [replace(order, client=one) for one in self.model.clients if one != client]
        others += [replace(order, tubes=(one,)) for one in self.model.tubes if one != tube][:1]
        bottles = [one for one in self.model.bottles if one != bottle]
        others += [replace(order, parts=(Part(bottle=one, amount_ml=Decimal(1)),)) for one in bottles]
        done = self.once(
            lambda key: fill_at_chair(self.practice, order, by="s1", request_key=key),
            *(lambda key, one=one: fill_at_chair(self.practice, one, by="s1", request_key=key) for one in others),
        )
        self.compare(done.refused, expected, f"filling of {tube} from {bottle} for {client}")
        if done.preparation is not None:
            number, filled = done.preparation.number, self.model.tubes[tube]
            made = APreparation(number=number, day=at.date(), at=at, variant=Variant.FILLED_AT_CHAIR, bottles=(bottle,))
            self.model.preparations[number] = made
            self.seen["filled at the chair"] += 1
            filled.filled, filled.filled_at, filled.filled_for = number, at, client

    def visit(self, pick: int, bottle: int, whom: int, *, by_tube: bool) -> None:
        """A visit as it should be: a sealed pouch is opened, its empty tubes are filled, what is in it is used."""
        self.tick()
        pouch, client = chosen(self._fresh(), pick), chosen(self.model.clients, whom)
        self.open_pouch(pouch, client, FINE)
        tubes = self.model.pouches[pouch].tubes
        poured = [one.serial for one in self.model.bottles.values() if one.opened is not None] or [*self.model.bottles]
        for tube in tubes:
            self.fill(tube, chosen(poured, bottle), client)
        self.tick()
        self.use((chosen(tubes, whom),) if by_tube and tubes else (pouch,), client, None, is_seen=False)

    @precondition(lambda self: self._fresh() and self.model.clients)
    @rule(pick=picks, bottle=picks, whom=picks)
    def a_client_comes(self, pick, bottle, whom):
        self.visit(pick, bottle, whom, by_tube=False)

    @precondition(lambda self: self._fresh() and self.model.clients)
    @rule(pick=picks, bottle=picks, whom=picks)
    def another_client_comes(self, pick, bottle, whom):
        self.visit(pick, bottle, whom, by_tube=True)

    def _fresh(self) -> list[str]:
        """Return pouches that may be expected to be fit: released last, not opened, not used."""
        found = []
        for one in self.model.pouches:
            loads = self.model.loads_of(one)
            made = loads[-1].decision if loads else None
            is_released = made is not None and made.what is Decision.RELEASED
            if is_released and one not in self.model.openings and not self._was_used(Name(Kind.POUCH, one)):
                found.append(one)
        return found

    # -- use ---

    @precondition(lambda self: self.model.pouches and self.model.clients)
    @rule(
        pick=picks,
        of_tube=st.booleans(),
        with_bottle=st.none() | picks,
        whom=picks,
        answers=st.none() | answered,
        is_seen=st.sampled_from([True, True, False]),
        happened=happenings,
    )
    def a_thing_is_used(self, pick, of_tube, with_bottle, whom, answers, is_seen, happened):
        """A pouch or a tube in it, sometimes with a bottle; sometimes it happened whatever the gate says."""
        self.tick()
        pouch = chosen(self._ready(), pick)
        tubes = self.model.pouches[pouch].tubes
        named = chosen(tubes, whom) if of_tube and tubes else pouch
        bottles = [one for one in self.model.bottles.values() if one.opened is not None]
        is_poured = with_bottle is not None and with_bottle > 50 and bool(bottles)
        extra = (chosen(bottles, with_bottle).serial,) if is_poured else ()
        opening = self.model.openings.get(pouch)
        client = opening.client if opening and opening.client and whom % 3 else chosen(self.model.clients, whom)
        self.use((named, *extra), client, answers, is_seen=is_seen, happened=happened)

    @precondition(lambda self: self.model.bottles and self.model.clients)
    @rule(pick=picks, whom=picks, happened=happenings)
    def a_bottle_is_used_directly(self, pick, whom, happened):
        self.tick()
        named, client = (chosen(self.model.bottles, pick),), chosen(self.model.clients, whom)
        self.use(named, client, None, is_seen=True, happened=happened)

    def use(
        self,
        named: tuple[str, ...],
        client: str,
        answers: tuple[bool, bool, bool] | None,
        *,
        is_seen: bool,
        happened: Happened = Happened(),
    ) -> None:
        """Use things; recorded if the checker finds nothing, or if staff say that it happened all the same."""
        at = self.moment(happened.late)
        oracle = self.as_of(at)
        is_erased = client in self.model.erased
        is_outage = happened.is_outage or (is_erased and happened.is_forced)  # an account would have nowhere to stand
        expected = oracle.against_use(named, client=client, answers=answers, is_seen=is_seen)
        own = {
            one: not oracle.against_one(one, client=client, answers=answers, is_seen=is_seen)
            for one in named
            if one in self.model.pouches
        }
        items = [
            UsedItem(serial=one, seen=(as_seen(one, self.model.labels[one][-1]),))
            if is_seen and self.model.labels.get(one)
            else UsedItem(serial=one)
            for one in named
        ]
        together = Together(client=client, items=tuple(items), opening=as_check(answers))
        order = UseOrder(
            together=together,
            happened="it was urgent" if happened.is_forced and not is_erased else None,
            is_outage=is_outage,
            at=at,
            procedure=None if is_erased else f"what was done to {personal(client)}",
        )
        used = self.things_used(named)
        others = [replace(together, client=one) for one in self.model.clients if one != client]
        strange = [one for one in (*self.model.bottles, *self.model.pouches) if self.model.name_of(one) not in used]
        others += [replace(together, items=(*items, UsedItem(serial=one))) for one in strange]
        others += [replace(together, items=(UsedItem(serial=one),)) for one in strange]
        others += [replace(together, items=items[:1])] if len(items) > 1 else []
        different = [replace(order, together=one) for one in others]
        done = self.once(
            lambda key: use_on_client(self.practice, order, by="s1", request_key=key),
            *(lambda key, one=one: use_on_client(self.practice, one, by="s1", request_key=key) for one in different),
            about=lambda done: done.use.as_name,
        )
        self.compare(done.reasons, expected, f"use of {named} on {client}")
        assert done.verdict is (None if is_outage and done.use is not None else verdict_of(expected))
        assert (done.use is not None) is (happened.is_forced or happened.is_outage or not expected)
        if done.use is not None:
            self.seen["use entered late"] += happened.late is not None
            incident = IncidentKind.USED_DURING_OUTAGE if is_outage else IncidentKind.USED_AGAINST_STOP
            self._note_use(done, used, client, at, None if not expected and not is_outage else incident)
            self._note_openings(used, client, at, answers, own, was_go=not expected)

    def things_used(self, named: tuple[str, ...]) -> frozenset[Name]:
        """Return what a use names: what is used together, and the pouches of tubes."""
        found = {self.model.name_of(one) for one in self.oracle.used_together(named)}
        pouches = [self.model.pouch_of(one.text) for one in found if one.kind is Kind.TUBE]
        return frozenset(found | {Name(Kind.POUCH, one.serial) for one in pouches if one is not None})

    def _note_use(
        self, done: UseDone, used: frozenset[Name], client: str, at: datetime, incident: IncidentKind | None
    ) -> None:
        assert done.use is not None
        claimed = {one for one in used if one.kind is not Kind.BOTTLE}
        others = [one for one in self.model.uses.values() if one.client != client]
        twice = {name for name in claimed if any(name in one.items for one in others)}
        expected = {} if incident is None else {incident: used}
        expected |= {IncidentKind.USED_TWICE: frozenset(twice)} if twice else {}
        found = {one.kind: frozenset(one.items) for one in done.incidents}
        assert found == expected, f"incidents of {done.use.number}"
        assert frozenset(done.use.items) == used
        number = done.use.number
        self.seen["use with GO" if incident is None else f"use, {incident}"] += 1
        self.seen["second client"] += bool(twice)
        self.model.uses[number] = AUse(number=number, client=client, at=at, items=used, was_go=incident is None)
        for one in done.incidents:
            self.model.incidents[one.number] = AnIncident(
                number=one.number,
                kind=one.kind.value,
                client=client,
                items=frozenset(one.items),
                at=at,
                use=number,
            )

    def _note_openings(self, used, client: str, at: datetime, answers, own: dict[str, bool], *, was_go: bool) -> None:
        for name in used:
            if answers is not None and name.kind is Kind.POUCH and name.text not in self.model.openings:
                go = own.get(name.text, was_go)
                self.model.openings[name.text] = AnOpening(client=client, at=at, answers=answers, was_go=go)


def _named(answers: tuple[bool, bool, bool]) -> dict[str, bool]:
    return dict(zip(("indicator", "dry", "whole"), answers, strict=True))
