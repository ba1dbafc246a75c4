"""Tracing against plain Python: what is reached, what it came from, how many it is, and what became of each."""

from dataclasses import replace

import pytest
from chain_judge import came_from, fate_by_eye, reached, world_of
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from random_chain import record_chain
from records_scenario import KEY, Clock, record_morning

from tracelabels.custody import Direction, Fate, Kind, Link, Name, fate_of, reach_backward, reach_forward
from tracelabels.records import open_ledger
from tracelabels.records.tracing import _way

RUNS = 30
ITEMS = (Kind.BOTTLE, Kind.TUBE, Kind.POUCH)


def _roots(chain):
    yield from (Name(Kind.PRODUCT, one) for one in ("Mallow & Finch/RH-10", "Mallow & Finch/OM-4"))
    yield from (Name(Kind.BOTTLE, one) for one in chain.bottles)
    yield from (Name(Kind.PREPARATION, one) for one in chain.preparations)
    yield from (Name(Kind.TUBE, one) for one in chain.tubes)
    yield from (Name(Kind.POUCH, one) for one in chain.pouches)
    yield from (Name(Kind.LOAD, one) for one in chain.loads)
    yield from (Name(Kind.PRINT_RUN, one) for one in chain.runs)
    yield Name(Kind.STERILISER, "S1")
    for lot in (
        "tubes/TB-1", "pouch_material/PF-1", "indicators/CI-1", "spore_tests/BI-1", "label_stock/LS-1",
        "needle_cartridges/NC-1",
    ):  # fmt: skip
        yield Name(Kind.CONSUMABLE, lot)


def _compare(found, chain):
    world = world_of(found, chain)
    for root in _roots(chain):
        thing = found.require_thing(root)
        forward = reach_forward({thing: root.kind}, found.neighbours)
        names = {found.name_of(one): kind for one, kind in forward.kinds.items()}
        assert set(names) == reached(world, root), root
        assert all(name.kind is kind for name, kind in names.items())
        assert found.names_of(forward.kinds) == {one: found.name_of(one) for one in forward.kinds}
        count = found.count_reached({thing: root.kind})
        kinds = [name.kind for name in names]
        listed = [kinds.count(one) for one in (*ITEMS, Kind.CLIENT, Kind.INCIDENT)]
        assert [count.bottles, count.tubes, count.pouches, count.clients, count.incidents] == listed, root
    clients = (Name(Kind.CLIENT, f"C-{number}") for number in range(4))
    for root in (*_roots(chain), *clients):
        if root.kind is not Kind.CONSUMABLE:
            backward = reach_backward({found.require_thing(root): root.kind}, found.neighbours)
            assert {found.name_of(one) for one in backward.kinds} == came_from(world, root), root


def _compare_fates(found, chain):
    world = world_of(found, chain)
    packed = [tube for pouch in world.pouches for tube in pouch.tubes]
    once = [Name(Kind.TUBE, one) for one in chain.tubes if packed.count(one) <= 1]
    items = (*once, *(Name(Kind.POUCH, one) for one in chain.pouches))
    things = {found.require_thing(one): one.kind for one in items}
    happened = found.happenings(things)
    assert {found.name_of(one): fate_of(history) for one, history in happened.items()} == {
        one: fate_by_eye(found, world, one) for one in items
    }


@pytest.mark.slow
@settings(
    max_examples=RUNS, deadline=None, suppress_health_check=list(HealthCheck), derandomize=True, phases=[Phase.generate]
)
@given(chance=st.randoms(use_true_random=False))
def test_random_histories_are_traced_and_counted_as_plain_python_does(tmp_path_factory, chance):
    path = tmp_path_factory.mktemp("chain") / "ledger.db"
    with open_ledger(path, site=1, clock=Clock(), key=KEY) as ledger:
        with ledger.write(by="s") as unit:
            chain = record_chain(unit, chance)
        with ledger.read() as found:
            _compare(found, chain)
            _compare_fates(found, chain)


@pytest.mark.parametrize("seed", range(3))
def test_both_databases_trace_alike(ledger, seed):
    from random import Random

    with ledger.write(by="s") as unit:
        chain = record_chain(unit, Random(seed))  # noqa: S311  a history, no secret
    with ledger.read() as found:
        _compare(found, chain)
        _compare_fates(found, chain)


def test_what_two_sites_corrected_apart_is_traced_as_it_stands(new_location, clock):
    """Of two corrections with one version that of the higher site stands: the tube is the second preparation's."""
    first, second = new_location(), new_location()
    with (
        open_ledger(first, site=1, clock=clock, key=KEY) as one,
        open_ledger(second, site=2, clock=clock, key=KEY) as two,
    ):
        with one.write(by="s") as unit:
            record_morning(unit)
        two.merge(first, by="s")
        for ledger, preparation in ((one, "P-0001"), (two, "P-0002")):
            with ledger.write(by="s") as unit:
                tube = unit.find_tube("010000055")
                unit.correct(tube, replace(tube.value, preparation=preparation), reason="misread")
        one.merge(second, by="s")
        with one.read() as found:
            made = [found.require_thing(Name(Kind.PREPARATION, number)) for number in ("P-0001", "P-0002")]
            pairs = list(found.neighbours(Link.PREPARATION_TUBE, Direction.FORWARD, made))
            back = found.neighbours(Link.PREPARATION_TUBE, Direction.BACKWARD, [effect for _, effect in pairs])
            assert sorted(back) == sorted(pairs)
            assert [cause for cause, effect in pairs if effect == tube.thing] == [made[1]]
            assert len(pairs) == 3
            assert found.names_of({tube.thing: Kind.TUBE}) == {tube.thing: Name(Kind.TUBE, "010000055")}


def test_no_link_walks_a_table_or_fetches_the_fact_of_each_row(sqlite_path, clock):
    """SQLite's own plan of both statements of every link: steps through indexes only, corrections through the small
    one."""
    with open_ledger(sqlite_path, site=1, clock=clock, key=KEY) as ledger, ledger.read() as found:
        for query in (query for link in Link for query in (_way(link).forward, _way(link).backward)):
            asked = query.compile(dialect=found._connection.dialect)
            values = (None,) * len(asked.positiontup)
            plan = found._connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {asked}", values).all()
            steps = [step for *_, step in plan]
            assert [one for one in steps if one.startswith("SCAN") and "json_each" not in one] == [], str(asked)
            assert [one for one in steps if one.startswith("SEARCH fact USING PRIMARY KEY")] == [], str(asked)
            assert any("fact_corrected" in one for one in steps), str(asked)


def test_a_bottle_begins_in_stock():
    assert fate_of((), begins=Fate.IN_STOCK) is Fate.IN_STOCK
