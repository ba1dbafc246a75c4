"""The machine's rules of loads: started, ended, unloaded, read, decided; with spore tests that ride along."""

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from decimal import Decimal

import pytest
from chain_bench import BenchRules, picks
from chain_model import ADecision, ALoad, AnIndicator, ATest, Process
from chain_practice import chosen, lateness
from hypothesis import strategies as st
from hypothesis.stateful import precondition, rule

from tracelabels.custody import (
    CycleKind,
    Decision,
    GaugeReading,
    Goods,
    IndicatorPlace,
    IndicatorResult,
    Outcome,
    PouchState,
    ProbePlace,
    ReadingsSource,
    ReadingsVerdict,
    SporeResult,
)
from tracelabels.errors import InputError
from tracelabels.workflows.read_indicators import IndicatorSeen, read_indicators
from tracelabels.workflows.record_readings import ReadingsOrder, record_readings
from tracelabels.workflows.record_spore_test import SporeOrder, read_spore_test
from tracelabels.workflows.release_load import DecisionOrder, decide_load
from tracelabels.workflows.run_load import LoadOrder, end_load, start_load
from tracelabels.workflows.unload import CameOut, unload

results = st.sampled_from([SporeResult.NO_GROWTH] * 4 + [SporeResult.GROWTH, SporeResult.INVALID])
most_fine = st.sampled_from([PouchState.SOUND] * 6 + [PouchState.WET, PouchState.TORN, PouchState.NOT_TURNED])
AIR, LIQUID = ("S1", CycleKind.AIR_REMOVAL), ("S1", CycleKind.LIQUID)
OTHER, TYPE_N = ("S2", CycleKind.AIR_REMOVAL), ("S2", CycleKind.TYPE_N)
GOODS = {CycleKind.LIQUID: Goods.LIQUID, CycleKind.TYPE_N: Goods.UNWRAPPED}
TYPED = (GaugeReading(minute=Decimal(0), temperature_c=Decimal("134.2"), pressure_kpa=Decimal(306)),)
INCUBATION = timedelta(hours=24)


class LoadRules(BenchRules):
    """What goes through a steriliser."""

    def start(
        self,
        pouches: tuple[str, ...],
        process: Process,
        test: SporeOrder | None,
        *,
        goods: Goods | None = None,
        at: datetime | None = None,
    ) -> str | None:
        """Start a load; refused exactly if the checker finds a reason."""
        steriliser, kind = process
        goods, at = goods or GOODS.get(kind, Goods.WRAPPED), at or self.now
        order = LoadOrder(
            steriliser=steriliser,
            cycle_kind=kind,
            programme="134",
            temperature_c=Decimal(134),
            hold_minutes=Decimal(4),
            goods=goods,
            counted=len(pouches),
            pouches=pouches,
            spore_test=test,
            at=at,
        )
        others = (
            replace(order, steriliser="S2" if steriliser == "S1" else "S1"),
            replace(order, cycle_kind=CycleKind.GRAVITY),
            replace(order, goods=Goods.UNWRAPPED if goods is Goods.WRAPPED else Goods.WRAPPED),
            *(replace(order, counted=1, pouches=(one,)) for one in self.model.pouches if (one,) != pouches),
            replace(order, spore_test=None if test and pouches else SporeOrder(lot="BI-2", placement="at the door")),
        )
        done = self.once(
            lambda key: start_load(self.practice, order, by="bench", request_key=key),
            *(lambda key, one=one: start_load(self.practice, one, by="bench", request_key=key) for one in others),
        )
        expected = self.as_of(at).against_start(pouches, process, goods, is_test=test is not None)
        self.compare(done.refused, expected, f"start of {pouches} in {process} for {goods}")
        if done.load is None:
            self.seen.update(f"not started, {one}" for one in expected)
            return None
        number = done.load.number
        self.seen[f"load in {steriliser} {kind}"] += 1
        self.model.loads[number] = ALoad(
            number=number, steriliser=steriliser, kind=kind, goods=goods, at=at, pouches=pouches
        )
        if done.test is not None and test is not None:
            self.note_test(done.test.number, number, test)
        return number

    def note_test(self, number: str, load: str, order: SporeOrder) -> None:
        of = self.model.loads[load]
        self.model.tests[number] = ATest(
            number=number, load=load, process=of.process, at=of.at, lot=order.lot, in_tube=order.in_reference_tube
        )

    def in_time(self, at: datetime, earliest: datetime, record: Callable[[], object]) -> bool:
        """Record something; refused exactly if it would have happened before what it follows on."""
        if at >= earliest:
            record()
            return True
        self.seen["too early"] += 1
        with pytest.raises(InputError, match=r"before|expected a time after"):
            record()
        return False

    def end(self, number: str, outcome: Outcome, late: timedelta | None = None) -> None:
        self.tick(hours=1)
        load, at = self.model.loads[number], self.moment(late)
        if self.in_time(at, load.at, lambda: end_load(self.practice, number, outcome, by="bench", at=at)):
            load.outcome, load.ended_at = outcome, at

    def _ended(self, number: str) -> datetime:
        ended = self.model.loads[number].ended_at
        assert ended is not None
        return ended

    def take_out(self, number: str, states: dict[str, PouchState], late: timedelta | None = None) -> None:
        self.tick()
        at, came = self.moment(late), [CameOut(serial=one, state=state) for one, state in states.items()]

        def record() -> None:
            assert not unload(self.practice, number, came, by="bench", at=at).refused

        if self.in_time(at, self._ended(number), record):
            self.model.loads[number].unloaded |= {one: (state, at) for one, state in states.items()}

    def read(self, number: str, verdict: ReadingsVerdict, probe: ProbePlace) -> None:
        self.tick()
        reasons = () if verdict is ReadingsVerdict.MET else ("seen so",)
        order = ReadingsOrder(source=ReadingsSource.GAUGE, probe=probe, verdict=verdict, typed=TYPED, reasons=reasons)
        record_readings(self.practice, number, order, by="bench")
        self.model.loads[number].readings.append((verdict, probe))

    def look(self, number: str, seen: list[AnIndicator], late: timedelta | None = None) -> None:
        self.tick()
        at = self.moment(late)
        told = [IndicatorSeen(pouch=one.pouch, place=one.place, result=one.result, lot=one.lot) for one in seen]

        def record() -> None:
            assert not read_indicators(self.practice, number, told, by="bench", at=at).refused

        if self.in_time(at, self._ended(number), record):
            self.model.loads[number].indicators += seen

    def spore_result(self, number: str, result: SporeResult, late: timedelta | None = None) -> None:
        """Read a spore test; a growth takes its process out of service, until it is returned after that."""
        test = self.model.tests[number]
        self.now = max(self.now, test.at + INCUBATION)
        self.tick()
        at = self.moment(late)
        earliest = test.at + INCUBATION if result is SporeResult.NO_GROWTH else test.at
        if not self.in_time(at, earliest, lambda: self._read_spores(number, result, at)) or late is None:
            return
        self.seen["spores read late"] += 1

    def _read_spores(self, number: str, result: SporeResult, at: datetime) -> None:
        test, other = self.model.tests[number], next(one for one in SporeResult if one is not result)
        done = self.once(
            lambda key: read_spore_test(self.practice, number, result, by="bench", at=at, request_key=key),
            lambda key: read_spore_test(self.practice, number, other, by="bench", at=at, request_key=key),
        )
        test.readings.append((result, at))
        assert (done.hold is not None) is (result is SporeResult.GROWTH)
        if done.hold is not None:
            self.seen["growth"] += 1
            self.read_growth(number, done.hold)
            if self.oracle.out_since(test.process) is None:
                back = any(which == test.process and one >= at for one, which in self.model.returned)
                self.model.taken_out.append((self.now if back else at, test.process))

    def decided(
        self, number: str, decision: Decision, excepted: tuple[str, ...] = (), late: timedelta | None = None
    ) -> None:
        """Decide about a load; a release is refused exactly if the checker finds something against it."""
        self.tick()
        load, may, at = self.model.loads[number], self.oracle.may_release(number), self.moment(late)
        is_early = self.spores.said_of(load, is_protected=False) == "incubating"
        order = DecisionOrder(decision=decision, excepted=excepted, reasons=("so decided",), at=at)
        other = replace(order, decision=next(one for one in Decision if one is not decision))
        different = next((one for one in self.model.loads if one != number), None)
        released = decision is Decision.RELEASED

        def record() -> None:
            done = self.once(
                lambda key: decide_load(self.practice, number, order, by="lead", request_key=key),
                lambda key: decide_load(self.practice, number, other, by="lead", request_key=key),
                *(
                    (lambda key: decide_load(self.practice, different, order, by="lead", request_key=key),)
                    * bool(different)
                ),
            )
            assert (done.release is not None) is (may or not released), f"{decision} of {number}: {done.refused}"
            if done.release is not None:
                left_out = {*excepted, *self.oracle.left_out(number)} if released else set()
                assert {one.text for one in done.release.excepted} == left_out
                self.seen[f"load {decision.value}{' early' if released and is_early else ''}"] += 1
                made = ADecision(what=decision, left_out=frozenset(left_out), is_early=released and is_early, at=at)
                load.decided.append(made)

        self.in_time(at, load.ended_at if released and load.ended_at else load.at, record)

    def one_load(self, pouches: tuple[str, ...], process: Process, test: SporeOrder | None) -> str | None:
        """Run a load, and everything goes well up to its release."""
        number = self.start(pouches, process, test)
        if number is None:
            return None
        self.end(number, Outcome.COMPLETE)
        self.take_out(number, dict.fromkeys(pouches, PouchState.SOUND))
        self.read(number, ReadingsVerdict.MET, self._probe(process[1]))
        turned = IndicatorResult.TURNED
        own = [AnIndicator(pouch=one, place=IndicatorPlace.OUTSIDE, result=turned, lot=None) for one in pouches]
        whole = AnIndicator(pouch=None, place=IndicatorPlace.IN_LOAD, result=turned, lot="CI-1")
        self.look(number, [*own, whole])
        return number

    @staticmethod
    def _probe(kind: CycleKind) -> ProbePlace:
        return ProbePlace.REFERENCE_TUBE if kind is CycleKind.LIQUID else ProbePlace.CHAMBER

    def _waiting(self) -> list[str]:
        return [one for one in self.model.pouches if not self.model.loads_of(one)]

    def _process_for(self, pouches: list[str], *, second: bool) -> tuple[Process, tuple[str, ...]]:
        """Return the process that the first pouch needs, and the pouches that may go with it."""
        liquid = {one for one in pouches if self._is_filled(one)}
        process = LIQUID if pouches and pouches[0] in liquid else (OTHER if second else AIR)
        return process, tuple(one for one in pouches if (one in liquid) is (process is LIQUID))

    def _is_filled(self, pouch: str) -> bool:
        numbers = {self.model.tubes[one].preparation for one in self.model.pouches[pouch].tubes}
        return any(self.model.preparations[one].bottles for one in numbers)

    @precondition(lambda self: len(self.model.loads) < 9)
    @rule(
        most=st.integers(1, 3),
        test=st.sampled_from(["no", "yes", "yes", "in tube"]),
        result=st.sampled_from([SporeResult.NO_GROWTH] * 4 + [SporeResult.GROWTH, None, None]),
        release=st.sampled_from([True] * 4 + [False]),
        second=st.sampled_from([False, False, True]),
    )
    def a_load_goes_well(self, most, test, result, release, second):
        self.tick()
        process, pouches = self._process_for(self._waiting(), second=second)
        order = self.spore_order(test) if test != "no" or not pouches else None
        if not pouches:
            order = self.spore_order("yes")
        number = self.one_load(pouches[:most], process, order)
        if number is None:
            return
        for one in self.tests_of(number):
            if result is not None:
                self.spore_result(one, result)
        if release:
            self.decided(number, Decision.RELEASED)

    def tests_of(self, load: str) -> list[str]:
        return [one.number for one in self.model.tests.values() if one.load == load]

    @staticmethod
    def spore_order(how: str) -> SporeOrder:
        return SporeOrder(lot="BI-1", placement="over the drain", in_reference_tube=how == "in tube")

    @precondition(lambda self: len(self.model.loads) < 9 and self.model.pouches)
    @rule(
        pick=picks,
        process=st.sampled_from([AIR, LIQUID, OTHER, TYPE_N, ("S2", CycleKind.LIQUID)]),
        goods=st.sampled_from([None, None, *Goods]),
        test=st.booleans(),
        late=lateness,
    )
    def a_load_starts(self, pick, process, goods, test, late):
        """Any pouch, in any cycle: what may not be is refused, what is processed before too."""
        self.tick()
        order = self.spore_order("yes") if test else None
        self.start((chosen(self.model.pouches, pick),), process, order, goods=goods, at=self.moment(late))

    def _loads(self, *, ended: bool) -> list[str]:
        return [one.number for one in self.model.loads.values() if (one.outcome is not None) is ended]

    @precondition(lambda self: self._loads(ended=False))
    @rule(pick=picks, outcome=st.sampled_from([Outcome.COMPLETE, Outcome.ABORTED]), late=lateness)
    def a_load_ends(self, pick, outcome, late):
        self.end(chosen(self._loads(ended=False), pick), outcome, late)

    @precondition(lambda self: self._loads(ended=True))
    @rule(pick=picks, states=st.lists(most_fine, min_size=3, max_size=3), late=lateness)
    def a_load_is_unloaded(self, pick, states, late):
        load = self.model.loads[chosen(self._loads(ended=True), pick)]
        left = [one for one in load.pouches if one not in load.unloaded]
        self.take_out(load.number, dict(zip(left, states, strict=False)), late)

    @precondition(lambda self: self._loads(ended=True))
    @rule(pick=picks, verdict=st.sampled_from(ReadingsVerdict), probe=st.sampled_from(ProbePlace))
    def readings_are_recorded(self, pick, verdict, probe):
        self.read(chosen(self._loads(ended=True), pick), verdict, probe)

    @precondition(lambda self: self._loads(ended=True))
    @rule(
        pick=picks,
        which=picks,
        place=st.sampled_from(IndicatorPlace),
        result=st.sampled_from(IndicatorResult),
        late=lateness,
    )
    def an_indicator_is_read(self, pick, which, place, result, late):
        load = self.model.loads[chosen(self._loads(ended=True), pick)]
        if place is not IndicatorPlace.IN_LOAD and not load.pouches:
            return
        pouch = None if place is IndicatorPlace.IN_LOAD else chosen(load.pouches, which)
        self.look(load.number, [AnIndicator(pouch=pouch, place=place, result=result, lot="CI-2")], late)
