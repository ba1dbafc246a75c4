"""The brute-force checker: from what the test did, every reason that speaks against a use, as of one moment.

Written apart from the package's rules, from the words in which the trade states its rules. Answers are
sets of kinds, so that a reason that is missing shows as well as one too many.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from chain_contents import Contents
from chain_model import ALabel, ALoad, APouch
from chain_spores import Spores

from tracelabels.custody import (
    CareLevel,
    Decision,
    Goods,
    IndicatorResult,
    Kind,
    Name,
    Outcome,
    PlaceKind,
    PouchState,
    ProbePlace,
    ReadingsVerdict,
    SporeResult,
    Variant,
)
from tracelabels.custody import ReasonKind as Why

Answers = tuple[bool, bool, bool]
_DOUBTFUL = {"duplicate_label", "used_against_stop", "used_twice"}


@dataclass(frozen=True, kw_only=True)
class Oracle(Contents):
    """One moment, over everything done so far: what speaks against a use."""

    # -- the load ---

    def readings(self, load: ALoad) -> ReadingsVerdict:
        """*Not met* outweighs; for liquids only what was measured, or killed, inside a reference tube counts."""
        verdicts = {verdict for verdict, _ in load.readings}
        if ReadingsVerdict.NOT_MET in verdicts:
            return ReadingsVerdict.NOT_MET
        places = {place for verdict, place in load.readings if verdict is ReadingsVerdict.MET}
        if load.goods is Goods.LIQUID and not self._died_inside(load):
            places &= {ProbePlace.REFERENCE_TUBE}
        return ReadingsVerdict.MET if places else ReadingsVerdict.CANNOT_TELL

    def _died_inside(self, load: ALoad) -> bool:
        own = [one for one in self.model.tests.values() if one.load == load.number]
        inside = any(one.in_tube and one.result is SporeResult.NO_GROWTH for one in own)
        return inside and Spores(model=self.model).said_of(load, is_protected=False) == "rode"

    def indicators(self, load: ALoad, pouch: str | None) -> list[IndicatorResult]:
        """Return what counts of each indicator, by its place: one that had not turned is not undone."""
        worst: dict[str, IndicatorResult] = {}
        for one in load.indicators:
            if one.pouch == pouch and worst.get(one.place) is not IndicatorResult.NOT_TURNED:
                worst[one.place] = one.result
        return list(worst.values())

    def may_release(self, number: str) -> bool:
        """Say whether a load may be released now."""
        load = self.model.loads[number]
        is_left_out = {one: self._is_left_out(load, one) for one in load.pouches}
        spores = Spores(model=self.model).said_of(load, is_protected=False)
        decided = load.decision.what if load.decision else None
        return (
            load.outcome is Outcome.COMPLETE
            and set(load.unloaded) == set(load.pouches)
            and (not load.pouches or not all(is_left_out.values()))
            and self.readings(load) is ReadingsVerdict.MET
            and all(is_left_out[one] or self.indicators(load, one) for one in load.pouches)
            and all(one is IndicatorResult.TURNED for one in self.indicators(load, None))
            and bool(load.pouches or load.indicators)
            and (spores in {"passed", "rode"} or (spores == "incubating" and self.model.rules.early_release))
            and decided is not Decision.REJECTED
            and not self.is_held(self._went_with(load))
        )

    def left_out(self, number: str) -> set[str]:
        """Return the pouches that a release of a load leaves out whatever else is decided."""
        load = self.model.loads[number]
        return {one for one in load.pouches if self._is_left_out(load, one)}

    def _is_left_out(self, load: ALoad, pouch: str) -> bool:
        out = load.unloaded.get(pouch)
        bad = any(one is not IndicatorResult.TURNED for one in self.indicators(load, pouch))
        return bad or (out is not None and out[0] is not PouchState.SOUND) or self.is_held(self._all_origins(pouch))

    def _all_origins(self, pouch: str) -> set[Name]:
        return self.origins(self.model.pouches[pouch])

    def processing(self, serial: str, *, is_protected: bool) -> set[Why]:
        """Return what speaks against a tube or a pouch from its processing."""
        tube = self.model.tubes.get(serial)
        pouch = self.model.pouch_of(serial) if tube else self.model.pouches[serial]
        loads = self.model.loads_of(pouch.serial) if pouch else []
        if pouch is None or not loads:
            held = {Why.HELD} if pouch is not None and self.is_held(self.origins(pouch, tube)) else set()
            return {Why.NOT_RELEASED, Why.NOT_PROCESSED} | held
        load, with_loads = loads[-1], {name for one in loads for name in self._went_with(one)}
        return {
            *self._of_load(load, pouch),
            *self._of_indicators(load, pouch),
            *self._of_goods(load, self._preparations(tube, pouch), has_instruments=bool(pouch.instruments)),
            *self._of_spores(load, is_protected=is_protected),
            *({Why.HELD} if self.is_held(with_loads | self.origins(pouch, tube)) else ()),
        }

    def _went_with(self, load: ALoad) -> set[Name]:
        own = {Name(Kind.LOAD, load.number), Name(Kind.STERILISER, load.steriliser)}
        own |= {Name(Kind.CONSUMABLE, f"indicators/{one.lot}") for one in load.indicators if one.lot}
        tests = (one for one in self.model.tests.values() if one.load == load.number)
        return own | {Name(Kind.CONSUMABLE, f"spore_tests/{one.lot}") for one in tests}

    def _of_load(self, load: ALoad, pouch: APouch) -> Iterator[Why]:
        decision = load.decision
        if decision is None:
            yield Why.NOT_RELEASED
        elif decision.what is not Decision.RELEASED:
            yield Why.REJECTED if decision.what is Decision.REJECTED else Why.QUARANTINED
        elif pouch.serial in decision.left_out:
            yield Why.EXCEPTED
        if load.outcome is not Outcome.COMPLETE:
            yield Why.LOAD_NOT_COMPLETE
        out = load.unloaded.get(pouch.serial)
        if out is None:
            yield Why.NOT_UNLOADED
        elif out[0] is not PouchState.SOUND:
            yield Why.CAME_OUT_BAD
        if self.readings(load) is not ReadingsVerdict.MET:
            yield Why.READINGS_NOT_MET

    def _of_indicators(self, load: ALoad, pouch: APouch) -> Iterator[Why]:
        own = self.indicators(load, pouch.serial)
        if not own:
            yield Why.INDICATOR_MISSING
        if any(one is not IndicatorResult.TURNED for one in (*own, *self.indicators(load, None))):
            yield Why.INDICATOR_FAILED

    def _of_goods(self, load: ALoad, preparations: list[str], *, has_instruments: bool) -> Iterator[Why]:
        variants = {self.model.preparations[one].variant for one in preparations}
        filled = Variant.FILLED_BEFORE in variants
        solid = has_instruments or bool(variants - {Variant.FILLED_BEFORE})
        if (filled and load.goods is not Goods.LIQUID) or (solid and load.goods is Goods.LIQUID):
            yield Why.WRONG_GOODS

    def _of_spores(self, load: ALoad, *, is_protected: bool) -> Iterator[Why]:
        state = Spores(model=self.model).said_of(load, is_protected=is_protected)
        early = load.decision is not None and load.decision.is_early
        if state == "failed":
            yield Why.SPORES_FAILED
        if state == "missing":
            yield Why.SPORES_MISSING
        if state == "incubating" and not early:
            yield Why.SPORES_INCUBATING
        if is_protected and state != "rode":
            yield Why.PROTECTED_WITHOUT_SPORES

    # -- what happened to it ---

    def past(self, serial: str, client: str | None) -> set[Why]:
        """Return what happened that speaks against a tube or a pouch, for one client today."""
        own = self.model.name_of(serial)
        pouch = self.model.pouch_of(serial) if own.kind is Kind.TUBE else self.model.pouches[serial]
        around = {own} if pouch is None else {own, Name(Kind.POUCH, pouch.serial)}
        if own.kind is Kind.POUCH and pouch is not None:
            around |= {Name(Kind.TUBE, one) for one in pouch.tubes}
        found = set()
        opening = self.model.openings.get(pouch.serial) if pouch else None
        if opening is not None and not self._is_session(opening.client, opening.at, client):
            found.add(Why.ALREADY_OPENED)
        for use in self.model.uses.values():
            is_own = own not in use.items and self._is_session(use.client, use.at, client)
            if use.items & around and not is_own:
                found.add(Why.ALREADY_USED)
        if any(one.items & around for one in self.model.incidents.values() if one.kind in _DOUBTFUL):
            found.add(Why.IN_DOUBT)
        return found | self._gone(around)

    def _is_session(self, whom: str | None, at: datetime, client: str | None) -> bool:
        return client is not None and whom == client and at.date() == self.now.date()

    def _gone(self, around: set[Name], *, by: datetime | None = None) -> set[Why]:
        found = {Why.DESTROYED} if around & set(self.model.destroyed) else set()
        moved = {one: [move for move in self.model.moves.get(one, ()) if by is None or move[1] <= by] for one in around}
        last = {max(moves, key=lambda move: move[1])[0] for moves in moved.values() if moves}
        found |= {Why.GIVEN_AWAY} if PlaceKind.GIVEN_AWAY in last else set()
        return found | ({Why.LOST} if PlaceKind.LOST in last else set())

    def client(self, client: str | None) -> set[Why]:
        """Return what speaks against the client that was entered."""
        if client is None:
            return {Why.CLIENT_MISSING}
        return set() if client in set(self.model.clients) - self.model.erased else {Why.CLIENT_UNKNOWN}

    def is_protected(self, client: str | None) -> bool:
        """Not known, or erased, counts as protected; nobody entered does not yet."""
        known = None if client is None or client in self.model.erased else self.model.clients.get(client)
        return client is not None and known is not CareLevel.ROUTINE

    def opening(self, serial: str, answers: Answers | None) -> set[Why]:
        """Return what was seen at opening that speaks against it, now or when it was recorded."""
        tube = serial in self.model.tubes
        pouch = self.model.pouch_of(serial) if tube else self.model.pouches[serial]
        recorded = self.model.openings.get(pouch.serial) if pouch else None
        known = [*([recorded.answers] if recorded else []), *([answers] if answers else [])]
        if not known:
            return {Why.OPENING_UNCHECKED}
        return set() if all(all(one) for one in known) else {Why.OPENING_FAILED}

    # -- the label and the whole ---

    def label(self, serial: str, seen: ALabel) -> set[Why]:
        """Return what speaks against a label that is shown."""
        labels = self.model.labels[serial]
        if seen.said != labels[-1].said:
            return {Why.LABEL_SUPERSEDED}
        numbers = self._preparations(self.model.tubes.get(serial), self.model.pouches.get(serial))
        if len(numbers) != 1:
            return set()
        wrong = seen.batch is not None and seen.batch != self.batch_of(numbers[0])
        return {Why.LABEL_OUTDATED} if wrong else set()

    def against_shown(self, serial: str, label: ALabel | None, client: str | None, answers: Answers | None) -> set[Why]:
        """Return every kind of reason where a label is shown; None for one that was never recorded."""
        found = self.against(serial, seen=label, client=client, answers=answers)
        return found if label is not None else found | {Why.LABEL_UNKNOWN}

    def against(self, serial: str, *, seen: ALabel | None, client: str | None, answers: Answers | None) -> set[Why]:
        """Return every kind of reason against using a tube or a pouch."""
        bottles, today = self._bottles(serial), self.now.date()
        found = set() if seen is None else self.label(serial, seen)
        late = any(day < today for day, _ in self.causes(serial))
        if late or (seen is not None and seen.use_by is not None and seen.use_by < today):
            found.add(Why.PAST_USE_BY)
        found |= {Why.WITHDRAWN} if any(one.withdrawn is not None for one in bottles) else set()
        found |= self._dateless(bottles) | self.past(serial, client) | self.client(client)
        found |= self.processing(serial, is_protected=self.is_protected(client))
        return found | self.opening(serial, answers)

    def against_use(self, named: tuple[str, ...], *, client: str, answers: Answers | None, is_seen: bool) -> set[Why]:
        """Return every kind of reason against using things together: labels shown, or checked at an opening today."""
        found: set[Why] = set()
        for serial in self.used_together(named):
            if serial in self.model.bottles:
                found |= self.against_bottle(serial, client)
                continue
            is_named = serial in named
            found |= self.against_one(serial, client=client, answers=answers, is_seen=is_seen and is_named)
            if is_named and not self._is_shown(serial, is_seen=is_seen) and not self._went_open(serial, client):
                found.add(Why.LABEL_INCOMPLETE if serial in self.model.labels else Why.LABEL_UNKNOWN)
            if serial in self.model.tubes and not self._holds_something(serial):
                found.add(Why.NOT_FILLED)
        return found

    def against_one(self, serial: str, *, client: str, answers: Answers | None, is_seen: bool) -> set[Why]:
        """Return every kind of reason against one of the things used together, by itself."""
        label = self.model.labels[serial][-1] if self._is_shown(serial, is_seen=is_seen) else None
        return self.against(serial, seen=label, client=client, answers=answers)

    def _is_shown(self, serial: str, *, is_seen: bool) -> bool:
        return is_seen and serial in self.model.labels

    def used_together(self, named: tuple[str, ...]) -> tuple[str, ...]:
        """Return what is used with what is named: of a pouch its filled tubes, or all if there is nothing else."""
        more: list[str] = []
        for serial in named:
            pouch = self.model.pouches.get(serial)
            if pouch is not None and not set(named) & set(pouch.tubes):
                filled = [one for one in pouch.tubes if self._holds_something(one)]
                more += filled or ([] if pouch.instruments else list(pouch.tubes))
        return (*named, *more)

    def _holds_something(self, tube: str) -> bool:
        known = self.model.tubes[tube]
        return known.filled is not None or bool(self.model.preparations[known.preparation].bottles)

    def _went_open(self, serial: str, client: str) -> bool:
        """Say whether its pouch was opened with GO for this client today."""
        pouch = self.model.pouch_of(serial) if serial in self.model.tubes else self.model.pouches[serial]
        opening = self.model.openings.get(pouch.serial) if pouch else None
        return opening is not None and opening.was_go and self._is_session(opening.client, opening.at, client)

    def against_filling(self, tube: str, bottle: str, client: str) -> set[Why]:
        """Return every kind of reason against filling a tube at the chair from a bottle."""
        found = self.against(tube, seen=None, client=client, answers=None) | self.against_pouring(bottle)
        found |= set() if self._went_open(tube, client) else {Why.NOT_OPENED}
        return found | ({Why.ALREADY_FILLED} if self._holds_something(tube) else set())

    def against_bottle(self, serial: str, client: str | None) -> set[Why]:
        """Return every kind of reason against using what comes straight from a bottle."""
        found = self.against_pouring(serial) | self.client(client)
        return found | ({Why.PROTECTED_FROM_BOTTLE} if self.is_protected(client) else set())

    def against_preparing(self, bottles: tuple[str, ...]) -> set[Why]:
        """Return every kind of reason against preparing from bottles at the bench, where all are open."""
        return {why for one in bottles for why in self.against_pouring(one)}

    def against_pouring(self, serial: str) -> set[Why]:
        """Return every kind of reason against taking anything out of a bottle at the chair: as it was at that time."""
        bottle, name, today = self.model.bottles[serial], Name(Kind.BOTTLE, serial), self.now.date()
        found = self._dateless([bottle])
        if bottle.withdrawn is not None and bottle.withdrawn <= today:
            found.add(Why.WITHDRAWN)
        if any(day < today for day, _ in self._causes_of_bottle(bottle)):
            found.add(Why.PAST_USE_BY)
        if self.is_held({name, Name(Kind.PRODUCT, self.product_name(serial))}, by=self.now):
            found.add(Why.HELD)
        opened = bottle.received if bottle.opened_unknown else bottle.opened
        if opened is None or opened > today:
            found = {*found, Why.NOT_OPENED} - {Why.OPENING_UNKNOWN}
        whole, at = self.model.destroyed.get(name, (False, self.now))
        gone = self._gone({name}, by=self.now) - {Why.DESTROYED}
        return found | gone | ({Why.DESTROYED} if whole and at <= self.now else set())
