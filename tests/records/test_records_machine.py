"""Random histories at three sites against a plain model in memory: append, correct, take back, merge, erase, verify.

The model knows nothing of links or SQL: each site's facts are a list, and a database is how far it knows each list.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, precondition, rule, run_state_machine_as_test
from records_scenario import KEY

from tracelabels.custody import Product
from tracelabels.records import FactId, StaffMember, open_ledger

SITES = (1, 2, 3)
site_numbers = st.sampled_from(SITES)
words = st.text(st.characters(codec="utf-8", exclude_characters="\0"), min_size=1, max_size=5)


@dataclass(frozen=True, kw_only=True)
class ModelFact:
    kind: str
    thing: tuple[int, int] | None = None
    version: int = 1
    value: tuple[str, str] | None = None
    erased: frozenset[tuple[int, int]] = frozenset()


@dataclass(kw_only=True)
class Model:
    facts: dict[int, list[ModelFact]] = field(default_factory=lambda: {site: [] for site in SITES})
    known: dict[int, dict[int, int]] = field(default_factory=lambda: {site: dict.fromkeys(SITES, 0) for site in SITES})

    def append(self, site: int, fact: ModelFact) -> tuple[int, int]:
        self.facts[site].append(fact)
        self.known[site][site] = len(self.facts[site])
        return site, len(self.facts[site])

    def seen_at(self, database: int) -> dict[tuple[int, int], ModelFact]:
        return {
            (site, number): fact
            for site in SITES
            for number, fact in enumerate(self.facts[site][: self.known[database][site]], start=1)
        }

    def standing(self, database: int, kind: str) -> dict[tuple[int, int], tuple[int, int]]:
        """Each thing of a kind with the fact that stands, without those taken back."""
        best: dict[tuple[int, int], tuple[int, int, int]] = {}
        seen = self.seen_at(database)
        for at, fact in seen.items():
            thing = fact.thing or at
            best[thing] = max(best.get(thing, (0, 0, 0)), (fact.version, *at))
        return {thing: place[1:] for thing, place in best.items() if seen[place[1:]].kind == kind}

    def erased(self, database: int) -> frozenset[tuple[int, int]]:
        return frozenset().union(*(fact.erased for fact in self.seen_at(database).values()))


class LedgerMachine(RuleBasedStateMachine):
    new_location: Callable[[], Path | str]

    def __init__(self) -> None:
        super().__init__()
        self.model = Model()
        self.count = 0
        places = {site: type(self).new_location() for site in SITES}
        clock = lambda: datetime(2027, 1, 4, tzinfo=UTC)  # noqa: E731  a clock that stands still is the hardest
        self.places = places
        self.ledgers = {site: open_ledger(places[site], site=site, clock=clock, key=KEY) for site in SITES}

    def teardown(self) -> None:
        try:
            for site in SITES:
                self.check(site)
        finally:
            for ledger in self.ledgers.values():
                ledger.close()

    @rule(site=site_numbers, name=words)
    def add_product(self, site, name):
        self.count += 1
        item = str(self.count)
        with self.ledgers[site].write(by="s") as unit:
            at = unit.add_product(Product(maker="m", item_number=item, name=name))
        assert (at.site, at.sequence) == self.model.append(site, ModelFact(kind="product", value=(item, name)))

    @rule(site=site_numbers, name=words)
    def add_staff(self, site, name):
        self.count += 1
        code = str(self.count)
        with self.ledgers[site].write(by="s") as unit:
            at = unit.add_staff(StaffMember(code=code, name=name, initials=None))
        assert (at.site, at.sequence) == self.model.append(site, ModelFact(kind="staff", value=(code, name)))

    @precondition(lambda self: any(self.model.standing(site, "product") for site in SITES))
    @rule(site=site_numbers, name=words, data=st.data())
    def correct_product(self, site, name, data):
        things = sorted(self.model.standing(site, "product").items())
        if not things:
            return
        thing, at = data.draw(st.sampled_from(things))
        before = self.model.seen_at(site)[at]
        item = before.value[0]
        with self.ledgers[site].write(by="s") as unit:
            recorded = unit.find_product(maker="m", item_number=item)
            made = unit.correct(recorded, Product(maker="m", item_number=item, name=name), reason="r")
        after = ModelFact(kind="product", thing=thing, version=before.version + 1, value=(item, name))
        assert (made.site, made.sequence) == self.model.append(site, after)

    @rule(site=site_numbers, data=st.data())
    def retract_product(self, site, data):
        things = sorted(self.model.standing(site, "product").items())
        if not things:
            return
        thing, at = data.draw(st.sampled_from(things))
        version = self.model.seen_at(site)[at].version + 1
        with self.ledgers[site].write(by="s") as unit:
            unit.retract(FactId(site=thing[0], sequence=thing[1]), reason="r")
        self.model.append(site, ModelFact(kind="retraction", thing=thing, version=version))

    @rule(site=site_numbers, data=st.data())
    def erase_staff(self, site, data):
        gone = self.model.erased(site)
        things = sorted(thing for thing in self.model.standing(site, "staff") if thing not in gone)
        if not things:
            return
        thing = data.draw(st.sampled_from(things))
        self.ledgers[site].erase(FactId(site=thing[0], sequence=thing[1]), by="s", reason="r")
        self.model.append(site, ModelFact(kind="erasure", erased=frozenset({thing})))

    @rule(site=site_numbers, other=site_numbers)
    def merge(self, site, other):
        if site == other:
            return
        ends = self.ledgers[site].merge(self.places[other], by="s")
        here, there = self.model.known[site], self.model.known[other]
        grown = {one: there[one] for one in SITES if there[one] > here[one]}
        assert {end.site: end.sequence for end in ends} == grown
        here.update(grown)
        if grown:
            self.model.append(site, ModelFact(kind="head_seen"))

    @rule(site=site_numbers)
    def check(self, site):
        model, gone = self.model, self.model.erased(site)
        seen = model.seen_at(site)
        products = sorted(seen[at].value for at in model.standing(site, "product").values())
        assert self.ledgers[site].verify() == []
        with self.ledgers[site].read() as found:
            assert sorted((one.value.item_number, one.value.name) for one in found.products()) == products
            for at in model.standing(site, "staff").values():
                code, name = seen[at].value
                assert found.find_staff(code).value.name == (None if at in gone else name)
            assert {one: found.head(one).sequence for one in SITES} == model.known[site]
            assert {(one.site, one.sequence) for one in found.conflicts()} == self.conflicts(site)

    def conflicts(self, site):
        versions: dict[tuple[int, int], list[int]] = {}
        for at, fact in self.model.seen_at(site).items():
            versions.setdefault(fact.thing or at, []).append(fact.version)
        return {thing for thing, numbers in versions.items() if numbers.count(max(numbers)) > 1}


def test_random_histories_agree_with_a_plain_model(new_location):
    machine = type("Machine", (LedgerMachine,), {"new_location": staticmethod(new_location)})
    limits = settings(
        max_examples=12,
        stateful_step_count=25,
        deadline=None,
        suppress_health_check=list(HealthCheck),
    )
    run_state_machine_as_test(machine, settings=limits)
