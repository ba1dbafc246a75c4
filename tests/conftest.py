"""What all tests share: what a missing part means, snapshots, and a PostgreSQL server.

A part that a test needs and that is not at hand (a library, a service, data beside the project) is a plain
``pytest.skip``; in continuous integration every such skip under tests/ is a failure, of a whole module too. Only what
``skipif`` itself leaves out (on another platform) may be left out.

PostgreSQL: the server named by TRACELABELS_TEST_POSTGRESQL (a URL of a user who may create schemas), else a private
one that is started here on a loopback port and thrown away.
"""

import os
import shutil
import socket
import subprocess
import sys
import tempfile
from collections.abc import Callable, Generator, Iterator
from pathlib import Path

import pytest

IS_CI = os.environ.get("CI", "") not in {"", "0", "false"}


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--rewrite-snapshots", action="store_true", help="write tests/snapshots anew instead of comparing with it"
    )


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item) -> Generator[None, pytest.TestReport, pytest.TestReport]:
    report = yield
    if IS_CI and report.skipped and not _is_for_another_platform(item, report):
        report.outcome, report.longrepr = "failed", _as_failure(report.longreprtext)
    return report


def _is_for_another_platform(item: pytest.Item, report: pytest.TestReport) -> bool:
    """Whether a ``skipif`` left the test out, and not a missing part that a test with ``skipif`` needs as well."""
    said = {f"Skipped: {mark.kwargs.get('reason')}" for mark in item.iter_markers("skipif")}
    return isinstance(report.longrepr, tuple) and report.longrepr[2] in said


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report() -> Generator[None, pytest.CollectReport, pytest.CollectReport]:
    report = yield
    if IS_CI and report.outcome == "skipped":
        report.outcome, report.longrepr = "failed", _as_failure(report.longreprtext)
    return report


def _as_failure(skipped: str) -> str:
    return f"{skipped}\nwith CI={os.environ['CI']} a missing part fails instead of skipping"


@pytest.fixture
def matches_snapshot(request: pytest.FixtureRequest):
    """Return a function that compares a text with a file under tests/snapshots, or writes the file anew if asked to."""

    def compare(text: str, name: str) -> None:
        path = Path(__file__).parent / "snapshots" / name
        if request.config.getoption("--rewrite-snapshots"):
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8")
        assert text == path.read_text(encoding="utf-8"), f"{name} differs; look at it, then use --rewrite-snapshots"

    return compare


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
