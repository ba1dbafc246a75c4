"""Copies of a ledger: equal to it, whole while others write, without keys, and back into either kind of database."""

import datetime as dt
import multiprocessing
import time
from contextlib import closing
from pathlib import Path

import pytest
from records_scenario import KEY, Clock, raw_engine, record_morning, switch_triggers_off
from sqlalchemy import select, text

from tracelabels.custody import Tube
from tracelabels.errors import LedgerError
from tracelabels.records import fill_from_copy, open_ledger
from tracelabels.records.copying import copy_ledger
from tracelabels.records.engine import Store, location_url, sqlite_driver
from tracelabels.records.schema import CONTENT_TABLES, fact, ledger_key, metadata, sealed

EVERY_TABLE = (fact, sealed, ledger_key, *CONTENT_TABLES)


def everything(location: Path | str) -> dict[str, list]:
    """Every row of every table, as the database gives it."""
    engine = raw_engine(location)
    with engine.connect() as raw:
        rows = {
            table.name: [tuple(row) for row in raw.execute(select(table).order_by(*table.primary_key.columns))]
            for table in EVERY_TABLE
        }
    engine.dispose()
    return rows


@pytest.fixture
def filled(ledger):
    with ledger.write(by="staff-1") as unit:
        record_morning(unit)
    return ledger


def test_a_copy_is_equal_in_every_row_and_needs_no_second_file(filled, location, tmp_path):
    copy = tmp_path / "copy.sqlite"
    done = filled.copy_to(copy)
    assert (done.heads, done.problems) == (filled.heads(), ())
    assert everything(copy) == everything(location)
    assert [file.name for file in tmp_path.iterdir() if file.name.startswith("copy")] == ["copy.sqlite"]
    with open_ledger(copy, site=1, clock=Clock(), key=KEY) as again:
        assert again.verify(heads=filled.heads()) == []
        with again.write(by="s") as unit:
            unit.next_serials(1)


def test_a_copy_goes_back_into_either_kind_of_database(filled, location, new_location, tmp_path):
    copy = tmp_path / "copy.sqlite"
    filled.copy_to(copy)
    back = new_location()
    fill_from_copy(copy, back)
    assert everything(back) == everything(location)
    with open_ledger(back, site=1, clock=Clock(), key=KEY) as again:
        assert again.verify(heads=filled.heads()) == []
    with pytest.raises(LedgerError) as refused:
        fill_from_copy(copy, back)
    assert str(refused.value) == (
        "a database that holds a ledger already; expected an empty one to restore into; make a new database and name it"
    )


def test_what_is_wrong_with_the_ledger_is_told_with_a_true_copy(filled, location, tmp_path):
    engine = raw_engine(location)
    with engine.begin() as raw:
        switch_triggers_off(raw)
        raw.execute(text("UPDATE bottle SET batch = 'R-2292' WHERE batch = 'R-2291'"))
    engine.dispose()
    done = filled.copy_to(tmp_path / "copy.sqlite")
    assert [one.sentence for one in done.problems] == ["fact 1-5: its content is not what was recorded"]
    assert everything(tmp_path / "copy.sqlite") == everything(location)


def test_rows_of_keys_are_left_out_with_every_byte_and_the_triggers_stay(ledger, location, tmp_path):
    """``sealed`` stands for a table of keys here: nobody else holds what it says."""
    with ledger.write(by="staff-1") as unit:
        record_morning(unit)
    store = Store(location_url(location))
    whole, without = tmp_path / "whole.sqlite", tmp_path / "without.sqlite"
    copy_ledger(store, whole, key=KEY)
    copy_ledger(store, without, key=KEY, without=[metadata.tables["sealed"]])
    store.close()
    assert b"Quillon Vance-Abara" in whole.read_bytes()
    assert b"Quillon Vance-Abara" not in without.read_bytes()
    with closing(sqlite_driver().connect(without)) as raw:
        assert raw.execute("SELECT count(*) FROM sealed").fetchone()[0] == 0
        with pytest.raises(sqlite_driver().IntegrityError, match="never changed"):
            raw.execute("UPDATE fact SET reason = 'x'")
    triggers = "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' ORDER BY name"
    with closing(sqlite_driver().connect(whole)) as one, closing(sqlite_driver().connect(without)) as other:
        assert one.execute(triggers).fetchall() == other.execute(triggers).fetchall() != []


def test_a_damaged_file_is_not_copied_as_if_it_were_whole(sqlite_path, clock, tmp_path):
    with open_ledger(sqlite_path, site=1, clock=clock, key=KEY) as ledger, ledger.write(by="s") as unit:
        record_morning(unit)
        unit.add_tubes(Tube(serial=f"{number:09d}") for number in range(2_000))
    with closing(sqlite_driver().connect(sqlite_path)) as raw:
        raw.execute("PRAGMA journal_mode = DELETE")
        root = raw.execute("SELECT rootpage FROM sqlite_master WHERE name = 'tube_by_serial'").fetchone()[0]
        size = raw.execute("PRAGMA page_size").fetchone()[0]
    damaged = bytearray(sqlite_path.read_bytes())
    damaged[(root - 1) * size : (root - 1) * size + 100] = b"\x77" * 100
    sqlite_path.write_bytes(damaged)
    copy = tmp_path / "copy.sqlite"
    with open_ledger(sqlite_path, site=1, clock=clock, key=KEY) as ledger, pytest.raises(LedgerError) as refused:
        ledger.copy_to(copy)
    assert "database disk image is malformed" in str(refused.value)
    assert not copy.exists()


# -- under load ------------------------------------------------------------------------------------------------------


def _write_until_told(location, go_on) -> None:
    """Append two facts a unit, so that a copy between them would have an odd number; up to 100 units a second."""
    with open_ledger(location, site=1, clock=lambda: dt.datetime.now(dt.UTC), key=KEY) as ledger:
        while go_on.is_set():
            with ledger.write(by="s") as unit:
                unit.add_tubes([Tube(serial=unit.next_serials()[0])])
            time.sleep(0.01)  # each copy is read whole: more would only make the copies longer


@pytest.mark.slow
def test_every_copy_under_write_load_is_whole(ledger, location, tmp_path):
    """100 copies on SQLite, 20 on PostgreSQL (each is read row by row there), while another process writes.

    Each copy is checked as it is made (integrity, every link and digest); the chains only grow from one to the next.
    """
    count = 20 if str(location).startswith("postgresql") else 100
    context = multiprocessing.get_context("spawn")
    go_on = context.Event()
    go_on.set()
    writer = context.Process(target=_write_until_told, args=(location, go_on))
    writer.start()
    try:
        while ledger.heads()[0].sequence < 2:
            writer.join(0.05)
        reached = []
        for number in range(count):
            copy = tmp_path / f"copy-{number}"
            done = ledger.copy_to(copy)
            assert done.problems == ()
            reached.append(done.heads[0])
            copy.unlink()
        assert writer.is_alive()
    finally:
        go_on.clear()
        writer.join(30)
    assert writer.exitcode == 0
    sequences = [head.sequence for head in reached]
    assert [one for one in sequences if one % 2] == []
    assert sequences == sorted(sequences)
    assert len(set(sequences)) > count / 2, "the writer hardly wrote between copies"
    assert ledger.verify(heads=reached) == []
