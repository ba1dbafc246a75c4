"""A consistent copy of a ledger while others write: one SQLite file, checked; and such a copy into an empty database.

SQLite: ``VACUUM INTO``, one step inside one reading transaction; it copies what is there and nothing that was deleted.
PostgreSQL: one ``REPEATABLE READ`` transaction is read into a fresh SQLite ledger of the same revision. So there is one
kind of copy, and one way back.
"""

import os
from collections.abc import Iterable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Any, Final

from sqlalchemy import URL, Connection, Table, create_engine, insert, select

from tracelabels.errors import LedgerError
from tracelabels.records.chain import STREAMED, head_of, sites_of
from tracelabels.records.engine import Store, location_url, said_plainly, sqlite_driver
from tracelabels.records.facts import Head, Problem
from tracelabels.records.migrating import migrate, revision_of
from tracelabels.records.reviving import KEY_TABLES
from tracelabels.records.schema import CONTENT_TABLES, fact, ledger_key, sealed
from tracelabels.records.walking import verify_all

_MOST_PROBLEMS: Final = 100


@dataclass(frozen=True, slots=True, kw_only=True)
class CopyDone:
    """A copy of a ledger, and what its check found."""

    heads: tuple[Head, ...]
    """How far each chain reaches in the copy."""
    problems: tuple[Problem, ...]
    """What is wrong with the chains: the copy is true to the ledger, so it is wrong there too."""


def copy_ledger(store: Store, target: Path, *, key: bytes, without: Iterable[Table] = KEY_TABLES) -> CopyDone:
    """Copy a ledger into a new SQLite file, check the copy, and see it safely on the disk.

    Args:
        store: the ledger's database; others may write meanwhile.
        target: where nothing lies yet.
        key: the practice's key.
        without: tables whose rows are left out.

    Raises:
        LedgerError: the copy cannot be made, or the file is damaged; no copy is left.
    """
    if target.exists():
        raise LedgerError(given=f"a copy to {target.name}", expected="a new name", remedy="choose another name")
    try:
        with said_plainly():
            if store.is_sqlite:
                _vacuum_into(store, target)
            else:
                _copy_from_server(store, target)
            _leave_out(target, tuple(without))
            done = _check(target, key)
        _sync(target)
    except BaseException:
        target.unlink(missing_ok=True)
        raise
    return done


def fill_from_copy(copy: Path, location: Path | str) -> None:
    """Put a copy into an empty database, which may be of the other kind.

    Args:
        copy: left by :func:`copy_ledger`.
        location: a file for SQLite, or ``postgresql://user@host/database``.

    Raises:
        LedgerError: the database is not empty.
    """
    _bring_up_to_date(copy)
    store = Store(location_url(location))
    try:
        with _plainly_opened(copy) as source, store.write() as target:
            _require_unused(target)
            migrate(target)
            copy_rows(source, target)
    finally:
        store.close()


def _bring_up_to_date(copy: Path) -> None:
    store = Store(location_url(copy))
    try:
        with store.write() as connection:
            migrate(connection)
    finally:
        store.close()


def _require_unused(target: Connection) -> None:
    if revision_of(target) is not None:
        raise LedgerError(
            given="a database that holds a ledger already",
            expected="an empty one to restore into",
            remedy="make a new database and name it",
        )


def copy_rows(source: Connection, target: Connection) -> None:
    """Copy every row of a ledger, facts first and in their order, in constant memory."""
    for table in (fact, *CONTENT_TABLES, sealed, ledger_key):
        _copy_table(source, target, table)


def _copy_table(source: Connection, target: Connection, table: Table) -> None:
    query = select(table).order_by(*table.primary_key.columns)
    with source.execute(query, execution_options=STREAMED) as result:
        for rows in result.mappings().partitions():
            target.execute(insert(table), [dict(row) for row in rows])


def _vacuum_into(store: Store, target: Path) -> None:
    pooled = store.engine.raw_connection()
    try:
        raw: Any = pooled.driver_connection
        raw.execute("VACUUM INTO ?", [str(target)])
    finally:
        pooled.close()


def _copy_from_server(store: Store, target: Path) -> None:
    fresh = Store(URL.create("sqlite", database=str(target)))
    try:
        with store.read() as source, fresh.write() as here:
            migrate(here)
            copy_rows(source, here)
    finally:
        fresh.close()
    with closing(sqlite_driver().connect(target)) as raw:
        raw.execute("PRAGMA journal_mode = DELETE")  # one file, without its log beside it


def _leave_out(target: Path, tables: tuple[Table, ...]) -> None:
    """Take rows out of a copy, past the triggers that would refuse it, and all traces of them."""
    if not tables:
        return
    with closing(sqlite_driver().connect(target, isolation_level=None)) as raw:
        for pragma in ("secure_delete = ON", "journal_mode = MEMORY", "synchronous = OFF"):  # the copy is synced whole
            raw.execute(f"PRAGMA {pragma}")
        left_out = 0
        query = "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' AND tbl_name = ?"
        for table in tables:
            triggers = raw.execute(query, [table.name]).fetchall()
            for name, _ in triggers:
                raw.execute(f"DROP TRIGGER {name}")
            left_out += raw.execute(f"DELETE FROM {table.name}").rowcount  # noqa: S608  names from this package
            for _, made_by in triggers:
                raw.execute(made_by)
        if left_out:
            raw.execute("VACUUM")


@contextmanager
def _plainly_opened(copy: Path) -> Iterator[Connection]:
    """Open a copy without the settings of a working ledger, so that reading leaves it as it is."""
    engine = create_engine(URL.create("sqlite", database=str(copy)), module=sqlite_driver())
    try:
        with engine.connect() as connection:
            yield connection
    finally:
        engine.dispose()


def _check(copy: Path, key: bytes) -> CopyDone:
    with _plainly_opened(copy) as connection:
        found = connection.exec_driver_sql("PRAGMA integrity_check").scalars().all()
        if found != ["ok"]:
            raise LedgerError(
                given=f"a copy in which the database library found {str(found[0]).splitlines()[0]!r}",
                expected="a file without damage",
                remedy="run verify on the ledger itself, check the disk, and restore the newest sound backup",
            )
        heads = tuple(head_of(connection, site) for site in sites_of(connection))
        with closing(verify_all(connection, key, ())) as problems:
            return CopyDone(heads=heads, problems=tuple(islice(problems, _MOST_PROBLEMS)))


def _sync(file: Path) -> None:
    with file.open("rb+") as opened:
        os.fsync(opened.fileno())
