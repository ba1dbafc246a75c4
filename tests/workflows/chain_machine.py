"""The whole machine: recalls, and what must hold after every step and at the end of every history."""

from collections import Counter

from chain_bench import picks
from chain_chair import FINE
from chain_clients import ClientRules
from chain_model import ARecall
from chain_practice import chosen
from chain_reach import ITEMS, fate, loads_behind, reach, used_on
from hypothesis import strategies as st
from hypothesis.stateful import initialize, invariant, precondition, rule

from tracelabels.custody import (
    CareLevel,
    ClientEnd,
    Fate,
    Hold,
    Incident,
    Kind,
    Name,
    RecallStep,
    SporeResult,
    Use,
    Variant,
    fate_of,
)
from tracelabels.workflows.recall import Step, find_recall, start_recall, take_step
from tracelabels.workflows.trace import trace

STEPS = (
    *(RecallStep.CLIENT_REACHED, RecallStep.CLIENT_REACHED, RecallStep.CLOSED, RecallStep.CLOSED),
    *(RecallStep.CLIENT_ATTEMPT, RecallStep.CLIENT_ATTEMPT, RecallStep.CLIENT_UNREACHABLE),
)
HELD = {*ITEMS, Kind.PREPARATION, Kind.LOAD, Kind.CONSUMABLE, Kind.PRINT_RUN}


class ChainMachine(ClientRules):
    """Random histories of all the workflows."""

    @initialize(
        is_released=st.sampled_from([False, True, True]),
        is_strict=st.booleans(),
        early=st.booleans(),
    )
    def a_first_day(self, is_released, is_strict, early) -> None:
        """A tested steriliser, an open bottle, three pouches, two clients, most often two loads and a visit."""
        self.model.rules.is_strict, self.model.rules.early_release = is_strict, early
        self.decide()
        self.test_loads_pass(times=1)
        self.a_client_is_registered(care=CareLevel.ROUTINE)
        self.a_client_is_registered(care=CareLevel.PROTECTED)
        bottle = self.receive(product=0, batch="5501", lasts=90, keeps=None, opened="today")
        empty = self.prepare(Variant.EMPTY_TUBES, 2, ())
        (filled,) = self.prepare(Variant.FILLED_BEFORE, 1, (bottle,))
        for tubes, instruments in ((empty, ()), ((filled,), ()), ((), ("forceps",))):
            self.print_labels(self.pack(tubes, instruments, "PF-1"))
        for _ in range(2 if is_released else 0):
            self.a_load_goes_well(most=2, test="in tube", result=SporeResult.NO_GROWTH, release=True, second=False)
        if is_released:
            self.visit(0, 0, 0, by_tube=True)
            for name in sorted(self._left()) if self.model.uses else ():
                if self._was_used(name) and name.kind is Kind.TUBE and name not in self.model.destroyed:
                    self.destroy(name, whole=False)
            self.a_day_of_work(bottle=0, is_filled=True, in_one=2)

    @precondition(lambda self: len(self._fresh()) < 3 and len(self.model.pouches) < 12 and len(self.model.loads) < 12)
    @rule(bottle=picks, is_filled=st.booleans(), in_one=st.integers(1, 2))
    def a_day_of_work(self, bottle, is_filled, in_one) -> None:
        """Tubes are prepared, packed, labelled, processed, tested and released, as far as the rules let them."""
        self.tick(days=1)
        ready = [one.serial for one in self.model.bottles.values() if one.opened is not None]
        of = (chosen(ready, bottle),) if is_filled and ready else ()
        tubes = self.prepare(Variant.FILLED_BEFORE if of else Variant.EMPTY_TUBES, 2, of)
        for start in range(0, len(tubes), in_one):
            self.print_labels(self.pack(tubes[start : start + in_one], (), "PF-1"))
        self.a_load_goes_well(most=3, test="in tube", result=SporeResult.NO_GROWTH, release=True, second=False)

    # -- recalls ---

    def questions(self) -> list[tuple[str, set[Name]]]:
        """Return every question that can be asked, each with what it stands for."""
        model, kinds = self.model, Kind
        batches: dict[str, set[Name]] = {}
        for one in model.bottles.values():
            batches.setdefault(f"lot:Saltmarsh Colour/{one.batch}", set()).add(Name(kinds.BOTTLE, one.serial))
        runs = sorted({one.run for labels in model.labels.values() for one in labels})
        lots = ("pouch_material/PF-1", "pouch_material/PF-2", "indicators/CI-1", "indicators/CI-2", "spore_tests/BI-1")
        return [
            *batches.items(),
            *((f"serial:{one.text}", {one}) for one in model.items),
            *((f"load:{one}", {Name(kinds.LOAD, one)}) for one in model.loads),
            *((f"preparation:{one}", {Name(kinds.PREPARATION, one)}) for one in model.preparations),
            *((f"printrun:{one}", {Name(kinds.PRINT_RUN, one)}) for one in runs),
            *((f"consumable:{one}", {Name(kinds.CONSUMABLE, one)}) for one in lots),
            *((f"bi:{one}", self._behind(one)) for one in model.tests),
        ]

    def _behind(self, number: str) -> set[Name]:
        test = self.model.tests[number]
        return loads_behind(self.model, number, lambda load: self.spores.is_reached(self.model.loads[load], test))

    def trace_and_compare(self, question: str, roots: set[Name]) -> None:
        """Compare what a question reaches with the closure by brute force, and both counts with each other."""
        found, expected = trace(self.practice, question), reach(self.model, roots)
        _same({one.name for one in found.items}, expected.of(*ITEMS), f"items of {question}")
        _same(set(found.clients), expected.of(Kind.CLIENT), f"clients of {question}")
        _same(set(found.incidents), expected.of(Kind.INCIDENT), f"incidents of {question}")
        assert found.completeness.holds, f"completeness of {question}: {found.completeness}"
        assert {one.text for one in found.erased} == self.model.erased & {one.text for one in found.clients}
        different = [(one.name, one.fate) for one in found.items if one.fate is not fate(self.model, one.name)]
        assert not different, f"fates of {question}: {different}"
        assert sum(found.fates.values()) == len(found.items)

    @rule(pick=picks)
    def a_cause_is_traced(self, pick):
        self.trace_and_compare(*chosen(self.questions(), pick))

    def trace_client(self, code: str) -> None:
        """Compare what a client's trace lists with everything that uses and incidents name."""
        found = trace(self.practice, f"client:{code}")
        assert {one.name for one in found.items} == used_on(self.model, code)
        assert found.completeness.holds

    @precondition(lambda self: len(self.model.recalls) < 3)
    @rule(pick=picks)
    def a_recall_is_recorded(self, pick):
        """What it reached is kept back from then on."""
        self.tick()
        question, roots = chosen(self.questions(), pick)
        expected, (other, _) = reach(self.model, roots), chosen(self.questions(), pick + 1)
        done = self.once(
            lambda key: start_recall(self.practice, question, reason="told by its maker", by="lead", request_key=key),
            lambda key: start_recall(self.practice, other, reason="told by its maker", by="lead", request_key=key),
        )
        clients = frozenset(one.text for one in expected.of(Kind.CLIENT))
        number = done.recall.number
        self.model.recalls[number] = ARecall(number=number, question=question, roots=frozenset(roots), clients=clients)
        assert set(done.recall.items) == expected.of(*ITEMS)
        assert set(done.recall.clients) == expected.of(Kind.CLIENT)
        assert set(done.recall.incidents) == expected.of(Kind.INCIDENT)
        kept = expected.of(*HELD)
        self.seen["recall with clients" if done.recall.clients else "recall"] += 1
        assert done.is_held is bool(kept)
        if kept:
            with self.practice.ledger.read() as ledger:
                (hold,) = ledger.about(Hold, "recall", done.recall.as_name)
            assert set(hold.value.items) == kept, f"kept back by recall of {question}"
            self.hold(hold.value.number, sorted(kept), self.now)

    def reached_by(self, recall: ARecall) -> set[str]:
        """Return the clients that a recall reached when it was recorded, and those that its cause reaches today."""
        roots = recall.roots | dict(self.questions()).get(recall.question, set())
        return {*recall.clients, *(one.text for one in reach(self.model, roots).of(Kind.CLIENT))}

    def _end_of(self, recall: ARecall, client: str) -> ClientEnd:
        steps = [step for step, whom in recall.steps if whom == client]
        if RecallStep.CLIENT_REACHED in steps:
            return ClientEnd.REACHED
        if client in self.model.erased:
            return ClientEnd.ERASED
        if RecallStep.CLIENT_UNREACHABLE in steps:
            return ClientEnd.UNREACHABLE
        return ClientEnd.ATTEMPTED if steps else ClientEnd.OPEN

    @precondition(lambda self: self.model.recalls and self.model.clients)
    @rule(pick=picks, whom=picks, step=st.sampled_from(STEPS))
    def a_recall_goes_on(self, pick, whom, step):
        """Somebody is reached, or not; it is closed when nobody is left to be reached."""
        self.tick()
        recall = chosen(self.model.recalls, pick)
        self.take_step(self.model.recalls[recall], step, chosen(self.model.clients, whom))

    def take_step(self, recall: ARecall, step: RecallStep, client: str) -> None:
        whom = None if step is RecallStep.CLOSED else client
        order, reached = Step(step=step, client=whom), self.reached_by(recall)
        different = Step(step=RecallStep.CLIENT_ATTEMPT, client=next(one for one in self.model.clients if one != whom))
        attempts = recall.steps.count((RecallStep.CLIENT_ATTEMPT, client))
        is_refused = recall.is_closed or (whom is not None and whom not in reached)
        is_refused |= step is RecallStep.CLIENT_UNREACHABLE and attempts < 2
        ends = {one: self._end_of(recall, one) for one in reached}
        is_refused |= step is RecallStep.CLOSED and bool({ClientEnd.OPEN, ClientEnd.ATTEMPTED} & set(ends.values()))
        done = self.once(
            lambda key: take_step(self.practice, recall.number, order, by="lead", request_key=key),
            lambda key: take_step(self.practice, recall.number, different, by="lead", request_key=key),
        )
        assert bool(done.refused) is is_refused, f"{step} of {recall.number} for {whom}: {done.refused}"
        if not done.refused:
            recall.steps.append((step, whom))
            ends = {one: self._end_of(recall, one) for one in reached}
            self.seen[f"recall, {step}"] += 1
        assert {one.client.text: one.end for one in done.standing.clients} == ends

    def recalls_stand(self) -> None:
        """Each client stands as what was done says: called, given up, or erased."""
        for recall in self.model.recalls.values():
            found = find_recall(self.practice, recall.number)
            assert found is not None
            ends = {one: self._end_of(recall, one) for one in self.reached_by(recall)}
            assert {one.client.text: one.end for one in found.clients} == ends, f"clients of {recall.number}"
            self.seen["client erased in a recall"] += ClientEnd.ERASED in ends.values()

    # -- what must hold ---

    @invariant()
    def all_holds(self) -> None:
        self.seen["steps"] += 1
        self.every_real_use_is_on_record()
        self.fates_partition_the_items()
        self.the_gate_agrees_about_every_pouch()

    def the_gate_agrees_about_every_pouch(self) -> None:
        """One pouch after each step, and everything at the end."""
        serials = [*self.model.pouches, *self.model.tubes]
        if serials and self.model.clients:
            self.steps = getattr(self, "steps", 0) + 1
            self.ask_all([chosen(serials, self.steps)], chosen(self.model.clients, self.steps // 2))

    def ask_all(self, serials: list[str], client: str) -> None:
        for serial in serials:
            label = (self.model.labels.get(serial) or [None])[-1]
            self.ask(serial, label, client, FINE)

    def every_real_use_is_on_record(self) -> None:
        """As a use or an incident, with its time; and of one pouch, GO was never said to two clients."""
        with self.practice.ledger.read() as ledger:
            uses = {one.value.number: one.value for one in ledger.every(Use)}
            incidents = {one.value.number: one.value for one in ledger.every(Incident)}
        assert {(one.number, one.client.text, one.at, frozenset(one.items)) for one in uses.values()} == {
            (one.number, one.client, one.at, one.items) for one in self.model.uses.values()
        }
        assert {(one.number, one.kind.value, one.at, frozenset(one.items)) for one in incidents.values()} == {
            (one.number, one.kind, one.at, one.items) for one in self.model.incidents.values()
        }
        told = {one.use for one in self.model.incidents.values()}
        assert all(one.was_go or one.number in told for one in self.model.uses.values())
        went = {(item, one.client) for one in self.model.uses.values() if one.was_go for item in one.items}
        assert max(Counter(item for item, _ in went if item.kind is not Kind.BOTTLE).values(), default=1) == 1

    def fates_partition_the_items(self) -> None:
        """Each bottle, tube and pouch is in exactly one, and it is the one that the model says."""
        with self.practice.ledger.read() as ledger:
            things = {ledger.require_thing(one): one for one in self.model.items}
            happened = ledger.happenings({at: one.kind for at, one in things.items()})
        different = {}
        for at, name in things.items():
            begins = Fate.IN_STOCK if name.kind is Kind.BOTTLE else Fate.UNPROCESSED
            found, expected = fate_of(happened[at], begins=begins), fate(self.model, name)
            if found is not expected:
                different[name] = (found, expected, happened[at])
        assert not different

    def teardown(self) -> None:
        """At the end everything is asked once more, and the chain is walked."""
        try:
            self.tick()
            for client in self.model.clients:
                self.trace_client(client)
                self.ask_all([*self.model.pouches, *self.model.tubes], client)
            for question, roots in self.questions():
                self.trace_and_compare(question, roots)
            self.recalls_stand()
            self.verify()
        finally:
            self.stack.close()


def _same(found: set[Name], expected: set[Name], what: str) -> None:
    more, fewer = sorted(map(str, found - expected)), sorted(map(str, expected - found))
    assert found == expected, f"{what}: the product has {more} more, the checker {fewer}"
