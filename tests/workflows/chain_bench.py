"""The machine's rules of the bench: bottles, preparations, pouches, loads, spore tests, decisions, holds."""

from datetime import timedelta
from decimal import Decimal

from chain_model import ABottle, ALoad, AnIndicator, APouch, APreparation, ATest, ATube
from chain_practice import PRODUCTS, PracticeMachine, chosen
from hypothesis import strategies as st
from hypothesis.stateful import precondition, rule

from tracelabels.custody import (
    CycleKind,
    Decision,
    Expiry,
    GaugeReading,
    Goods,
    IndicatorPlace,
    IndicatorResult,
    Outcome,
    Period,
    PeriodUnit,
    PouchState,
    ProbePlace,
    ReadingsSource,
    ReadingsVerdict,
    SporeResult,
    Variant,
)
from tracelabels.workflows.pack_pouches import Pouching, pack_pouches
from tracelabels.workflows.prepare_tubes import Part, PreparationOrder, prepare_tubes
from tracelabels.workflows.read_indicators import IndicatorSeen, read_indicators
from tracelabels.workflows.receive_bottle import Arrival, open_bottle, receive_bottles, withdraw_bottle
from tracelabels.workflows.record_readings import ReadingsOrder, record_readings
from tracelabels.workflows.record_spore_test import SporeOrder, read_spore_test
from tracelabels.workflows.release_load import DecisionOrder, decide_load
from tracelabels.workflows.run_load import LoadOrder, end_load, start_load
from tracelabels.workflows.unload import CameOut, unload

picks = st.integers(0, 60)
most_fine = st.sampled_from([PouchState.SOUND] * 6 + [PouchState.WET, PouchState.TORN, PouchState.NOT_TURNED])
results = st.sampled_from([SporeResult.NO_GROWTH] * 4 + [SporeResult.GROWTH, SporeResult.INVALID])
TYPED = (GaugeReading(minute=Decimal(0), temperature_c=Decimal("134.2"), pressure_kpa=Decimal(306)),)
ML = Decimal(20)


class BenchRules(PracticeMachine):
    """What happens before the chair."""

    # -- bottles and what is made of them ---

    def receive(self, *, product: int, batch: str, lasts: int | None, keeps: int | None, opened: str) -> str:
        expiry = None if lasts is None else self.now.date() + timedelta(days=lasts)
        arrival = Arrival(
            product=PRODUCTS[product],
            batch=batch,
            expiry=None if expiry is None else Expiry.on_day(expiry),
            period_after_opening=None if keeps is None else Period(count=keeps, unit=PeriodUnit.DAYS),
            opened_unknown=opened == "unknown",
        )
        (one,) = receive_bottles(self.practice, arrival, by="bench")
        self.model.bottles[one.serial] = ABottle(
            serial=one.serial,
            product=PRODUCTS[product].name,
            batch=batch,
            received=self.now.date(),
            expiry=expiry,
            keeps_days=keeps,
            opened_unknown=opened == "unknown",
        )
        if opened == "today":
            self.open(one.serial)
        return one.serial

    def open(self, serial: str) -> None:
        self.tick()
        open_bottle(self.practice, serial, by="bench")
        self.model.bottles[serial].opened = self.now.date()

    @precondition(lambda self: len(self.model.bottles) < 5)
    @rule(
        product=st.integers(0, 1),
        batch=st.sampled_from(["5501", "77"]),
        lasts=st.sampled_from([400, 25, 12, None]),
        keeps=st.sampled_from([None, 20, 8]),
        opened=st.sampled_from(["today", "today", "no", "unknown"]),
    )
    def a_bottle_comes(self, product, batch, lasts, keeps, opened):
        self.tick()
        self.receive(product=product, batch=batch, lasts=lasts, keeps=keeps, opened=opened)

    @precondition(lambda self: any(self._is_closed(one) for one in self.model.bottles.values()))
    @rule(pick=picks)
    def a_bottle_is_opened(self, pick):
        self.open(chosen([one.serial for one in self.model.bottles.values() if self._is_closed(one)], pick))

    @precondition(lambda self: sum(not one.withdrawn for one in self.model.bottles.values()) > 2)
    @rule(pick=picks)
    def a_bottle_is_withdrawn(self, pick):
        self.tick()
        serial = chosen([one.serial for one in self.model.bottles.values() if not one.withdrawn], pick)
        withdraw_bottle(self.practice, serial, by="bench", reason="a doubt")
        self.model.bottles[serial].withdrawn = True

    @staticmethod
    def _is_closed(bottle: ABottle) -> bool:
        return bottle.opened is None and not bottle.opened_unknown

    def prepare(self, variant: Variant, tubes: int, bottles: tuple[str, ...]) -> tuple[str, ...]:
        """Prepare tubes; it is refused exactly if a bottle's own gate says so."""
        is_filled = variant is Variant.FILLED_BEFORE
        parts = tuple(Part(bottle=one, amount_ml=ML) for one in bottles)
        order = PreparationOrder(
            variant=variant, tubes=tubes, parts=parts, size_ml=Decimal(2), fill_ml=Decimal(1) if is_filled else None
        )
        done = prepare_tubes(self.practice, order, by="bench")
        self.compare(done.refused, self.oracle.against_preparing(bottles), f"prepare from {bottles}")
        if done.preparation is None:
            return ()
        number = done.preparation.number
        made = APreparation(number=number, day=self.now.date(), at=self.now, variant=variant, bottles=bottles)
        self.model.preparations[number] = made
        for tube in done.tubes:
            self.model.tubes[tube.serial] = ATube(serial=tube.serial, preparation=number)
        return tuple(tube.serial for tube in done.tubes)

    @precondition(lambda self: len(self.model.preparations) < 6)
    @rule(empty=st.booleans(), tubes=st.integers(1, 2), first=picks, second=st.none() | picks, again=st.booleans())
    def tubes_are_prepared(self, empty, tubes, first, second, again):
        """Empty ones, filled from one bottle, a mix, a top-up with the first bottle again."""
        self.tick()
        ready = [one.serial for one in self.model.bottles.values() if not self._is_closed(one)]
        if empty or not ready:
            self.prepare(Variant.EMPTY_TUBES, tubes, ())
            return
        others = () if second is None else (chosen(ready, second),)
        top_up = (chosen(ready, first),) if again and others else ()
        self.prepare(Variant.FILLED_BEFORE, tubes, (chosen(ready, first), *others, *top_up))

    def pack(self, tubes: tuple[str, ...], instruments: tuple[str, ...], lot: str) -> str:
        (one,) = pack_pouches(
            self.practice, [Pouching(tubes=tubes, instruments=instruments)], material_lot=lot, by="bench"
        )
        pouch = APouch(serial=one.serial, lot=lot, at=self.now, tubes=tubes, instruments=instruments)
        self.model.pouches[one.serial] = pouch
        return one.serial

    @precondition(lambda self: len(self.model.pouches) < 8)
    @rule(
        count=st.integers(0, 2),
        instruments=st.booleans(),
        lot=st.sampled_from(["PF-1", "PF-2"]),
        labelled=st.sampled_from([True] * 5 + [False]),
    )
    def a_pouch_is_packed(self, count, instruments, lot, labelled):
        self.tick()
        free = [one for one in self.model.tubes if self.model.pouch_of(one) is None][:count]
        pouch = self.pack(tuple(free), ("forceps",) if instruments or not free else (), lot)
        if labelled:
            self.print_labels(pouch)

    @precondition(lambda self: self.model.pouches)
    @rule(pick=picks)
    def labels_are_printed_again(self, pick):
        self.tick()
        self.print_labels(chosen(self.model.pouches, pick))

    # -- loads ---

    def start(self, pouches: tuple[str, ...], kind: CycleKind, test: SporeOrder | None) -> str | None:
        """Start a load; whether it may start is the product's word, what it then says is evidence of is not."""
        goods = Goods.LIQUID if kind is CycleKind.LIQUID else Goods.WRAPPED
        order = LoadOrder(
            steriliser="S1",
            cycle_kind=kind,
            programme="134",
            temperature_c=Decimal(134),
            hold_minutes=Decimal(4),
            goods=goods,
            counted=len(pouches),
            pouches=pouches,
            spore_test=test,
        )
        done = self.once(lambda key: start_load(self.practice, order, by="bench", request_key=key))
        if done.load is None:
            return None
        number = done.load.number
        self.model.loads[number] = ALoad(number=number, kind=kind, goods=goods, at=self.now, pouches=pouches)
        if done.test is not None and test is not None:
            self.note_test(done.test.number, number, test)
        return number

    def note_test(self, number: str, load: str, order: SporeOrder) -> None:
        of = self.model.loads[load]
        self.model.tests[number] = ATest(
            number=number, load=load, kind=of.kind, at=of.at, lot=order.lot, in_tube=order.in_reference_tube
        )

    def end(self, number: str, outcome: Outcome) -> None:
        self.tick(hours=1)
        end_load(self.practice, number, outcome, by="bench")
        self.model.loads[number].outcome = outcome

    def take_out(self, number: str, states: dict[str, PouchState]) -> None:
        self.tick()
        came = [CameOut(serial=one, state=state) for one, state in states.items()]
        assert not unload(self.practice, number, came, by="bench").refused
        self.model.loads[number].unloaded |= {one: (state, self.now) for one, state in states.items()}

    def read(self, number: str, verdict: ReadingsVerdict, probe: ProbePlace) -> None:
        self.tick()
        reasons = () if verdict is ReadingsVerdict.MET else ("seen so",)
        order = ReadingsOrder(source=ReadingsSource.GAUGE, probe=probe, verdict=verdict, typed=TYPED, reasons=reasons)
        record_readings(self.practice, number, order, by="bench")
        self.model.loads[number].readings.append((verdict, probe))

    def look(self, number: str, seen: list[AnIndicator]) -> None:
        self.tick()
        told = [IndicatorSeen(pouch=one.pouch, place=one.place, result=one.result, lot=one.lot) for one in seen]
        assert not read_indicators(self.practice, number, told, by="bench").refused
        self.model.loads[number].indicators += seen

    def spore_result(self, number: str, result: SporeResult) -> None:
        test = self.model.tests[number]
        self.now = max(self.now, test.at + timedelta(hours=24))
        self.tick()
        done = self.once(lambda key: read_spore_test(self.practice, number, result, by="bench", request_key=key))
        test.readings.append((result, self.now))
        assert (done.hold is not None) is (result is SporeResult.GROWTH)
        if done.hold is not None:
            self.seen["growth"] += 1
            self.read_growth(number, done.hold)

    def decided(self, number: str, decision: Decision, excepted: tuple[str, ...] = ()) -> None:
        """Decide about a load; a release is refused exactly if the checker finds something against it."""
        self.tick()
        load, may = self.model.loads[number], self.oracle.may_release(number)
        is_early = self.spores.said_of(load, is_protected=False) == "incubating"
        order = DecisionOrder(decision=decision, excepted=excepted, reasons=("so decided",))
        done = decide_load(self.practice, number, order, by="lead")
        released = decision is Decision.RELEASED
        assert (done.release is not None) is (may or not released), f"{decision} of {number}: {done.refused}"
        if done.release is not None:
            left_out = {*excepted, *self.oracle.left_out(number)} if released else set()
            assert {one.text for one in done.release.excepted} == left_out
            self.seen[f"load {decision.value}{' early' if released and is_early else ''}"] += 1
            load.decisions.append((decision, frozenset(left_out), released and is_early))

    def one_load(self, pouches: tuple[str, ...], kind: CycleKind, test: SporeOrder | None) -> str | None:
        """Run a load, and everything goes well up to its release."""
        number = self.start(pouches, kind, test)
        if number is None:
            return None
        self.end(number, Outcome.COMPLETE)
        self.take_out(number, dict.fromkeys(pouches, PouchState.SOUND))
        self.read(number, ReadingsVerdict.MET, self._probe(kind))
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

    def _kind_for(self, pouches: list[str]) -> tuple[CycleKind, tuple[str, ...]]:
        """Return the cycle that the first pouch needs, and the pouches that may go with it."""
        liquid = {one for one in pouches if self._is_filled(one)}
        kind = CycleKind.LIQUID if pouches and pouches[0] in liquid else CycleKind.AIR_REMOVAL
        return kind, tuple(one for one in pouches if (one in liquid) is (kind is CycleKind.LIQUID))

    def _is_filled(self, pouch: str) -> bool:
        numbers = {self.model.tubes[one].preparation for one in self.model.pouches[pouch].tubes}
        return any(self.model.preparations[one].bottles for one in numbers)

    @precondition(lambda self: len(self.model.loads) < 9)
    @rule(
        most=st.integers(1, 3),
        test=st.sampled_from(["no", "yes", "yes", "in tube"]),
        result=st.sampled_from([SporeResult.NO_GROWTH] * 4 + [SporeResult.GROWTH, None, None]),
        release=st.sampled_from([True] * 4 + [False]),
    )
    def a_load_goes_well(self, most, test, result, release):
        self.tick()
        kind, pouches = self._kind_for(self._waiting())
        order = self.spore_order(test) if test != "no" or not pouches else None
        if not pouches:
            order = self.spore_order("yes")
        number = self.one_load(pouches[:most], kind, order)
        if number is None:
            return
        for one in [one.number for one in self.model.tests.values() if one.load == number]:
            if result is not None:
                self.spore_result(one, result)
        if release:
            self.decided(number, Decision.RELEASED)

    @staticmethod
    def spore_order(how: str) -> SporeOrder:
        return SporeOrder(lot="BI-1", placement="over the drain", in_reference_tube=how == "in tube")

    @precondition(lambda self: len(self.model.loads) < 9 and self.model.pouches)
    @rule(pick=picks, liquid=st.booleans(), test=st.booleans())
    def a_load_starts(self, pick, liquid, test):
        """Any pouch, in any cycle: what may not be is refused, what is processed before too."""
        self.tick()
        kind = CycleKind.LIQUID if liquid else CycleKind.AIR_REMOVAL
        self.start((chosen(self.model.pouches, pick),), kind, self.spore_order("yes") if test else None)

    def _loads(self, *, ended: bool) -> list[str]:
        return [one.number for one in self.model.loads.values() if (one.outcome is not None) is ended]

    @precondition(lambda self: self._loads(ended=False))
    @rule(pick=picks, outcome=st.sampled_from([Outcome.COMPLETE, Outcome.ABORTED]))
    def a_load_ends(self, pick, outcome):
        self.end(chosen(self._loads(ended=False), pick), outcome)

    @precondition(lambda self: self._loads(ended=True))
    @rule(pick=picks, states=st.lists(most_fine, min_size=3, max_size=3))
    def a_load_is_unloaded(self, pick, states):
        load = self.model.loads[chosen(self._loads(ended=True), pick)]
        left = [one for one in load.pouches if one not in load.unloaded]
        self.take_out(load.number, dict(zip(left, states, strict=False)))

    @precondition(lambda self: self._loads(ended=True))
    @rule(pick=picks, verdict=st.sampled_from(ReadingsVerdict), probe=st.sampled_from(ProbePlace))
    def readings_are_recorded(self, pick, verdict, probe):
        self.read(chosen(self._loads(ended=True), pick), verdict, probe)

    @precondition(lambda self: self._loads(ended=True))
    @rule(pick=picks, which=picks, place=st.sampled_from(IndicatorPlace), result=st.sampled_from(IndicatorResult))
    def an_indicator_is_read(self, pick, which, place, result):
        load = self.model.loads[chosen(self._loads(ended=True), pick)]
        if place is not IndicatorPlace.IN_LOAD and not load.pouches:
            return
        pouch = None if place is IndicatorPlace.IN_LOAD else chosen(load.pouches, which)
        self.look(load.number, [AnIndicator(pouch=pouch, place=place, result=result, lot="CI-2")])
