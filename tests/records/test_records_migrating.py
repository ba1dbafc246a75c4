"""Ledgers of every released revision come forward with every row, every digest and every link.

``tests/vectors/ledger_revision_NNNN.sql`` is a ledger that the release with that revision wrote with its own code: the
morning of records_scenario.py, one correction, one retraction, one erasure; dumped as SQL, its end on line one. When a
revision is released, such a file is made for it before the next one is begun.
"""

import re
from contextlib import closing
from importlib.resources import files
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from records_scenario import KEY, Clock, raw_engine
from sqlalchemy import Engine, MetaData, insert, select, text
from sqlalchemy.exc import DBAPIError

from tracelabels.records import Head, open_ledger
from tracelabels.records.engine import Store, location_url, sqlite_driver
from tracelabels.records.migrating import migrate, revision_of
from tracelabels.records.schema import REVISION, metadata

VECTORS = Path(__file__).parents[1] / "vectors"
KEYS_APART = {"alembic_version"}


def older_revisions() -> list[str]:
    config = Config()
    config.set_main_option("script_location", str(files("tracelabels.records").joinpath("migrations")))
    return sorted(one.revision for one in ScriptDirectory.from_config(config).walk_revisions() if not one.is_head)


def rows_of(engine: Engine) -> dict[str, list[dict]]:
    """Every row of every table that is there, by the columns that are there."""
    found = MetaData()
    found.reflect(engine)
    with engine.connect() as raw:
        return {
            name: [dict(row) for row in raw.execute(select(table).order_by(*table.primary_key.columns)).mappings()]
            for name, table in found.tables.items()
            if name not in KEYS_APART
        }


def vector(revision: str) -> tuple[str, Head]:
    file = VECTORS / f"ledger_revision_{revision}.sql"
    assert file.exists(), f"no ledger of revision {revision}: let its own release write one and dump it, see above"
    dump = file.read_text(encoding="utf-8")
    end = re.search(r"Its end: (\d+) ([0-9a-f]{64})$", dump.splitlines()[0])
    assert end is not None
    return dump, Head(site=1, sequence=int(end[1]), link=bytes.fromhex(end[2]))


@pytest.fixture(params=older_revisions())
def old(request, location, tmp_path) -> tuple[Path | str, Head, dict[str, list[dict]]]:
    """A database as the old release left it; on PostgreSQL made by the old steps, and filled with the same rows."""
    dump, head = vector(request.param)
    file = tmp_path / "old.db" if isinstance(location, str) else location
    with closing(sqlite_driver().connect(file)) as raw:
        raw.executescript(dump)
    engine = raw_engine(file)
    rows = rows_of(engine)
    engine.dispose()
    if isinstance(location, str):
        store = Store(location_url(location))
        with store.write() as connection:
            migrate(connection, to=request.param)
            there = MetaData()
            there.reflect(connection)
            for name in sorted(rows, key=lambda one: one != "fact"):
                if rows[name]:
                    connection.execute(insert(there.tables[name]), rows[name])
        with store.read() as connection:
            assert revision_of(connection) == request.param
        store.close()
    return location, head, rows


def test_every_row_comes_forward_and_every_link_holds(old):
    location, head, before = old
    assert sum(map(len, before.values())) > 50
    with open_ledger(location, site=1, clock=Clock(), key=KEY) as ledger:
        assert ledger.heads() == (head,)
        assert ledger.verify(heads=[head]) == []
        with ledger.read() as found:
            assert found.find_bottle("010000012").value.batch == "R-2292"
            assert found.find_tube("010000055") is None
            assert found.find_staff("staff-1").value.name is None
            assert found.find_staff("staff-2").value.name == "Isolde Marram"
    engine = raw_engine(location)
    after = rows_of(engine)
    engine.dispose()
    for name, rows in before.items():
        assert [
            {column: row[column] for column in old_row} for row, old_row in zip(after[name], rows, strict=True)
        ] == rows
        assert [row for row, old_row in zip(after[name], rows, strict=True) if any_new(row, old_row)] == []
    assert [name for name in after if name not in before and after[name]] == []


def any_new(row: dict, old_row: dict) -> bool:
    return any(value is not None for column, value in row.items() if column not in old_row)


def test_what_came_forward_is_as_good_as_new(old, new_location):
    """The same tables and triggers as in a fresh ledger; it can be written on; facts are refused changes."""
    location, head, before = old
    fresh = new_location()
    with open_ledger(fresh, site=1, clock=Clock(), key=KEY):
        pass
    with open_ledger(location, site=1, clock=Clock(), key=KEY) as ledger:
        with ledger.write(by="s") as unit:
            unit.next_serials(3)
        assert ledger.heads()[0].sequence == head.sequence + 1
        assert ledger.verify(heads=[head]) == []
    one, other = raw_engine(location), raw_engine(fresh)
    assert triggers(one) == triggers(other) != set()
    with one.connect() as raw:
        assert revision_of(raw) == REVISION
        differences = compare_metadata(MigrationContext.configure(raw, opts={"compare_type": True}), metadata)
        assert [each for each in differences if "trigger" not in str(each)] == []
    for name in (name for name, rows in before.items() if rows):
        column = metadata.tables[name].primary_key.columns.keys()[0]
        with pytest.raises(DBAPIError, match="facts are appended, never"), one.begin() as raw:
            raw.execute(text(f"UPDATE {name} SET {column} = {column}"))  # noqa: S608  names from the schema
    one.dispose()
    other.dispose()


def triggers(engine: Engine) -> set[tuple[str, ...]]:
    query = {
        "sqlite": "SELECT tbl_name, name, sql FROM sqlite_master WHERE type = 'trigger'",
        "postgresql": "SELECT event_object_table, trigger_name, event_manipulation, action_statement "
        "FROM information_schema.triggers WHERE trigger_schema = current_schema()",
    }[engine.dialect.name]
    with engine.connect() as raw:
        return {tuple(row) for row in raw.execute(text(query))}
