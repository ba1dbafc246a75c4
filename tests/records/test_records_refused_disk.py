"""A disk that takes no more, or nothing at all: one clear sentence, and nothing half written (SQLite).

``max_page_count`` makes the library itself say SQLITE_FULL at any page wished (sqlite.org, pragma.html), so a unit is
cut off in many places. A file that may not be written is made with the system's own means: read-only by its rights,
which a user who may write anything goes without for that while.
"""

import ctypes
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from records_scenario import KEY, ROSEHIP, Clock

from tracelabels.custody import Tube
from tracelabels.errors import LedgerError
from tracelabels.records import Ledger, open_ledger

SAID = (
    "the database said {0!r}; expected a ledger that can be read and written; "
    "nothing was saved; see that the disk has room, the folder may be written and the server runs"
)


def begun(path: Path) -> Ledger:
    ledger = open_ledger(path, site=1, clock=Clock(), key=KEY)
    with ledger.write(by="s") as unit:
        unit.add_product(ROSEHIP)
    return ledger


def pages(ledger: Ledger) -> int:
    with ledger._store.read() as connection:
        return connection.exec_driver_sql("PRAGMA page_count").scalar_one()


@pytest.mark.parametrize("more", [0, 1, 2, 5, 17, 60, 150])
def test_a_disk_that_fills_up_in_the_middle_of_a_unit(sqlite_path, more):
    """The unit needs some 300 pages; it is cut off after so many."""
    with begun(sqlite_path) as ledger:
        room = pages(ledger) + more

        def fill(unit):
            unit._connection.exec_driver_sql(f"PRAGMA max_page_count = {room}")
            unit.add_tubes(Tube(serial=str(number)) for number in range(20_000))

        with pytest.raises(LedgerError) as refused, ledger.write(by="s") as unit:
            fill(unit)
        assert str(refused.value) == SAID.format("database or disk is full")
        assert ledger.heads()[0].sequence == 1
        assert ledger.verify() == []
        with ledger.write(by="s") as unit:
            unit._connection.exec_driver_sql("PRAGMA max_page_count = 1000000")
            unit.add_tubes([Tube(serial="1")])
        assert ledger.verify() == []


@contextmanager
def files_no_larger_than(size: int) -> Iterator[None]:
    """Let the system refuse every write beyond a size, to anybody (RLIMIT_FSIZE, setrlimit(2))."""
    import resource

    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such limit")
def test_a_write_that_the_system_refuses(sqlite_path):
    with begun(sqlite_path) as ledger:
        limit = files_no_larger_than(sqlite_path.with_name("practice.db-wal").stat().st_size + 50_000)
        with pytest.raises(LedgerError) as refused, limit, ledger.write(by="s") as unit:
            unit.add_tubes(Tube(serial=str(number)) for number in range(20_000))
        assert str(refused.value) in {SAID.format("disk I/O error"), SAID.format("database or disk is full")}
        assert ledger.heads()[0].sequence == 1
        assert ledger.verify() == []


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such limit")
def test_a_copy_for_which_there_is_no_room_is_not_left(sqlite_path, tmp_path):
    with begun(sqlite_path) as ledger:
        with pytest.raises(LedgerError, match="the database said"), files_no_larger_than(100_000):
            ledger.copy_to(tmp_path / "copy.sqlite")
        assert not (tmp_path / "copy.sqlite").exists()
        assert ledger.copy_to(tmp_path / "copy.sqlite").problems == ()


# -- a file that may not be written ----------------------------------------------------------------------------------


@contextmanager
def rights_that_bind_everybody() -> Iterator[None]:
    """Who may write whatever the rights say (root on Linux) goes without that for a while (capset(2))."""
    if not sys.platform.startswith("linux"):
        yield
        return
    libc = ctypes.CDLL(None, use_errno=True)
    header = (ctypes.c_uint32 * 2)(0x20080522, 0)  # the third version of the call, this thread
    held = (ctypes.c_uint32 * 6)()  # effective, permitted, inheritable: 32 bits of each, then 32 more
    assert libc.capget(header, held) == 0
    less = (ctypes.c_uint32 * 6)(*held)
    less[0] &= ~(1 << 1)  # CAP_DAC_OVERRIDE
    assert libc.capset(header, less) == 0
    try:
        yield
    finally:
        assert libc.capset(header, held) == 0


@pytest.fixture
def read_only(tmp_path) -> Iterator[Path]:
    """A folder with a ledger in it that nobody here can write to."""
    folder = tmp_path / "practice"
    folder.mkdir()
    begun(folder / "practice.db").close()
    for file in (*folder.iterdir(), folder):
        file.chmod(0o500 if file.is_dir() else 0o400)
    with rights_that_bind_everybody():
        with pytest.raises(PermissionError):
            (folder / "practice.db").open("ab")
        yield folder
    folder.chmod(0o700)


@pytest.mark.skipif(sys.platform == "win32", reason="rights of folders are others there")
def test_a_folder_that_may_not_be_written_gets_one_sentence(read_only):
    before = {file.name: file.read_bytes() for file in read_only.iterdir()}

    def write() -> None:
        with (
            open_ledger(read_only / "practice.db", site=1, clock=Clock(), key=KEY) as ledger,
            ledger.write(by="s") as unit,
        ):
            unit.add_tubes([Tube(serial="1")])

    with pytest.raises(LedgerError) as refused:
        write()
    said = str(refused.value)
    assert said in {
        SAID.format(why) for why in ("attempt to write a readonly database", "unable to open database file")
    }
    assert {file.name: file.read_bytes() for file in read_only.iterdir()} == before
