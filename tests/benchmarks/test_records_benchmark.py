"""How long the whole chain takes to check, in how much memory, against the least that any check must do."""

import hashlib
import hmac
import json
import os
import subprocess
import sys
import time
from contextlib import closing
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from tracelabels.custody import LabelKind, PrintedLabel, PrintRun, Tube
from tracelabels.records import open_ledger
from tracelabels.records.engine import sqlite_driver

KEY = bytes(range(32))
BATCH = 25_000


def build(path: Path, facts: int) -> int:
    """Record tubes and printed labels in equal numbers (three rows for two facts); return how many facts there are."""
    with open_ledger(path, site=1, clock=lambda: datetime(2027, 1, 4, 8, tzinfo=UTC), key=KEY) as ledger:
        for start in range(0, facts // 2, BATCH):
            numbers = range(start, min(start + BATCH, facts // 2))
            with ledger.write(by="staff-1") as unit:
                unit.add_tubes(Tube(serial=f"{number:09d}") for number in numbers)
                run = PrintRun(
                    number=f"R-{start}", printed_on=date(2027, 1, 4), layout="tube-side", sheet="a4-65", dpi=300
                )
                unit.add_print_run(run, (_label(number) for number in numbers))
        return ledger.heads()[0].sequence


def _label(number: int) -> PrintedLabel:
    return PrintedLabel(
        serial=f"{number:09d}", kind=LabelKind.TUBE, lot="5501", use_by=date(2027, 7, 5), prepared=date(2027, 1, 4)
    )


def bare(path: Path) -> int:
    """Read and hash every row once: an HMAC for each fact, SHA-256 for each other row, nothing compared."""
    count = 0
    with closing(sqlite_driver().connect(path)) as raw:
        for row in raw.execute("SELECT * FROM fact ORDER BY site, sequence"):
            hmac.digest(KEY, json.dumps(row[:12]).encode() + row[-2], "sha256")
            count += 1
        for table in ("tube", "taken_serial", "printed_label"):
            for row in raw.execute(f"SELECT * FROM {table} ORDER BY site, sequence"):  # noqa: S608  names from above
                hashlib.sha256(json.dumps(row).encode()).digest()
    return count


def verify(path: Path) -> list[object]:
    with open_ledger(path, site=1, clock=lambda: datetime(2027, 1, 4, 8, tzinfo=UTC), key=KEY) as ledger:
        return list(ledger.verify())


def fsync_cost(folder: Path) -> float:
    """Return milliseconds that this disk takes to write a page safely, the middle of 21."""
    taken = []
    with (folder / "page").open("wb") as file:
        for _ in range(21):
            start = time.perf_counter()
            file.write(bytes(4096))
            file.flush()
            os.fsync(file.fileno())
            taken.append(time.perf_counter() - start)
    return sorted(taken)[10] * 1000


_IN_A_PROCESS = """
import json, sys, time
from pathlib import Path
sys.path[:0] = [{folder!r}]
import test_records_benchmark as run
def peak():  # not ru_maxrss: a new process on Linux takes over what the one that started it had in memory
    return next(int(line.split()[1]) for line in open("/proc/self/status") if line.startswith("VmHWM")) / 1024
run.verify(Path({small!r}))
before, wall, start = peak(), time.perf_counter(), time.process_time()
problems = run.verify(Path({path!r}))
wall, ours, grown = time.perf_counter() - wall, time.process_time() - start, peak() - before
start = time.process_time()
count = run.bare(Path({path!r}))
print(json.dumps([len(problems), count, wall, ours, time.process_time() - start, grown]))
"""


@pytest.mark.parametrize("facts", [100_000, pytest.param(1_000_000, marks=pytest.mark.long)])
def test_checking_the_chain(tmp_path, capsys, facts):
    """At most 3 times the processor's time of bare reading and hashing; memory grows by less than 32 MB at any length.

    The limit that matters in use, 15 seconds for a million facts on a quiet machine of this kind, is printed and not
    judged: a clock measures the neighbours too.
    """
    path, small = tmp_path / "ledger.db", tmp_path / "small.db"
    build(small, 2_000)
    start = time.perf_counter()
    expected = build(path, facts)
    built = time.perf_counter() - start
    script = _IN_A_PROCESS.format(folder=str(Path(__file__).parent), path=str(path), small=str(small))
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    problems, count, wall, ours, least, grown = json.loads(done.stdout)
    million = 1e6 / count
    with capsys.disabled():
        print(
            f"\n{count:,} facts checked: {ours / least:.2f} times bare reading and hashing; for a million "
            f"{ours * million:.1f} s of processor, {wall * million:.1f} s by the clock (limit in use 15); peak memory "
            f"{grown:.0f} MB more than before; built at {count / built:,.0f} facts a second, "
            f"where one synced page takes {fsync_cost(tmp_path):.2f} ms"
        )
    assert (problems, count) == (0, expected)
    assert ours / least <= 3
    assert grown < 32
