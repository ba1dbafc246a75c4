"""The machine's rules of what comes after: taken back, corrected, incidents reported, destroyed, moved."""

from dataclasses import replace
from datetime import timedelta

from chain_bench import picks
from chain_chair import ChairRules, answered
from chain_model import AnIncident
from chain_practice import chosen, lateness
from hypothesis import strategies as st
from hypothesis.stateful import precondition, rule

from tracelabels.custody import Destroyed, IncidentKind, Kind, Name, PlaceKind, PouchOpening
from tracelabels.workflows.correct_record import correct_record, take_back
from tracelabels.workflows.destroy_item import DestructionOrder, destroy_item
from tracelabels.workflows.move_item import MoveOrder, move_items
from tracelabels.workflows.report_incident import IncidentReport, report_incident


class AfterRules(ChairRules):
    """What is said and done about things after they were at the chair."""

    @precondition(lambda self: self.taps)
    @rule(pick=picks)
    def an_old_tap_comes_again(self, pick):
        """A queue that was held up, a page that was left open: whatever happened since."""
        self.tick()
        self.tap_again(pick)

    @precondition(lambda self: self.model.uses)
    @rule(pick=picks)
    def a_use_is_taken_back(self, pick):
        """Only one that nothing else names, be it an incident, an adverse event or an erasure."""
        named = {one.use for one in self.model.incidents.values()} | self.linked()
        named |= {one.number for one in self.model.uses.values() if one.client in self.model.erased}
        free = [one for one in self.model.uses if one not in named]
        if free:
            self.tick()
            number = chosen(free, pick)
            take_back(self.practice, "use", number, by="lead", reason="entered for the wrong client")
            self.seen["use taken back"] += 1
            self.taken_back.add(Name(Kind.USE, number))
            del self.model.uses[number]

    def linked(self) -> set[str]:
        """Return the uses that an adverse event names."""
        return {one for event in self.model.events.values() for one in event.uses}

    @precondition(lambda self: self.model.openings)
    @rule(pick=picks, answers=answered)
    def an_opening_is_corrected(self, pick, answers):
        """It was opened all the same, and stays so."""
        self.tick()
        pouch = chosen(self.model.openings, pick)
        opening = self.model.openings[pouch]
        if answers == opening.answers:
            return
        with self.practice.ledger.read() as ledger:
            (at,) = [one.thing for one in ledger.about(PouchOpening, "pouch", Name(Kind.POUCH, pouch))]
        changes = dict(zip(("indicator", "dry", "whole"), ("yes" if one else "no" for one in answers), strict=True))
        changed = {
            name: changes[name] for name, new, old in zip(changes, answers, opening.answers, strict=True) if new != old
        }
        fact = f"{at.site}-{at.sequence}"
        correct_record(self.practice, "fact", fact, changed, by="lead", reason="looked at again")
        self.corrected.add(Name(Kind.POUCH, pouch))
        opening.answers = answers

    @precondition(lambda self: len(self.model.incidents) < 6 and self.model.pouches)
    @rule(
        pick=picks,
        whom=st.none() | picks,
        kind=st.sampled_from([IncidentKind.DUPLICATE_LABEL, IncidentKind.OTHER, IncidentKind.USED_DURING_OUTAGE]),
        late=lateness,
    )
    def an_incident_is_reported(self, pick, whom, kind, late):
        self.tick()
        name, at = self.model.name_of(chosen(self._tubes_and_pouches(), pick)), self.moment(late)
        living = self.model.living  # an account about somebody erased has nowhere to stand: it is refused
        client = None if whom is None or not living else chosen(living, whom)
        person = None if client is None else Name(Kind.CLIENT, client)
        report = IncidentReport(kind=kind, account="two alike", items=(name,), client=person, at=at)
        others = [replace(report, kind=one) for one in IncidentKind if one is not kind][:1]
        others += [replace(report, items=(one,)) for one in self.model.items if one != name][:1]
        people = [None, *(Name(Kind.CLIENT, one) for one in self.model.clients)]
        others += [replace(report, client=one) for one in people if one != person]
        done = self.once(
            lambda key: report_incident(self.practice, report, by="s1", request_key=key),
            *(lambda key, one=one: report_incident(self.practice, one, by="s1", request_key=key) for one in others),
        )
        self.model.incidents[done.number] = AnIncident(
            number=done.number, kind=kind.value, client=client, items=frozenset({name}), at=at, use=None
        )

    # -- what becomes of it ---

    def _left(self) -> list[Name]:
        """Return what is not destroyed; what was used more than once, for its remainder is destroyed most often."""
        left = [one for one in self.model.items if one not in self.model.destroyed]
        used = [one for one in left if self._was_used(one)]
        return [*left, *used, *used, *used, *used, *used]

    @precondition(lambda self: len(self.model.destroyed) < 3)
    @rule(pick=picks, whole=st.booleans(), late=lateness)
    def a_thing_is_destroyed(self, pick, whole, late):
        self.tick()
        self.destroy(chosen(self._left(), pick), whole=whole, late=late)

    def destroy(self, name: Name, *, whole: bool, late: timedelta | None = None) -> None:
        what, at = Destroyed.WHOLE if whole else Destroyed.REMAINDER, self.moment(late)
        order = DestructionOrder(serial=name.text, what=what, how="in the sharps bin", at=at)
        others = [replace(order, what=Destroyed.REMAINDER if whole else Destroyed.WHOLE)]
        others += [replace(order, serial=one.text) for one in self.model.items if one != name][:1]
        self.once(
            lambda key: destroy_item(self.practice, order, by="s1", request_key=key),
            *(lambda key, one=one: destroy_item(self.practice, one, by="s1", request_key=key) for one in others),
        )
        self.model.destroyed[name] = (whole, at)

    @precondition(lambda self: self.model.bottles)
    @rule(pick=picks, kind=st.sampled_from([*PlaceKind, PlaceKind.SHELF, PlaceKind.SHELF]), late=lateness)
    def a_thing_is_moved(self, pick, kind, late):
        self.tick()
        away, at = {PlaceKind.LOST, PlaceKind.GIVEN_AWAY}, self.moment(late)
        gone = [one for one, moves in self.model.moves.items() if moves[-1][0] in away]
        name = chosen([*gone, *gone, *self.model.items], pick)
        order = MoveOrder(items=(name.text,), kind=kind, place="there", at=at)
        others = [replace(order, kind=next(one for one in PlaceKind if one is not kind)), replace(order, place="here")]
        more = [one.text for one in self.model.items if one != name][:1]
        others += [replace(order, items=(one,)) for one in more] + [replace(order, items=(name.text, *more))]
        self.once(
            lambda key: move_items(self.practice, order, by="s1", request_key=key),
            *(lambda key, one=one: move_items(self.practice, one, by="s1", request_key=key) for one in others),
        )
        self.model.moves.setdefault(name, []).append((kind, at))
