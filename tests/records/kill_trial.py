"""Writers killed at random moments (SIGKILL), as a process of its own: ``kill_trial.py FOLDER KILLS SEED [early]``.

Two writers at a time append to one ledger and say on a pipe how far the chain reached after each commit. Both are
killed: most while they write, some while they open the ledger or set it up. After each pair of kills the file is opened
as the next start would: nothing that was said may be missing, every link must hold, the library must find no damage.
Writers are forked from here, so that a kill costs no start of an interpreter. Prints one JSON object.

With ``early`` a writer speaks before it commits, which must show as losses. A killed process loses nothing that the
system already has: this says nothing about a loss of power (power_loss.py does).
"""

import itertools
import json
import os
import random
import select
import signal
import sys
import time
from dataclasses import asdict, dataclass, field
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import NullPool, create_engine

from tracelabels.custody import Tube
from tracelabels.records import open_ledger
from tracelabels.records.chain import head_of
from tracelabels.records.engine import sqlite_driver
from tracelabels.records.migrating import revision_of
from tracelabels.records.walking import verify_all

KEY = bytes(range(32))
ROUNDS_A_LEDGER = 15
WRITERS = 2


@dataclass(slots=True)
class Count:
    kills: int = 0
    while_opening: int = 0
    acknowledged: int = 0
    unacknowledged: int = 0
    lost: int = 0
    faults: list[str] = field(default_factory=list)


def write_until_killed(path: Path, tell: int, seed: int, early: bool) -> None:  # noqa: FBT001  its only caller is below
    dice = random.Random(seed)  # noqa: S311  dice, no secret
    with open_ledger(path, site=1, clock=lambda: datetime.now(UTC), key=KEY) as ledger:
        for number in itertools.count():
            name = f"{seed}-{number}"  # recorded as who wrote it, so that a unit is known for certain
            with ledger.write(by=name) as unit:
                serials = unit.next_serials(dice.randint(1, 40))
                unit.add_tubes(Tube(serial=serial) for serial in serials)
                if early:
                    os.write(tell, f"{name}\n".encode())
            if not early:
                os.write(tell, f"{name}\n".encode())


def start(path: Path, seed: int, early: bool) -> tuple[int, int]:  # noqa: FBT001  as above
    listen, tell = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(listen)
        try:
            write_until_killed(path, tell, seed, early)
        finally:
            os._exit(3)
    os.close(tell)
    return child, listen


def drain(listen: int) -> list[str]:
    """Return what was said wholly before the kill."""
    said = b""
    while block := os.read(listen, 65_536):
        said += block
    os.close(listen)
    return said.decode().split("\n")[:-1]


def one_round(path: Path, dice: random.Random, count: Count, early: bool) -> list[str]:  # noqa: FBT001  as above
    writers = [start(path, dice.randrange(1 << 30), early) for _ in range(WRITERS)]
    while_opening = dice.random() < 0.2
    if not while_opening:
        select.select([listen for _, listen in writers], [], [], 30)
    acknowledged = []
    for child, listen in writers:
        time.sleep(dice.uniform(0, 0.05))
        os.kill(child, signal.SIGKILL)
        _, status = os.waitpid(child, 0)
        if not (os.WIFSIGNALED(status) and os.WTERMSIG(status) == signal.SIGKILL):
            count.faults.append(f"a writer ended by itself: {status}")
        acknowledged += drain(listen)
        count.kills += 1
        count.while_opening += while_opening
    return acknowledged


def check(path: Path, acknowledged: list[str], count: Count) -> None:
    driver = sqlite_driver()
    engine = create_engine(
        "sqlite://", module=driver, creator=lambda: driver.connect(path, timeout=30), poolclass=NullPool
    )
    with engine.connect() as connection:
        found = connection.exec_driver_sql("PRAGMA quick_check").scalars().all()
        if found != ["ok"]:
            count.faults.append(f"quick_check: {found}")
        if revision_of(connection) is None:
            count.lost = len(acknowledged)
            return
        count.faults += [problem.sentence for problem in verify_all(connection, KEY, ())]
        kept = set(connection.exec_driver_sql("SELECT recorded_by FROM fact").scalars())
        count.lost = sum(1 for name in acknowledged if name not in kept)
        count.acknowledged = len(acknowledged)
        count.unacknowledged = len(kept) - len(acknowledged) + count.lost
        tubes = connection.exec_driver_sql("SELECT count(*) FROM tube").scalar_one()
        taken = connection.exec_driver_sql("SELECT coalesce(sum(last - first + 1), 0) FROM numbers_taken").scalar_one()
        if taken != tubes or head_of(connection, 1).sequence != len(kept) + tubes:
            count.faults.append("a unit was kept in part")


def main(folder: Path, kills: int, seed: int, *, early: bool) -> Count:
    dice = random.Random(seed)  # noqa: S311  dice, no secret
    whole = Count()
    ledger = 0
    while whole.kills < kills:
        ledger += 1
        path, count, said = folder / f"ledger-{ledger}.db", Count(), []
        for _ in range(min(ROUNDS_A_LEDGER, -(-(kills - whole.kills) // WRITERS))):
            said += one_round(path, dice, count, early)
            if path.exists():
                check(path, said, count)
        for name, value in asdict(count).items():
            setattr(whole, name, getattr(whole, name) + value)
    return whole


if __name__ == "__main__":
    done = main(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3]), early=sys.argv[4:] == ["early"])
    sys.stdout.write(json.dumps(asdict(done)))
