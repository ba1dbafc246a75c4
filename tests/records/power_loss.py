"""A disk that forgets: what lies on it after a loss of power, for an SQLite that writes through a shim.

The shim is a virtual file system of a second SQLite library (apsw's). It passes everything on and notes, in order,
each write, truncation, sync, new file and deletion of the database, its log and its journal; the test notes where a
unit was acknowledged. From such a list :func:`after_power_loss` builds what the disk may hold if the power goes at
any place in it:

- what a file held when it was last synced is there;
- what was written or cut off since is there wholly, not at all, or in parts of 512 bytes chosen by dice (torn and
  reordered writes);
- names: a deletion that was asked to be durable is; a new file is, once it was first synced (SQLite syncs the folder
  of a new journal or log then: unixSync, UNIXFILE_DIRSYNC, from memory); other changes of names are there up to one
  chosen by dice, in order. The database's own file is there from the beginning.

Not modelled: a disk that lies about syncs, bits that rot, the memory-mapped index of the log (it is lost and rebuilt).
"""

# ruff: noqa: ANN401  the libraries hand over what they like

import itertools
import random
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from enum import Enum, auto
from pathlib import Path
from typing import Any

import apsw
import apsw.ext

SECTOR = 512


class Did(Enum):
    WRITE = auto()
    TRUNCATE = auto()
    SYNC = auto()
    CREATE = auto()
    DELETE = auto()
    ACKNOWLEDGE = auto()


@dataclass(frozen=True, slots=True)
class Step:
    """One thing that happened."""

    did: Did
    name: str = ""
    at: int = 0
    """Where it was written; the new length; whether a deletion is durable; how far the chain was acknowledged."""
    data: bytes = b""


class Keep(Enum):
    """What is left of that which was not synced."""

    NOTHING = auto()
    EVERYTHING = auto()
    PARTS = auto()


# -- the shim --------------------------------------------------------------------------------------------------------


class _File(apsw.VFSFile):
    def __init__(self, name: Any, flags: list[int], steps: list[Step]) -> None:
        path = name.filename() if isinstance(name, apsw.URIFilename) else name
        is_new = not Path(path).exists()
        super().__init__("", name, flags)
        self._name, self._steps = Path(path).name, steps
        if is_new:
            steps.append(Step(Did.CREATE, self._name))

    def xWrite(self, data: bytes, offset: int) -> None:  # noqa: N802  the library's name
        super().xWrite(data, offset)
        self._steps.append(Step(Did.WRITE, self._name, offset, bytes(data)))

    def xTruncate(self, size: int) -> None:  # noqa: N802  as above
        super().xTruncate(size)
        self._steps.append(Step(Did.TRUNCATE, self._name, size))

    def xSync(self, flags: int) -> None:  # noqa: ARG002, N802  as above
        # The real disk is spared: what counts is that SQLite asked.
        self._steps.append(Step(Did.SYNC, self._name))


class _Disk(apsw.VFS):
    def __init__(self, name: str, steps: list[Step]) -> None:
        super().__init__(name, "")
        self._steps = steps

    def xOpen(self, name: Any, flags: list[int]) -> apsw.VFSFile:  # noqa: N802  as above
        return apsw.VFSFile("", name, flags) if name is None else _File(name, flags, self._steps)

    def xDelete(self, name: str, syncdir: bool) -> None:  # noqa: N802, FBT001  as above
        super().xDelete(name, syncdir)
        self._steps.append(Step(Did.DELETE, Path(name).name, int(syncdir)))


# -- enough of Python's database interface (PEP 249) over it for the ledger's own code --------------------------------


class Error(Exception): ...


class DatabaseError(Error): ...


class OperationalError(DatabaseError): ...


class IntegrityError(DatabaseError): ...


class _Cursor:
    arraysize = 100

    def __init__(self, connection: apsw.Connection, said: "Driver") -> None:
        self._connection, self._said = connection, said
        self.description: Any = None
        self.rowcount = -1
        self.lastrowid = 0
        self._rows: Iterator[Any] = iter(())

    def execute(self, sql: str, parameters: Sequence[Any] = ()) -> "_Cursor":
        sql = self._said.instead(sql)
        try:
            described = apsw.ext.query_info(self._connection, sql).description
            self._rows = iter(list(self._connection.execute(sql, tuple(parameters))))
        except apsw.ConstraintError as error:
            raise IntegrityError(str(error)) from error
        except apsw.Error as error:
            raise OperationalError(str(error)) from error
        self.description = tuple((one[0], None, None, None, None, None, None) for one in described) or None
        self.rowcount = self._connection.changes()
        return self

    def executemany(self, sql: str, several: Sequence[Sequence[Any]]) -> None:
        for parameters in several:
            self.execute(sql, parameters)

    def fetchone(self) -> Any:
        return next(self._rows, None)

    def fetchmany(self, size: int = 100) -> list[Any]:
        return list(itertools.islice(self._rows, size))

    def fetchall(self) -> list[Any]:
        return list(self._rows)

    def close(self) -> None:
        self._rows = iter(())


class _Connection:
    isolation_level: str | None = None

    def __init__(self, file: str, said: "Driver") -> None:
        self._connection = apsw.Connection(file, vfs=said.disk_name)
        self._said = said
        self.execute("PRAGMA wal_autocheckpoint = 60")  # so that a short history has checkpoints in it

    def cursor(self) -> _Cursor:
        return _Cursor(self._connection, self._said)

    def execute(self, sql: str, parameters: Sequence[Any] = ()) -> _Cursor:
        return self.cursor().execute(sql, parameters)

    def create_function(self, *_: Any, **__: Any) -> None: ...

    def commit(self) -> None:
        if self._connection.in_transaction:
            self.execute("COMMIT")

    def rollback(self) -> None:
        if self._connection.in_transaction:
            self.execute("ROLLBACK")

    def close(self) -> None:
        self._connection.close()


class Driver:
    """Stands where the ledger expects a module such as ``sqlite3``."""

    paramstyle = "qmark"
    threadsafety = 1
    apilevel = "2.0"
    Binary = bytes
    Error, DatabaseError, OperationalError, IntegrityError = Error, DatabaseError, OperationalError, IntegrityError
    sqlite_version = apsw.sqlite_lib_version()
    sqlite_version_info = tuple(int(part) for part in sqlite_version.split("."))

    def __init__(self, disk_name: str, *, synchronous: str | None) -> None:
        self.disk_name = disk_name
        self._synchronous = synchronous

    def instead(self, sql: str) -> str:
        """Weaken what the ledger asks for, if a test wants to see what then is lost."""
        if self._synchronous and sql.startswith("PRAGMA synchronous ="):
            return f"PRAGMA synchronous = {self._synchronous}"
        return sql

    def connect(self, file: str, **_: Any) -> _Connection:
        return _Connection(file, self)


@contextmanager
def watched_disk(*, synchronous: str | None = None) -> Iterator[tuple[Driver, list[Step]]]:
    """Give a driver whose files are watched, and the list of what happens to them."""
    steps: list[Step] = []
    name = f"watched-{id(steps)}"
    disk = _Disk(name, steps)
    try:
        yield Driver(name, synchronous=synchronous), steps
    finally:
        disk.unregister()


# -- the disk afterwards ---------------------------------------------------------------------------------------------


@dataclass(slots=True)
class _Stored:
    """One file, whatever name it has."""

    synced: bytearray = field(default_factory=bytearray)
    since: list[Step] = field(default_factory=list)

    def sync(self) -> None:
        for step in self.since:
            _apply(self.synced, step)
        self.since.clear()

    def left(self, keep: Keep, dice: random.Random) -> bytes:
        content = bytearray(self.synced)
        for step in self.since:
            for part in _parts(step):
                if keep is Keep.EVERYTHING or (keep is Keep.PARTS and dice.random() < 0.5):
                    _apply(content, part)
        return bytes(content)


def _apply(content: bytearray, step: Step) -> None:
    if step.did is Did.TRUNCATE:
        del content[step.at :]
        return
    if len(content) < step.at:
        content.extend(bytes(step.at - len(content)))
    content[step.at : step.at + len(step.data)] = step.data


def _parts(step: Step) -> Iterator[Step]:
    """Give a write in pieces that end where sectors end."""
    if step.did is Did.TRUNCATE:
        yield step
        return
    at, end = step.at, step.at + len(step.data)
    while at < end:
        until = min(end, (at // SECTOR + 1) * SECTOR)
        yield Step(Did.WRITE, step.name, at, step.data[at - step.at : until - step.at])
        at = until


class _Folder:
    """Names of files, as they are now and as they are for sure."""

    def __init__(self) -> None:
        self.now: dict[str, _Stored] = {}
        self.synced: dict[str, _Stored] = {}
        self.since: list[tuple[str, _Stored | None]] = []

    def change(self, name: str, stored: _Stored | None) -> None:
        self.since.append((name, stored))
        _rename(self.now, name, stored)

    def take(self, step: Step) -> None:
        if step.did is Did.CREATE:
            self.change(step.name, _Stored())
            if not step.name.endswith(("-wal", "-journal")):
                self.sync()
        elif step.did is Did.DELETE:
            self.change(step.name, None)
            if step.at:
                self.sync()
        elif step.did is Did.SYNC:
            self.now[step.name].sync()
            if self.synced.get(step.name) is not self.now[step.name]:
                self.sync()
        else:
            self.now[step.name].since.append(step)

    def sync(self) -> None:
        self.synced = dict(self.now)
        self.since.clear()

    def left(self, keep: Keep, dice: random.Random) -> dict[str, _Stored]:
        count = {Keep.NOTHING: 0, Keep.EVERYTHING: len(self.since)}.get(keep, dice.randint(0, len(self.since)))
        names = dict(self.synced)
        for name, stored in self.since[:count]:
            _rename(names, name, stored)
        return names


def _rename(names: dict[str, _Stored], name: str, stored: _Stored | None) -> None:
    if stored is None:
        names.pop(name, None)
    else:
        names[name] = stored


def after_power_loss(
    steps: Sequence[Step], cut: int, *, keep: Keep, dice: random.Random
) -> tuple[dict[str, bytes], int]:
    """Return the files that are left if the power goes after so many steps, and how far was acknowledged until then."""
    folder, acknowledged = _Folder(), 0
    for step in steps[:cut]:
        if step.did is Did.ACKNOWLEDGE:
            acknowledged = step.at
        else:
            folder.take(step)
    return {name: stored.left(keep, dice) for name, stored in folder.left(keep, dice).items()}, acknowledged
