"""Tampering behind the ledger's back, by somebody who may write to the database: found each time.

Triggers and foreign keys are off, as they are for whoever opens the file with another program. Each attempt is made in
a transaction, the walk reads it there, and it is undone: 150 attempts of each kind on SQLite, 25 on PostgreSQL, where a
walk takes longer. One day with one of every kind of fact; dice choose table, row, column and value.
"""

# ruff: noqa: S608  table and column names come from the schema

import random
from collections.abc import Iterator
from datetime import UTC, date, datetime
from typing import Any

import pytest
from records_life import record_life
from records_scenario import CHAINED, KEY, Clock, raw_engine, record_morning, switch_triggers_off
from sqlalchemy import Boolean, Connection, Date, Engine, Integer, LargeBinary, text

from tracelabels.records import Head, ProblemKind, head_file, open_ledger, public_key_of, sign_head
from tracelabels.records.engine import _any_bytes_as_text
from tracelabels.records.schema import metadata
from tracelabels.records.signing import parse_heads
from tracelabels.records.walking import verify_all

Row = dict[str, Any]

UNIQUE = {"taken_serial", "claim", "request"}
"""A second row of these is refused by an index, even with the triggers off."""
KEYS = {"site", "sequence", "position"}
SIGNING_KEY = bytes(range(32, 64))


def fill(location) -> Head:
    """Record the day and return its end, as it would come back from a file kept elsewhere."""
    with open_ledger(location, site=1, clock=Clock(), key=KEY) as ledger:
        with ledger.write(by="staff-1") as unit:
            record_morning(unit)
            record_life(unit, datetime(2027, 1, 4, 9, tzinfo=UTC))
        with ledger.write(by="staff-1") as unit:
            unit.next_serials(2)
        heads = (
            sign_head(head, at=datetime(2027, 1, 4, tzinfo=UTC), signing_key=SIGNING_KEY) for head in ledger.heads()
        )
        (kept,) = parse_heads(head_file(heads), name="heads.json", public_keys=[public_key_of(SIGNING_KEY)])
    return kept.head


@pytest.fixture(scope="module", params=["sqlite", "postgresql"])
def target(request, tmp_path_factory) -> Iterator[tuple[Engine, Head]]:
    if request.param == "postgresql":
        location = request.getfixturevalue("new_database")()
    else:
        location = tmp_path_factory.mktemp("tampering") / "ledger.db"
    head = fill(location)
    engine = raw_engine(location)
    if request.param == "sqlite":
        with engine.begin() as raw:
            switch_triggers_off(raw)
    yield engine, head
    engine.dispose()


def row_of(raw: Connection, dice: random.Random, tables: list[str]) -> tuple[str, Row]:
    while True:
        table = dice.choice(tables)
        order = ", ".join(metadata.tables[table].primary_key.columns.keys())
        rows = raw.execute(text(f"SELECT * FROM {table} ORDER BY {order}")).mappings().all()
        if rows:
            return table, dict(dice.choice(rows))


def at(table: str, row: Row) -> tuple[str, Row]:
    key = metadata.tables[table].primary_key.columns.keys()
    return " AND ".join(f"{name} = :k_{name}" for name in key), {f"k_{name}": row[name] for name in key}


def change(raw: Connection, table: str, row: Row, changes: Row) -> None:
    where, key = at(table, row)
    names = ", ".join(f"{name} = :v_{name}" for name in changes)
    done = raw.execute(
        text(f"UPDATE {table} SET {names} WHERE {where}"), key | {f"v_{name}": value for name, value in changes.items()}
    )
    assert done.rowcount == 1


def last_fact(raw: Connection) -> int:
    return raw.execute(text("SELECT max(sequence) FROM fact")).scalar_one()


def others(raw: Connection, table: str, name: str) -> list[Any]:
    """Values that may stand in a column: of its own type; on SQLite, which takes anything, of other types too."""
    column = metadata.tables[table].columns[name]
    if raw.dialect.name == "sqlite":
        values: list[Any] = ["2031-01-01", "x", 7, b"\x00" * 32, 0.5]
    elif isinstance(column.type, Integer):
        values = [7, 8]
    elif isinstance(column.type, Boolean):
        values = [True, False]
    elif isinstance(column.type, Date):
        values = [date(2031, 1, 1)]
    else:
        values = [b"\x00" * 32] if isinstance(column.type, LargeBinary) else ["2031-01-01", "x", ""]
    return [*values, None] if column.nullable else values


def edit(raw, dice):
    """Any column but the key becomes something else: another value, nothing, or rubbish of another type."""
    table, row = row_of(raw, dice, CHAINED)
    name = dice.choice([one for one in row if one not in KEYS])
    change(
        raw, table, row, {name: dice.choice([one for one in others(raw, table, name) if str(one) != str(row[name])])}
    )


def flip_a_bit(raw, dice):
    """One bit of a digest, a link, sealed content or a text; on SQLite the text may be none any more afterwards."""
    while True:
        table, row = row_of(raw, dice, CHAINED)
        values = {one: value for one, value in row.items() if isinstance(value, str | bytes) and value}
        if not values:
            continue
        name = dice.choice(sorted(values))
        damaged = bytearray(values[name].encode() if isinstance(values[name], str) else values[name])
        damaged[dice.randrange(len(damaged))] ^= 1 << dice.randrange(8)
        if isinstance(values[name], bytes):
            change(raw, table, row, {name: bytes(damaged)})
            return
        if raw.dialect.name == "sqlite":
            where, key = at(table, row)
            raw.execute(
                text(f"UPDATE {table} SET {name} = CAST(:v AS TEXT) WHERE {where}"), key | {"v": bytes(damaged)}
            )
            return
        try:
            change(raw, table, row, {name: damaged.decode()})
        except UnicodeDecodeError:
            continue  # PostgreSQL takes no text that is none
        return


def delete(raw, dice):
    """A row, or a fact with all its rows; not the last fact: that is a chain cut short, tried below."""
    if dice.random() < 0.5:
        gone = dice.randrange(1, last_fact(raw))
        for table in CHAINED:
            raw.execute(text(f"DELETE FROM {table} WHERE sequence = :gone"), {"gone": gone})
        return
    table, row = row_of(raw, dice, CHAINED)
    while table == "fact" and row["sequence"] == last_fact(raw):
        table, row = row_of(raw, dice, CHAINED)
    where, key = at(table, row)
    raw.execute(text(f"DELETE FROM {table} WHERE {where}"), key)


def insert(raw, dice):
    """A copy of a row under another fact's name: before the first, among them, beyond the end, of another site."""
    table, row = row_of(raw, dice, [name for name in CHAINED if name not in UNIQUE])
    row |= free_name(raw, table, row, dice)
    marks = ", ".join(f":{name}" for name in row)
    raw.execute(text(f"INSERT INTO {table} ({', '.join(row)}) VALUES ({marks})"), row)


def rename(raw, dice):
    """A row goes under another fact's name; on SQLite under one that is no number, too."""
    table, row = row_of(raw, dice, CHAINED)
    change(raw, table, row, free_name(raw, table, row, dice))


def free_name(raw: Connection, table: str, row: Row, dice: random.Random) -> Row:
    taken = {tuple(key) for key in raw.execute(text(f"SELECT site, sequence FROM {table}"))}
    rubbish: list[Any] = ["x", 2.5, b"7"] if raw.dialect.name == "sqlite" else []
    name = (row["site"], row["sequence"])
    while name in taken:
        numbers = [dice.randrange(1, last_fact(raw) + 4), 0, -3, *rubbish]
        name = (dice.choice([1, 1, 1, 2, -1, *rubbish]), dice.choice(numbers))
    return {"site": name[0], "sequence": name[1]}


def swap(raw, dice):
    """Two facts change places, with or without their rows."""
    one, other = dice.sample(range(1, last_fact(raw) + 1), 2)
    for table in CHAINED if dice.random() < 0.5 else ["fact"]:
        for old, new in ((one, -1), (other, one), (-1, other)):
            raw.execute(text(f"UPDATE {table} SET sequence = :new WHERE sequence = :old"), {"new": new, "old": old})


def move_a_field(raw, dice):
    """The values of two columns of one type change places."""
    while True:
        table, row = row_of(raw, dice, CHAINED)
        columns = metadata.tables[table].columns
        names = [name for name in row if name not in KEYS]
        one, other = dice.sample(names, 2) if len(names) > 1 else (names[0], names[0])
        if row[one] == row[other] or type(columns[one].type) is not type(columns[other].type):
            continue
        if (row[one] is None and not columns[other].nullable) or (row[other] is None and not columns[one].nullable):
            continue
        change(raw, table, row, {one: row[other], other: row[one]})
        return


def cut_short(raw, dice):
    """The last facts go, with all their rows: the rest is a whole chain, and only the head kept elsewhere tells."""
    first = last_fact(raw) + 1 - dice.randrange(1, last_fact(raw) + 1)
    for table in reversed(CHAINED):
        raw.execute(text(f"DELETE FROM {table} WHERE sequence >= :first"), {"first": first})


def walked(raw: Connection, heads: list[Head]) -> list[ProblemKind]:
    return [problem.kind for problem in verify_all(raw, KEY, heads)]


def begin(raw: Connection) -> None:
    if raw.dialect.name == "postgresql":
        switch_triggers_off(raw)
    else:
        raw.connection.driver_connection.text_factory = _any_bytes_as_text  # as the walk reads a damaged file


@pytest.mark.slow
@pytest.mark.parametrize("tamper", [edit, flip_a_bit, delete, insert, rename, swap, move_a_field, cut_short])
def test_tampering_is_found_each_time(target, tamper):
    engine, head = target
    attempts = 150 if engine.dialect.name == "sqlite" else 25
    missed = []
    with engine.connect() as raw:
        begin(raw)
        assert walked(raw, [head]) == []
        raw.rollback()
        for seed in range(attempts):
            begin(raw)
            tamper(raw, random.Random(seed))  # noqa: S311  dice, no secret
            found = walked(raw, [head] if tamper is cut_short else [])
            if found == [] or (tamper is cut_short and found != [ProblemKind.HEAD_DIFFERS]):
                missed.append(seed)
            raw.rollback()
        assert walked(raw, [head]) == []
    assert missed == []


def test_a_chain_cut_short_is_not_found_without_a_head(target):
    """So that nobody thinks it were: 25 of 25 pass unseen."""
    engine, _ = target
    with engine.connect() as raw:
        for seed in range(25):
            begin(raw)
            cut_short(raw, random.Random(seed))  # noqa: S311  dice, no secret
            assert walked(raw, []) == []
            raw.rollback()


def test_a_text_that_is_none_any_more_is_named(sqlite_path):
    """SQLite refuses to read such a row; the walk is done again reading any bytes."""
    fill(sqlite_path)
    engine = raw_engine(sqlite_path)
    with engine.begin() as raw:
        raw.execute(text("DROP TRIGGER bottle_never_changed"))
        raw.execute(text("UPDATE bottle SET batch = CAST(X'FFFE' AS TEXT) WHERE batch = 'R-2291'"))
    engine.dispose()
    with open_ledger(sqlite_path, site=1, clock=Clock(), key=KEY) as ledger:
        assert [one.sentence for one in ledger.verify()] == ["fact 1-5: its content is not what was recorded"]
