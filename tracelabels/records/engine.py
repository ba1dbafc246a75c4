"""Opening the database: which driver, which settings, who writes when.

SQLite: write-ahead log, ``synchronous=FULL``, foreign keys, a waiting time, ``BEGIN IMMEDIATE`` for writers. SQLite
3.7.0 to 3.51.2 (without 3.50.7 and 3.44.6) can lose commits in a rare race of the write-ahead log; there the rollback
journal with ``synchronous=EXTRA`` is used instead. PostgreSQL: one advisory lock for all writers of a database, so that
the end of a chain is read under the lock that adds to it.
"""

import time
from collections import deque
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from threading import Event, Lock
from types import ModuleType
from typing import Any, Final

from sqlalchemy import URL, Connection, Engine, create_engine, event, make_url, text
from sqlalchemy.exc import DBAPIError, NoSuchModuleError, SQLAlchemyError

from tracelabels.errors import LedgerError

BUSY_SECONDS: Final = 30
_WRITERS_LOCK: Final = 0x7472_6163_656C_6162
"""Number of the advisory lock of writers on PostgreSQL (any fixed number; these are letters of the package's name)."""
_BEGIN_WRITING: Final = "SELECT set_config('enable_seqscan', 'off', true), pg_advisory_xact_lock(:number)"
"""A plan made while a table is nearly empty would read all of it for every later row of a long run."""
_CACHE_KIB: Final = 16_384
_FIXED: Final = (3, 51, 3)
_FIXED_BRANCHES: Final = {(3, 50): 7, (3, 44): 6}
_FIRST_WITH_LOG: Final = (3, 7, 0)
_BUSY_CODES: Final = frozenset({5, 6})
"""SQLITE_BUSY, SQLITE_LOCKED; the last eight bits of an extended code are the primary (sqlite.org, rescode.html)."""


def is_log_safe(version: tuple[int, int, int]) -> bool:
    """Say whether this SQLite version is free of the race in the write-ahead log.

    Source: sqlite.org, wal.html, "The WAL-reset bug": 3.7.0 to 3.51.2, repaired in 3.51.3, 3.50.7 and 3.44.6.

    >>> is_log_safe((3, 40, 1)), is_log_safe((3, 50, 7)), is_log_safe((3, 53, 4))
    (False, True, True)
    """
    branch = _FIXED_BRANCHES.get(version[:2])
    if branch is not None and version[2] >= branch:
        return True
    return version >= _FIXED or version < _FIRST_WITH_LOG


def sqlite_driver() -> ModuleType:
    """Return the module that brings the newer SQLite: ``pysqlite3`` where it is installed, else Python's own."""
    try:
        from pysqlite3 import dbapi2  # noqa: PLC0415  only some machines have it
    except ImportError:
        import sqlite3  # noqa: PLC0415  the fallback

        return sqlite3
    return dbapi2  # type: ignore[no-any-return]


class Turns:
    """A lock that is handed on in the order of asking, so that no writer of this process starves."""

    def __init__(self) -> None:
        """Start free."""
        self._lock = Lock()
        self._waiting: deque[Event] = deque()

    @contextmanager
    def turn(self) -> Iterator[None]:
        """Wait for the turn, and hand it on afterwards."""
        mine = Event()
        with self._lock:
            self._waiting.append(mine)
            if self._waiting[0] is mine:
                mine.set()
        try:
            mine.wait()
            yield
        finally:
            with self._lock:
                self._waiting.remove(mine)
                if self._waiting:
                    self._waiting[0].set()


class Store:
    """A database with units of reading and of writing."""

    def __init__(self, url: URL) -> None:
        """Prepare the connections; nothing is opened yet."""
        self._turns = Turns()
        self.is_sqlite = url.get_backend_name() == "sqlite"
        self.engine = _sqlite_engine(url) if self.is_sqlite else _server_engine(url)

    @contextmanager
    def write(self) -> Iterator[Connection]:
        """Give a connection inside one unit of writing, under the writers' lock; commit at the end, or undo all."""
        with self._turns.turn(), said_plainly(), self.engine.connect() as connection:
            unit = connection.execution_options(tracelabels_write=True)
            with unit.begin():
                if not self.is_sqlite:
                    unit.execute(text(_BEGIN_WRITING), {"number": _WRITERS_LOCK})
                yield unit

    @contextmanager
    def read(self) -> Iterator[Connection]:
        """Give a connection that sees one unchanging state of the database."""
        with said_plainly(), self.engine.connect() as connection:
            if not self.is_sqlite:
                connection.execution_options(isolation_level="REPEATABLE READ")
            with connection.begin():
                yield connection

    @contextmanager
    def read_damaged(self) -> Iterator[Connection]:
        """Read as :meth:`read` does, but take bytes that are no text for some text, so that damage can be named."""
        with self.read() as connection:
            raw: Any = connection.connection.driver_connection
            raw.text_factory = _any_bytes_as_text
            try:
                yield connection
            finally:
                raw.text_factory = str

    def scrub(self) -> None:
        """Leave nothing of deleted rows in the database's own files.

        On PostgreSQL archived write-ahead logs and backups are not reached.
        """
        with said_plainly():
            if self.is_sqlite:
                self._scrub_sqlite()
                return
            with self.engine.connect() as connection:
                free = connection.execution_options(isolation_level="AUTOCOMMIT")
                for table in ("sealed", "client_key"):
                    free.exec_driver_sql(f"VACUUM (FULL) {table}")

    def _scrub_sqlite(self) -> None:
        pooled = self.engine.raw_connection()
        try:
            raw = pooled.driver_connection
            if raw is not None:
                raw.execute("VACUUM")
                ((busy, *_),) = raw.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()
                if busy:
                    raise _log_not_emptied()
        except sqlite_driver().Error as error:
            if _is_busy(error):
                raise _log_not_emptied() from error
            raise
        finally:
            pooled.close()

    def close(self) -> None:
        """Close every connection."""
        self.engine.dispose()


def _log_not_emptied() -> LedgerError:
    return LedgerError(
        given="a ledger at which somebody else was at work all the while, so that its log could not be emptied",
        expected="nobody else at work for a moment",
        remedy="it is erased, but traces may stand in the log: close the other programs and erase once more",
    )


def location_url(location: Path | str) -> URL:
    """Return the database's URL; a path is an SQLite file.

    Raises:
        LedgerError: a URL of a database kind that is not supported, or that cannot be read.
    """
    if isinstance(location, Path) or "://" not in location:
        return URL.create("sqlite", database=str(location))
    try:
        url = make_url(location)
    except (SQLAlchemyError, ValueError) as error:
        raise _unknown_kind(given="database URL that cannot be read") from error
    if url.get_backend_name() == "postgresql":
        return url.set(drivername="postgresql+psycopg")
    if url.get_backend_name() == "sqlite" and url.database:
        return URL.create("sqlite", database=url.database)
    raise _unknown_kind(given=f"database URL of kind {url.drivername!r}")


def _unknown_kind(*, given: str) -> LedgerError:
    return LedgerError(
        given=given,
        expected="a path, or postgresql://user@host/database",
        remedy="correct [database] url in practice.toml",
    )


def _server_engine(url: URL) -> Engine:
    try:
        return create_engine(url, pool_pre_ping=True)
    except (ImportError, NoSuchModuleError) as error:
        raise LedgerError(
            given="a PostgreSQL database",
            expected="the PostgreSQL driver to be installed",
            remedy="install the package with its extra: tracelabels[postgresql]",
        ) from error


def _sqlite_engine(url: URL) -> Engine:
    driver = sqlite_driver()
    engine = create_engine(url, module=driver, connect_args={"timeout": BUSY_SECONDS})
    event.listen(engine, "connect", _sqlite_settings(is_log_safe(driver.sqlite_version_info)))
    event.listen(engine, "begin", _sqlite_begin)
    return engine


def _sqlite_settings(log_safe: bool) -> Callable[[Any, Any], None]:  # noqa: FBT001  an event's shape
    mode, synchronous = ("wal", "FULL") if log_safe else ("delete", "EXTRA")

    def connect(raw: Any, _record: Any) -> None:  # noqa: ANN401  the driver's own connection
        raw.isolation_level = None
        raw.execute(f"PRAGMA busy_timeout = {BUSY_SECONDS * 1000}")
        _set_journal(raw, mode)
        raw.execute(f"PRAGMA synchronous = {synchronous}")
        raw.execute("PRAGMA foreign_keys = ON")
        raw.execute("PRAGMA secure_delete = ON")
        raw.execute(f"PRAGMA cache_size = -{_CACHE_KIB}")

    return connect


def _set_journal(raw: Any, mode: str) -> None:  # noqa: ANN401  the driver's own connection
    """Set the journal mode; SQLite does not wait by itself while another process sets it too."""
    give_up = time.monotonic() + BUSY_SECONDS
    while True:
        try:
            if raw.execute("PRAGMA journal_mode").fetchone()[0] != mode:
                raw.execute(f"PRAGMA journal_mode = {mode}").fetchone()
        except sqlite_driver().OperationalError as error:
            if "locked" not in str(error) or time.monotonic() > give_up:
                raise
            time.sleep(0.01)
        else:
            return


def _sqlite_begin(connection: Connection) -> None:
    writes = connection.get_execution_options().get("tracelabels_write", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _any_bytes_as_text(stored: bytes) -> str:
    return stored.decode(errors="backslashreplace")


def is_undecodable(error: LedgerError) -> bool:
    """Say whether SQLite met bytes in a text that are no UTF-8: the file is damaged."""
    return isinstance(error.__cause__, DBAPIError) and "decode to UTF-8" in str(error.__cause__.orig)


def _is_busy(error: BaseException | None) -> bool:
    """Say whether SQLite waited for others in vain."""
    code = getattr(error, "sqlite_errorcode", None)
    return code is not None and code & 0xFF in _BUSY_CODES


@contextmanager
def said_plainly() -> Iterator[None]:
    """Turn an error of the database into one sentence.

    Raises:
        LedgerError: the database could not do it; nothing of the unit was saved.
    """
    try:
        yield
    except (DBAPIError, sqlite_driver().Error) as error:
        said = error.orig if isinstance(error, DBAPIError) else error
        if _is_busy(said):
            raise LedgerError(
                given=f"a ledger that others kept busy for {BUSY_SECONDS} seconds",
                expected="to come to one's turn to write",
                remedy="nothing was saved; ask again, and if it goes on, look which program is writing all the while",
            ) from error
        raise LedgerError(
            given=f"the database said {str(said).splitlines()[0]!r}",
            expected="a ledger that can be read and written",
            remedy="nothing was saved; see that the disk has room, the folder may be written and the server runs",
        ) from error
