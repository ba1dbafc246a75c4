"""The machine's rules of spore tests, decisions, holds, service, what the practice decides, and of days that pass."""

from dataclasses import replace

from chain_bench import picks
from chain_loads import AIR, LIQUID, OTHER, TYPE_N, LoadRules, results
from chain_practice import chosen, lateness
from chain_service import KINDS
from hypothesis import strategies as st
from hypothesis.stateful import precondition, rule

from tracelabels.custody import (
    Decision,
    Kind,
    Name,
    SporeResult,
    SteriliserEvent,
    SteriliserEventKind,
)
from tracelabels.workflows.correct_record import correct_record
from tracelabels.workflows.enter_steriliser import record_event, return_to_service
from tracelabels.workflows.hold_stock import lift_hold, put_hold
from tracelabels.workflows.record_spore_test import start_spore_test


class DecisionRules(LoadRules):
    """What is read and decided between bench and chair."""

    def _unread(self) -> list[str]:
        return [one.number for one in self.model.tests.values() if not one.readings]

    @precondition(lambda self: self._unread())
    @rule(pick=picks, result=results, late=lateness)
    def a_spore_test_is_read(self, pick, result, late):
        self.spore_result(chosen(self._unread(), pick), result, late)

    @precondition(lambda self: any(one.load in self._released() for one in self.model.tests.values()))
    @rule(pick=picks, late=lateness)
    def a_growth_is_seen_late(self, pick, late):
        """In a load that was released: the recall case."""
        read = [one.number for one in self.model.tests.values() if one.load in self._released()]
        self.spore_result(chosen(read, pick), SporeResult.GROWTH, late)

    def _released(self) -> set[str]:
        loads = self.model.loads.values()
        return {one.number for one in loads if any(made.what is Decision.RELEASED for made in one.decided)}

    @precondition(lambda self: self.model.loads and len(self.model.tests) < 9)
    @rule(pick=picks)
    def a_second_spore_test_rode_along(self, pick):
        self.tick()
        number, order = chosen(self.model.loads, pick), self.spore_order("yes")
        different, other = chosen(self.model.loads, pick + 1), replace(order, lot="BI-2")
        done = self.once(
            lambda key: start_spore_test(self.practice, number, order, by="bench", request_key=key),
            lambda key: start_spore_test(self.practice, number, other, by="bench", request_key=key),
            *(
                (lambda key: start_spore_test(self.practice, different, order, by="bench", request_key=key),)
                * (different != number)
            ),
        )
        self.note_test(done.test.number, number, order)

    @precondition(lambda self: len(self.model.loads) < 9)
    @rule(times=st.integers(1, 3), process=st.sampled_from([AIR, AIR, OTHER, TYPE_N]))
    def test_loads_pass(self, times, process=AIR):
        """Loads without pouches, each with a spore test: before first use, after a growth, after a repair."""
        for _ in range(times):
            self.tick()
            number = self.one_load((), process, self.spore_order("yes"))
            assert number is not None
            for one in self.tests_of(number):
                self.spore_result(one, SporeResult.NO_GROWTH)

    @precondition(lambda self: self.model.loads)
    @rule(pick=picks, release=st.sampled_from([True] * 3 + [False]), leave_out=st.booleans(), late=lateness)
    def a_load_is_decided(self, pick, release, leave_out, late):
        number = chosen(self.model.loads, pick)
        if release:
            self.decided(number, Decision.RELEASED, self.model.loads[number].pouches[:1] if leave_out else (), late)
        else:
            what = chosen([Decision.QUARANTINE, Decision.QUARANTINE, Decision.REJECTED], pick)
            self.decided(number, what, late=late)

    @precondition(lambda self: len(self.model.repaired) < 3)
    @rule(steriliser=st.sampled_from(["S1", "S1", "S2"]), late=lateness)
    def the_steriliser_is_repaired(self, steriliser, late):
        self.tick()
        name, at = Name(Kind.STERILISER, steriliser), self.moment(late)
        event = SteriliserEvent(steriliser=name, event=SteriliserEventKind.REPAIRED, at=at)
        record_event(self.practice, event, by="bench")
        self.model.repaired.append((at, steriliser))

    @rule(
        process=st.sampled_from([AIR, AIR, AIR, LIQUID, OTHER, TYPE_N]),
        of_all=st.sampled_from([False, False, True]),
        override=st.sampled_from([None, None, "the laboratory's word"]),
        late=lateness,
    )
    def the_steriliser_is_returned(self, process, of_all, override, late):
        """Most often one that is out; after three passes, or by a person who answers for it."""
        self.tick()
        steriliser, kind = chosen([one for _, one in self.model.taken_out] or [process], self.keys)
        kind, at = None if of_all else kind, self.moment(late)
        expected = self.as_of(at).against_return(steriliser, kind)
        done = return_to_service(self.practice, steriliser, by="lead", cycle_kind=kind, override=override, at=at)
        self.compare(done.refused, expected, f"return of {steriliser} for {kind} at {at}")
        assert (done.event is not None) is (not expected or override is not None)
        if done.event is not None:
            self.seen[f"returned to service{' by override' if expected else ''}"] += 1
            for one in KINDS[steriliser] if kind is None else [kind]:
                self.model.returned.append((at, (steriliser, one)))

    # -- holds ---

    def _holdable(self) -> list[Name]:
        model = self.model
        runs = {one.run for labels in model.labels.values() for one in labels}
        return [
            *(Name(Kind.BOTTLE, one) for one in model.bottles),
            *(Name(Kind.PREPARATION, one) for one in model.preparations),
            *(Name(Kind.TUBE, one) for one in model.tubes),
            *(Name(Kind.POUCH, one) for one in model.pouches),
            *(Name(Kind.LOAD, one) for one in model.loads),
            *(Name(Kind.PRINT_RUN, one) for one in sorted(runs)),
            Name(Kind.PRODUCT, "Saltmarsh Colour/Rosehip"),
            Name(Kind.CONSUMABLE, "pouch_material/PF-2"),
            Name(Kind.CONSUMABLE, "indicators/CI-2"),
        ]

    @precondition(lambda self: sum(not one.is_lifted for one in self.model.holds) < 3)
    @rule(pick=picks)
    def a_thing_is_kept_back(self, pick):
        self.tick()
        name = chosen(self._holdable(), pick)
        other = chosen([one for one in self._holdable() if one != name], pick)
        done = self.once(
            lambda key: put_hold(self.practice, [name], by="lead", reason="a doubt", request_key=key),
            lambda key: put_hold(self.practice, [other], by="lead", reason="a doubt", request_key=key),
            lambda key: put_hold(self.practice, [name, other], by="lead", reason="a doubt", request_key=key),
        )
        self.hold(done.number, [name], self.now)

    @precondition(lambda self: any(not one.is_lifted for one in self.model.holds))
    @rule(pick=picks)
    def a_hold_is_lifted(self, pick):
        self.tick()
        hold = chosen([one for one in self.model.holds if not one.is_lifted], pick)
        lift_hold(self.practice, hold.number, by="lead", reason="no cause found")
        hold.is_lifted = True

    # -- what is decided, corrected, and time ---

    @rule(
        is_strict=st.booleans(),
        early=st.booleans(),
        limit=st.sampled_from([60, 60, 15, None]),
        pack=st.sampled_from([None, None, 30, 5]),
        keep=st.sampled_from([0, 0, 1]),
    )
    def the_practice_decides(self, is_strict, early, limit, pack, keep):
        rules = self.model.rules
        rules.is_strict, rules.early_release, rules.limit_days, rules.pack_days = is_strict, early, limit, pack
        rules.keep_years = keep
        self.decide()

    @precondition(lambda self: self.model.bottles)
    @rule(pick=picks, batch=st.sampled_from(["5501", "77", "78"]))
    def a_batch_is_corrected(self, pick, batch):
        self.tick()
        bottle = chosen([*self.model.bottles.values()], pick)
        if bottle.batch != batch:
            correct_record(self.practice, "bottle", bottle.serial, {"batch": batch}, by="lead", reason="misread")
            bottle.batch = batch

    @precondition(lambda self: self.model.bottles)
    @rule(pick=picks, lasts=st.sampled_from([400, 30, 2]))
    def an_expiry_is_corrected(self, pick, lasts):
        self.tick()
        bottle = chosen([*self.model.bottles.values()], pick)
        day = bottle.received.fromordinal(bottle.received.toordinal() + lasts)
        if bottle.expiry != day:
            change = {"expiry": day.isoformat()}
            correct_record(self.practice, "bottle", bottle.serial, change, by="lead", reason="misread")
            bottle.expiry = day

    @rule(days=st.sampled_from([1, 1, 3, 8, 30]))
    def days_pass(self, days):
        self.tick(days=days)
