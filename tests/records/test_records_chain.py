"""The chain: nobody changes it through the front door, and what is changed behind its back is found."""

# ruff: noqa: S608  table and column names come from the schema

import hashlib
import hmac
import shutil
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from records_life import record_life
from records_scenario import BEGIN, CHAINED, KEY, ROSEHIP, Clock, raw_engine, record_morning, switch_triggers_off
from sqlalchemy import inspect, text
from sqlalchemy.exc import DBAPIError

from tracelabels.errors import LedgerError
from tracelabels.records import Head, Ledger, ProblemKind, open_ledger
from tracelabels.records.chain import canonical, rows_digest
from tracelabels.records.engine import sqlite_driver
from tracelabels.records.schema import metadata

driver = sqlite_driver()
Raw = Any
TABLES = sorted(set(metadata.tables) - {"client_key", "sealed"})


@pytest.fixture
def filled(location, clock) -> Path | str:
    with open_ledger(location, site=1, clock=clock, key=KEY) as ledger:
        with ledger.write(by="staff-1") as unit:
            record_morning(unit)
            record_life(unit, BEGIN)
        with ledger.read() as found:
            member = found.find_staff("staff-1").thing
        ledger.erase(member, by="staff-1", reason="left")
        with ledger.write(by="staff-1") as unit:
            tube = unit.find_tube("010000055")
            unit.retract(tube.thing, reason="never made")
    return location


def problems(location: Path | str, clock, **options: object) -> list[tuple[ProblemKind, str]]:
    with open_ledger(location, site=1, clock=clock, key=KEY) as ledger:
        return [(one.kind, str(one.at)) for one in ledger.verify(**options)]


def test_the_database_refuses_to_change_or_delete_facts(filled, clock):
    engine = raw_engine(filled)
    tried = []
    for table in TABLES:
        column = metadata.tables[table].primary_key.columns.keys()[0]
        with engine.begin() as connection:
            if connection.execute(text(f"SELECT count(*) FROM {table}")).scalar_one() == 0:
                continue
        for statement in (f"UPDATE {table} SET {column} = {column}", f"DELETE FROM {table}"):
            with pytest.raises(DBAPIError, match="facts are appended, never"), engine.begin() as connection:
                connection.execute(text(statement))
        tried.append(table)
    engine.dispose()
    # one site alone sees no other's head
    assert tried == [name for name in TABLES if name != "head_seen"]
    assert problems(filled, clock) == []


def test_sealed_content_goes_only_with_a_recorded_erasure(location, clock):
    with open_ledger(location, site=1, clock=clock, key=KEY) as ledger, ledger.write(by="s") as unit:
        record_morning(unit)
    engine = raw_engine(location)
    with pytest.raises(DBAPIError, match="personal content goes only with a recorded erasure"), engine.begin() as raw:
        raw.execute(text("DELETE FROM sealed"))
    with pytest.raises(DBAPIError, match="facts are appended, never changed"), engine.begin() as raw:
        raw.execute(text("UPDATE sealed SET salt = content"))
    engine.dispose()


def test_a_clients_key_goes_only_with_a_recorded_erasure(filled):
    engine = raw_engine(filled)
    with pytest.raises(DBAPIError, match="personal content goes only with a recorded erasure"), engine.begin() as raw:
        raw.execute(text("DELETE FROM client_key"))
    with pytest.raises(DBAPIError, match="facts are appended, never changed"), engine.begin() as raw:
        raw.execute(text("UPDATE client_key SET sequence = sequence + 1"))
    engine.dispose()


def test_a_fact_cannot_be_put_in_out_of_order(filled):
    engine = raw_engine(filled)
    columns = ", ".join(column.name for column in metadata.tables["fact"].columns if column.name != "sequence")
    copied = f"INSERT INTO fact (sequence, {columns}) SELECT 999, {columns} FROM fact WHERE sequence = 1"
    with pytest.raises(DBAPIError, match="a fact must follow on the last one of its site"), engine.begin() as raw:
        raw.execute(text(copied))
    engine.dispose()


def test_postgresql_refuses_truncate(new_database, clock):
    url = new_database()
    with open_ledger(url, site=1, clock=clock, key=KEY):
        pass
    engine = raw_engine(url)
    with pytest.raises(DBAPIError, match="facts are appended, never changed"), engine.begin() as raw:
        raw.execute(text("TRUNCATE fact CASCADE"))
    engine.dispose()


@pytest.mark.parametrize("table", ["fact", "product", "taken_serial", "component", "ledger_key"])
def test_sqlite_replace_does_not_slip_past_the_triggers(sqlite_path, clock, table):
    """REPLACE deletes the old row without asking the delete trigger."""
    with open_ledger(sqlite_path, site=1, clock=clock, key=KEY) as ledger, ledger.write(by="s") as unit:
        record_morning(unit)
    with closing(driver.connect(sqlite_path)) as raw, pytest.raises(driver.IntegrityError, match="never changed"):
        raw.execute(f"REPLACE INTO {table} SELECT * FROM {table}")


# -- tampering behind the ledger's back (every kind of it, many times: test_records_tampering.py) ----------------------


@pytest.fixture(scope="module")
def template(tmp_path_factory) -> Path:
    path = tmp_path_factory.mktemp("tampering") / "ledger.db"
    with open_ledger(path, site=1, clock=Clock(), key=KEY) as ledger:
        with ledger.write(by="staff-1") as unit:
            record_morning(unit)
        with ledger.write(by="staff-1") as unit:
            unit.add_tubes([])
            unit.next_serials(2)
    raw = driver.connect(path)
    for (name,) in raw.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
        raw.execute(f"DROP TRIGGER {name}")
    raw.commit()
    raw.execute("PRAGMA journal_mode = DELETE")
    raw.close()
    return path


def test_postgresql_tampering_is_found(new_database, clock):
    url = new_database()
    with open_ledger(url, site=1, clock=clock, key=KEY) as ledger, ledger.write(by="s") as unit:
        record_morning(unit)
    engine = raw_engine(url)
    with engine.begin() as raw:
        switch_triggers_off(raw)
        raw.execute(text("UPDATE bottle SET batch = 'R-2292' WHERE batch = 'R-2291'"))
        raw.execute(text("UPDATE fact SET recorded_by = 'someone' WHERE sequence = 3"))
        raw.execute(text("DELETE FROM fact WHERE sequence = 8"))
    engine.dispose()
    assert problems(url, clock) == [
        (ProblemKind.CHANGED_FACT, "1-3"),
        (ProblemKind.CHANGED_CONTENT, "1-5"),
        (ProblemKind.MISSING_FACTS, "1-8"),
        (ProblemKind.CONTENT_WITHOUT_FACT, "1-8"),
    ]


def test_a_chain_cut_short_is_found_by_a_head_kept_elsewhere(template, tmp_path, clock):
    copy = tmp_path / "copy.db"
    shutil.copy(template, copy)
    with open_ledger(copy, site=1, clock=clock, key=KEY) as ledger, ledger.read() as found:
        head = found.head(1)
    assert problems(copy, clock, heads=[head]) == []
    with closing(driver.connect(copy)) as raw:
        for table in CHAINED:
            raw.execute(f"DELETE FROM {table} WHERE sequence = ?", [head.sequence])
        raw.commit()
    assert problems(copy, clock) == []
    assert problems(copy, clock, heads=[head]) == [(ProblemKind.HEAD_DIFFERS, f"1-{head.sequence}")]


def test_verify_names_the_fact_in_words_and_stops_at_the_limit(template, tmp_path, clock):
    copy = tmp_path / "copy.db"
    shutil.copy(template, copy)
    with closing(driver.connect(copy)) as raw:
        raw.execute("UPDATE fact SET recorded_by = 'nobody'")
        raw.commit()
    with open_ledger(copy, site=1, clock=clock, key=KEY) as ledger:
        assert len(ledger.verify(most=3)) == 3
        assert ledger.verify()[0].sentence == "fact 1-1: the fact is not what was recorded"


def test_another_key_is_refused_at_opening(template, clock):
    with pytest.raises(LedgerError, match="a key that is not this ledger's"):
        open_ledger(template, site=1, clock=clock, key=bytes(32))


def test_links_and_digests_are_what_the_words_say(sqlite_path, clock):
    """Computed again with nothing but the standard library, from the columns as SQLite holds them.

    Canonical JSON as in RFC 8785 (JSON Canonicalization Scheme), HMAC as in RFC 2104, SHA-256 as in FIPS 180-4.
    """
    with open_ledger(sqlite_path, site=1, clock=clock, key=KEY) as ledger, ledger.write(by="staff-1") as unit:
        unit.add_product(ROSEHIP)
    with closing(driver.connect(sqlite_path)) as raw:
        link, rows, recorded = raw.execute("SELECT link, rows_digest, recorded_at FROM fact").fetchone()
    content = (
        '{"product":[{"carrier":"water_based","gtin":"09501101530003","item_number":"RH-10","maker":"Mallow & Finch",'
        '"name":"Rosehip","resterilising_statement":"folder 3, page 2","swatch":"#b4655a"}]}'
    )
    assert rows == hashlib.sha256(content.encode()).digest()
    header = (
        f'{{"happened_at":"{recorded}","kind":"product","previous":"{"00" * 32}","recorded_at":"{recorded}",'
        f'"recorded_by":"staff-1","rows_digest":"{rows.hex()}","sequence":1,"site":1,"thing_sequence":1,"thing_site":1,'
        '"version":1}'
    )
    assert link == hmac.new(KEY, header.encode(), hashlib.sha256).digest()


def test_empty_is_not_nothing():
    assert rows_digest([("t", {"a": ""})]) != rows_digest([("t", {})])
    assert rows_digest([("t", {"a": None})]) == rows_digest([("t", {})])
    assert canonical({"b": 1, "a": "\N{LATIN SMALL LETTER E WITH ACUTE}\n"}) == b'{"a":"\xc3\xa9\\n","b":1}'


def test_an_empty_ledger_has_an_empty_head(ledger: Ledger):
    with ledger.read() as found:
        assert found.head(1) == Head(site=1, sequence=0, link=bytes(32))
    assert ledger.verify() == []


def test_every_table_is_covered(filled):
    """A new table must join the chain, or be named here with a reason."""
    engine = raw_engine(filled)
    names = set(inspect(engine).get_table_names())
    engine.dispose()
    # the schema's own step; the mark of the key; clients' keys, which go with their client
    outside = {"alembic_version", "ledger_key", "client_key"}
    assert names == outside | set(CHAINED)
