"""A disk that takes no more, or nothing at all: one clear sentence, and nothing half written (SQLite).

``max_page_count`` makes the library itself say SQLITE_FULL at any page wished (sqlite.org, pragma.html), so a unit is
cut off in many places. A file that may not be written is made with the system's own means: read-only for this user,
or, where this user may write anything, marked immutable, or on a small file system mounted read-only; where none of
them bites, the test says so.
"""

import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
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
    resource = pytest.importorskip("resource")
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


def read_only_by_rights(folder: Path) -> Callable[[], None] | None:
    """Take the right to write away; does not bind who may write anything."""
    for file in (*folder.iterdir(), folder):
        file.chmod(0o500 if file.is_dir() else 0o400)
    if os.access(folder / "practice.db", os.W_OK):
        folder.chmod(0o700)
        return None
    return lambda: [folder.chmod(0o700), *(file.chmod(0o600) for file in folder.iterdir())][0]


def read_only_by_mark(folder: Path) -> Callable[[], None] | None:
    """Mark folder and files immutable (chattr(1)), which binds everybody."""
    if shutil.which("chattr") is None:
        return None
    places = [*map(str, folder.iterdir()), str(folder)]
    marked = subprocess.run(["chattr", "+i", *places], capture_output=True, check=False).returncode == 0
    undo = ["chattr", "-i", *places[::-1]]
    if not marked:
        subprocess.run(undo, capture_output=True, check=False)
        return None
    return lambda: subprocess.run(undo, check=True, capture_output=True) and None


def read_only_by_mount(folder: Path) -> Callable[[], None] | None:
    """Mount the folder upon itself, read-only (mount(8))."""
    if shutil.which("mount") is None:
        return None
    place = str(folder)
    if subprocess.run(["mount", "--bind", place, place], capture_output=True, check=False).returncode:
        return None
    done = subprocess.run(["mount", "-o", "remount,bind,ro", place], capture_output=True, check=False)
    if done.returncode:
        subprocess.run(["umount", place], check=True, capture_output=True)
        return None
    return lambda: subprocess.run(["umount", place], check=True, capture_output=True) and None


@pytest.fixture
def read_only(tmp_path) -> Iterator[Path]:
    """A folder with a ledger in it that nobody here can write to."""
    folder = tmp_path / "practice"
    folder.mkdir()
    begun(folder / "practice.db").close()
    for make in (read_only_by_rights, read_only_by_mark, read_only_by_mount):
        undo = make(folder)
        if undo is not None:
            yield folder
            undo()
            return
    pytest.skip("this user can write anywhere, and nothing here can be made read-only")


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
