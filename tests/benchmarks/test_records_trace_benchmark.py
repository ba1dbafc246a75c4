"""Recalls over many pouches: exact against plain Python, and no question slower than its answer is long.

What is judged: the answers, and how many steps the database makes for each thing that it returns (its own count of
virtual machine instructions, which no other work on the machine disturbs). From the smallest to the largest ledger
that may grow as the logarithm of the pouches does, and no more. Milliseconds are printed: the processor's time, and the
time on the wall. Run by hand, with the size as argument, the file prints the same for a million.
"""

import gc
import math
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from random import Random
from statistics import median, quantiles

import pytest
from million_pouches import Built, build

from tracelabels.custody import Closure, Kind, Name, reach_backward, reach_forward
from tracelabels.records import FactId, Reading, open_ledger

ASKED = 60
STEP = 100
POUCHES_OF_A_LOT = 500
SMALL, LARGE, HUGE = 10_000, 100_000, 1_000_000

Question = Callable[[Reading, Built, int], tuple[set[str], set[str], int]]
"""Asks about one thing by number: what was answered, what plain Python says, how many things came back."""


def _found(found: Closure[FactId], ledger: Reading, kind: Kind) -> set[str]:
    things = dict.fromkeys(found.of_kind(kind), kind)
    return {name.text for name in ledger.names_of(things).values()}


def lot_to_clients(ledger: Reading, built: Built, chance: int) -> tuple[set[str], set[str], int]:
    lot = chance % built.lots
    roots = {thing: Kind.BOTTLE for thing, _ in ledger.bottles_of_batch(f"LOT-{lot}", maker="Saltmarsh Colour")}
    found = reach_forward(roots, ledger.neighbours)
    return _found(found, ledger, Kind.CLIENT), {f"C-{one}" for one in built.clients_of_lot(lot)}, len(found.kinds)


def load_to_clients(ledger: Reading, built: Built, chance: int) -> tuple[set[str], set[str], int]:
    load = chance % len(built.pouches_of_load)
    thing = ledger.require_thing(Name(Kind.LOAD, f"L01-{load:06d}"))
    found = reach_forward({thing: Kind.LOAD}, ledger.neighbours)
    return _found(found, ledger, Kind.CLIENT), {f"C-{one}" for one in built.clients_of_load(load)}, len(found.kinds)


def client_to_lots(ledger: Reading, built: Built, chance: int) -> tuple[set[str], set[str], int]:
    client = chance % (len(built.serials) // 20)
    thing = ledger.require_thing(Name(Kind.CLIENT, f"C-{client}"))
    found = reach_backward({thing: Kind.CLIENT}, ledger.neighbours)
    said = ledger.details_of(dict.fromkeys(found.of_kind(Kind.BOTTLE), Kind.BOTTLE))
    expected = {f"Rosehip, batch LOT-{one}" for one in built.lots_of_client(client)}
    return {one.words for one in said.values()}, expected, len(found.kinds)


def one_serial(ledger: Reading, built: Built, chance: int) -> tuple[set[str], set[str], int]:
    pouch = chance % len(built.serials)
    (kind,) = ledger.kinds_of_serial(built.serials[pouch])
    thing = ledger.require_thing(Name(kind, built.serials[pouch]))
    forward = reach_forward({thing: kind}, ledger.neighbours)
    backward = reach_backward({thing: kind}, ledger.neighbours)
    answer = _found(forward, ledger, Kind.CLIENT) | _found(backward, ledger, Kind.LOAD)
    client = built.client_of_pouch.get(pouch)
    expected = {f"L01-{pouch // 50:06d}"} | ({f"C-{client}"} if client is not None else set())
    return answer, expected, len(forward.kinds) + len(backward.kinds)


QUESTIONS: tuple[Question, ...] = (lot_to_clients, load_to_clients, client_to_lots, one_serial)


@contextmanager
def counted_steps(ledger: Reading) -> Iterator[list[int]]:
    """Count the database's own steps, in hundreds."""
    raw = ledger._connection.connection.dbapi_connection
    steps = [0]

    def step() -> int:
        steps[0] += STEP
        return 0

    raw.set_progress_handler(step, STEP)
    yield steps
    raw.set_progress_handler(None, STEP)


def measure(folder: Path, pouches: int) -> dict[str, float]:
    """Build a ledger, ask every question, compare every answer; return steps a thing by question."""
    path, clock = folder / f"{pouches}.sqlite", lambda: datetime(2026, 1, 6, tzinfo=UTC)
    with open_ledger(path, site=1, clock=clock):
        pass
    begin = time.perf_counter()
    built = build(path, pouches, lots=max(1, pouches // POUCHES_OF_A_LOT))
    print(f"\n{pouches:,} pouches written in {time.perf_counter() - begin:.0f} s, {path.stat().st_size / 1e6:.0f} MB")
    gc.collect()
    gc.freeze()  # what the judge holds is no part of the work
    chance = Random(1)  # noqa: S311  a sample, no secret
    with open_ledger(path, site=1, clock=clock) as ledger, ledger.read() as found:
        return {one.__name__: _ask(found, built, one, chance) for one in QUESTIONS}


def _ask(found: Reading, built: Built, question: Question, chance: Random) -> float:
    question(found, built, 0)  # statements are compiled once
    walls, processor, things = [], [], 0
    numbers = [chance.randrange(1 << 30) for _ in range(ASKED)]
    for number in numbers:
        wall, worked = time.perf_counter(), time.thread_time()
        answer, expected, returned = question(found, built, number)
        processor.append((time.thread_time() - worked) * 1000)
        walls.append((time.perf_counter() - wall) * 1000)
        assert answer == expected, (question.__name__, number)
        things += returned
    with counted_steps(found) as steps:
        returned = sum(question(found, built, number)[2] for number in numbers[: ASKED // 4])
    print(
        f"  {question.__name__:<16} {things / ASKED:7.0f} things; processor p50 {median(processor):6.2f} "
        f"p95 {quantiles(processor, n=20)[-1]:6.2f} ms, wall p95 {quantiles(walls, n=20)[-1]:6.2f} ms; "
        f"{1000 * sum(processor) / things:5.1f} us a thing, {steps[0] / returned:6.0f} steps a thing"
    )
    return steps[0] / returned


def compare(small: dict[str, float], large: dict[str, float], *, sizes: tuple[int, int]) -> None:
    """Steps a thing may grow as the logarithm of the pouches does."""
    allowed = math.log(sizes[1]) / math.log(sizes[0])
    for name, steps in large.items():
        print(f"  {name:<16} steps a thing grow {steps / small[name]:.2f} fold; logarithm: {allowed:.2f}")
    assert {name: steps for name, steps in large.items() if steps > small[name] * allowed} == {}


@pytest.mark.slow
def test_recalls_are_exact_and_grow_no_more_than_a_logarithm(tmp_path):
    small, large = measure(tmp_path, SMALL), measure(tmp_path, LARGE)
    compare(small, large, sizes=(SMALL, LARGE))


@pytest.mark.long
def test_recalls_over_a_million_pouches(tmp_path):
    small, huge = measure(tmp_path, SMALL), measure(tmp_path, HUGE)
    compare(small, huge, sizes=(SMALL, HUGE))


if __name__ == "__main__":
    measure(Path(sys.argv[2]), int(sys.argv[1]))
