"""Statements by which a database refuses changes of facts and rows; used by migrations that add tables.

The functions behind the triggers on PostgreSQL are made by the first migration.
"""

from collections.abc import Iterator, Sequence
from typing import Final

CHANGED: Final = "facts are appended, never changed"
DELETED: Final = "facts are appended, never deleted"
NOT_ERASED: Final = "personal content goes only with a recorded erasure"


def refusing(dialect: str, table: str, *, key: Sequence[str], unique: Sequence[str] = ()) -> Iterator[str]:
    """Give the statements that make a table append-only.

    Args:
        dialect: ``sqlite`` or ``postgresql``.
        table: its name.
        key: the columns of its primary key.
        unique: the columns of a further unique index, if there is one.
    """
    if dialect == "sqlite":
        yield from _sqlite(table, key, unique)
        return
    yield _postgresql(table, "changed", "UPDATE OR DELETE", "ROW", "tracelabels_refuse")
    yield _postgresql(table, "emptied", "TRUNCATE", "STATEMENT", "tracelabels_refuse")


def refusing_unless_erased(dialect: str, table: str) -> Iterator[str]:
    """Give the statements by which rows of a table are never changed, and go only after a recorded erasure."""
    if dialect == "sqlite":
        yield _trigger(table, "changed", "UPDATE", "", CHANGED)
        known = "SELECT 1 FROM erasure WHERE erased_site = OLD.site AND erased_sequence = OLD.sequence"
        yield _trigger(table, "deleted", "DELETE", f"WHEN NOT EXISTS ({known})", NOT_ERASED)
        yield _trigger(table, "replaced", "INSERT", f"WHEN EXISTS ({_same(table, ['site', 'sequence'])})", CHANGED)
        return
    yield _postgresql(table, "changed", "UPDATE", "ROW", "tracelabels_refuse")
    yield _postgresql(table, "emptied", "TRUNCATE", "STATEMENT", "tracelabels_refuse")
    yield _postgresql(table, "deleted", "DELETE", "ROW", "tracelabels_refuse_unless_erased")


def _sqlite(table: str, key: Sequence[str], unique: Sequence[str]) -> Iterator[str]:
    """SQLite's REPLACE deletes without asking the delete trigger, so an insert over an old row is refused too."""
    yield _trigger(table, "changed", "UPDATE", "", CHANGED)
    yield _trigger(table, "deleted", "DELETE", "", DELETED)
    over = f"EXISTS ({_same(table, key)})" + (f" OR EXISTS ({_same(table, unique)})" if unique else "")
    yield _trigger(table, "replaced", "INSERT", f"WHEN {over}", CHANGED)


def _same(table: str, columns: Sequence[str]) -> str:
    same = " AND ".join(f"old.{name} = NEW.{name}" for name in columns)
    return f"SELECT 1 FROM {table} AS old WHERE {same}"  # noqa: S608  names from the schema


def _trigger(table: str, name: str, action: str, when: str, message: str) -> str:
    return (
        f"CREATE TRIGGER {table}_never_{name} BEFORE {action} ON {table} FOR EACH ROW {when} "
        f"BEGIN SELECT RAISE(ABORT, '{message}'); END"
    )


def _postgresql(table: str, name: str, actions: str, level: str, function: str) -> str:
    when = f"BEFORE {actions} ON {table} FOR EACH {level}"
    return f"CREATE TRIGGER {table}_never_{name} {when} EXECUTE FUNCTION {function}()"
