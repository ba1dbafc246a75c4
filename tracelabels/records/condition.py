"""In what condition the database works: which library, which journal, how many facts of which site."""

from dataclasses import dataclass
from typing import Final

from sqlalchemy import Connection, func, select

from tracelabels.records.schema import fact

_SYNCHRONOUS: Final = {0: "OFF", 1: "NORMAL", 2: "FULL", 3: "EXTRA"}
"""sqlite.org, pragma.html, "synchronous"."""
_LEAST: Final = {"wal": 2, "delete": 3}
"""What survives a power loss: the log synced at each commit; the rollback journal's removal synced too."""
_JOURNALS: Final = {"wal": "write-ahead log", "delete": "rollback journal"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Condition:
    """How the database of a ledger works, as it says itself."""

    library: str
    """The database library and its version."""
    journal: str
    """The journal in force, and how it is synced."""
    is_durable: bool
    """Whether what was acknowledged survives a loss of power, if the disk keeps what it says it has written."""
    facts: tuple[tuple[int, int], ...]
    """Site, and number of its facts."""


def condition_of(connection: Connection) -> Condition:
    """Ask the database in what condition it works."""
    counted = connection.execute(select(fact.c.site, func.count()).group_by(fact.c.site).order_by(fact.c.site))
    facts = tuple((site, count) for site, count in counted)
    asked = _ask_sqlite if connection.dialect.name == "sqlite" else _ask_server
    library, journal, durable = asked(connection)
    return Condition(library=library, journal=journal, is_durable=durable, facts=facts)


def _ask_sqlite(connection: Connection) -> tuple[str, str, bool]:
    version = connection.exec_driver_sql("SELECT sqlite_version()").scalar_one()
    mode = connection.exec_driver_sql("PRAGMA journal_mode").scalar_one()
    level = connection.exec_driver_sql("PRAGMA synchronous").scalar_one()
    journal = f"{_JOURNALS.get(mode, mode)} with synchronous {_SYNCHRONOUS.get(level, level)}"
    return f"SQLite {version}", journal, level >= _LEAST.get(mode, len(_SYNCHRONOUS))


def _ask_server(connection: Connection) -> tuple[str, str, bool]:
    version, synced, waits = (
        connection.exec_driver_sql(f"SHOW {name}").scalar_one()
        for name in ("server_version", "fsync", "synchronous_commit")
    )
    journal = f"the server's write-ahead log with fsync {synced}, synchronous_commit {waits}"
    return f"PostgreSQL {version}", journal, synced == "on" and waits != "off"
