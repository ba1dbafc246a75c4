"""The machine's rules of the bench: bottles, preparations, pouches, labels."""

from datetime import timedelta
from decimal import Decimal

from chain_model import ABottle, APouch, APreparation, ATube
from chain_practice import PRODUCTS, PracticeMachine, chosen
from hypothesis import strategies as st
from hypothesis.stateful import precondition, rule

from tracelabels.custody import Expiry, Period, PeriodUnit, Variant
from tracelabels.workflows.pack_pouches import Pouching, pack_pouches
from tracelabels.workflows.prepare_tubes import Part, PreparationOrder, prepare_tubes
from tracelabels.workflows.receive_bottle import Arrival, open_bottle, receive_bottles, withdraw_bottle

picks = st.integers(0, 60)
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

    @precondition(lambda self: sum(one.withdrawn is None for one in self.model.bottles.values()) > 2)
    @rule(pick=picks)
    def a_bottle_is_withdrawn(self, pick):
        self.tick()
        serial = chosen([one.serial for one in self.model.bottles.values() if one.withdrawn is None], pick)
        withdraw_bottle(self.practice, serial, by="bench", reason="a doubt")
        self.model.bottles[serial].withdrawn = self.now.date()

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
