"""A fresh ledger for each test, on SQLite and on PostgreSQL.

PostgreSQL: the server named by TRACELABELS_TEST_POSTGRESQL (a URL of a user who may create schemas), else a private
one that is started here on a loopback port and thrown away. Without either the tests are left out, but never where CI
is set.
"""

import itertools
import os
import shutil
import socket
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from tracelabels.records import Ledger, open_ledger

sys.path.insert(0, str(Path(__file__).parent))  # records_scenario.py is shared by the tests of this folder

KEY = bytes(range(32))
_BEGIN = datetime(2027, 1, 4, 8, 0, tzinfo=UTC)


class Clock:
    """Steps one second each time it is asked."""

    def __init__(self) -> None:
        self.now = _BEGIN

    def __call__(self) -> datetime:
        self.now += timedelta(seconds=1)
        return self.now


@pytest.fixture
def clock() -> Clock:
    return Clock()


def _programs() -> Path | None:
    folders = sorted(Path("/usr/lib/postgresql").glob("*/bin"), key=lambda path: int(path.parent.name), reverse=True)
    if folders:
        return folders[0]
    found = shutil.which("initdb")
    return None if found is None else Path(found).parent


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def _as_plain_user(folder: Path) -> list[str]:
    """The server refuses to run as root; Debian's package brings a user for it."""
    if sys.platform == "win32" or os.geteuid() != 0:
        return []
    shutil.chown(folder, "postgres")
    return ["runuser", "-u", "postgres", "--"]


def _start(folder: Path, programs: Path) -> tuple[str, list[str]]:
    user, data, port = _as_plain_user(folder), folder / "data", _free_port()
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL, "cwd": folder}
    make = ["initdb", "-D", data, "-U", "tracelabels", "-A", "trust", "-E", "UTF8", "--locale=C", "--no-sync"]
    subprocess.run([*user, programs / make[0], *make[1:]], check=True, **quiet)
    options = f"-p {port} -k {folder} -c listen_addresses=127.0.0.1 -c max_connections=50 -c fsync=off"
    control = [*user, str(programs / "pg_ctl"), "-D", str(data), "-w"]
    subprocess.run([*control, "-o", options, "-l", str(folder / "log"), "start"], check=True, **quiet)
    return f"postgresql://tracelabels@127.0.0.1:{port}/postgres", control


@pytest.fixture(scope="session")
def postgresql_server() -> Iterator[str]:
    given = os.environ.get("TRACELABELS_TEST_POSTGRESQL")
    if given:
        yield given
        return
    folder = Path(tempfile.mkdtemp(prefix="tracelabels-postgresql-"))
    try:
        try:
            programs = _programs()
            if programs is None:
                message = "no PostgreSQL server is installed"
                raise FileNotFoundError(message)
            url, control = _start(folder, programs)
        except (OSError, LookupError, subprocess.SubprocessError) as error:
            if os.environ.get("CI") == "true":
                pytest.fail(f"PostgreSQL cannot be had: {error}")
            pytest.skip(f"PostgreSQL cannot be had: {error}")
        yield url
        subprocess.run([*control, "-m", "immediate", "stop"], check=True, stdout=subprocess.DEVNULL)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture(scope="session")
def new_database(postgresql_server: str) -> Iterator[Callable[[], str]]:
    """Makes one more empty schema, which is to the ledger what a database of its own is, and returns its URL."""
    import psycopg

    made: list[str] = []

    def make() -> str:
        made.append(f"tracelabels_test_{os.getpid()}_{len(made)}")
        with psycopg.connect(postgresql_server, autocommit=True) as connection:
            connection.execute(f"CREATE SCHEMA {made[-1]}")
        return f"{postgresql_server}?options=-csearch_path%3D{made[-1]}"

    yield make
    with psycopg.connect(postgresql_server, autocommit=True) as connection:
        for name in made:
            connection.execute(f"DROP SCHEMA {name} CASCADE")


@pytest.fixture(params=["sqlite", "postgresql"])
def new_location(request: pytest.FixtureRequest, tmp_path: Path) -> Callable[[], Path | str]:
    """Makes the place of one more empty ledger, on each kind of database in turn."""
    if request.param == "postgresql":
        made: Callable[[], str] = request.getfixturevalue("new_database")
        return made
    numbers = itertools.count(1)
    return lambda: tmp_path / f"ledger-{next(numbers)}.db"


@pytest.fixture
def location(new_location: Callable[[], Path | str]) -> Path | str:
    return new_location()


@pytest.fixture
def ledger(location: Path | str, clock: Clock) -> Iterator[Ledger]:
    with open_ledger(location, site=1, clock=clock, key=KEY) as opened:
        yield opened


@pytest.fixture
def sqlite_path(tmp_path: Path) -> Path:
    return tmp_path / "practice.db"
