"""Settings of the database, turns of writers, several processes at once, migrations."""

import datetime as dt
import multiprocessing
import threading
from importlib.resources import files

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from hypothesis import given, settings
from hypothesis import strategies as st
from records_scenario import KEY, raw_engine
from sqlalchemy import text

from tracelabels.custody import Tube
from tracelabels.custody.periods import add_months
from tracelabels.errors import LedgerError
from tracelabels.records import engine as engine_module
from tracelabels.records import open_ledger
from tracelabels.records.engine import Store, Turns, is_log_safe, location_url, sqlite_driver
from tracelabels.records.schema import REVISION, metadata


def now() -> dt.datetime:
    return dt.datetime(2027, 1, 4, tzinfo=dt.UTC)


# sqlite.org, wal.html, "The WAL-reset bug": 3.7.0 to 3.51.2; repaired in 3.51.3 and, backported, in 3.50.7 and 3.44.6.
@pytest.mark.parametrize(
    ("version", "safe"),
    [
        ((3, 6, 23), True),
        ((3, 7, 0), False),
        ((3, 40, 1), False),
        ((3, 44, 5), False),
        ((3, 44, 6), True),
        ((3, 45, 0), False),
        ((3, 50, 6), False),
        ((3, 50, 7), True),
        ((3, 51, 0), False),
        ((3, 51, 2), False),
        ((3, 51, 3), True),
        ((3, 53, 4), True),
        ((4, 0, 0), True),
    ],
)
def test_versions_with_the_race_are_known(version, safe):
    assert is_log_safe(version) is safe


@pytest.mark.parametrize(("safe", "journal", "synchronous"), [(True, "wal", 2), (False, "delete", 3)])
def test_sqlite_is_set_up_to_lose_nothing(sqlite_path, monkeypatch, safe, journal, synchronous):
    """synchronous: 2 is FULL, 3 is EXTRA (sqlite.org, pragma.html)."""
    monkeypatch.setattr(engine_module, "is_log_safe", lambda _version: safe)
    store = Store(location_url(sqlite_path))
    with store.write() as connection:
        answers = [
            connection.exec_driver_sql(f"PRAGMA {name}").scalar_one()
            for name in ("journal_mode", "synchronous", "foreign_keys", "secure_delete", "busy_timeout")
        ]
    store.close()
    assert answers == [journal, synchronous, 1, 1, 30_000]


def test_a_writer_holds_the_lock_from_its_first_word(sqlite_path):
    store = Store(location_url(sqlite_path))
    raw = sqlite_driver().connect(sqlite_path, timeout=0, isolation_level=None)
    with store.write(), pytest.raises(sqlite_driver().OperationalError, match="locked"):
        raw.execute("BEGIN IMMEDIATE")
    raw.execute("BEGIN IMMEDIATE")
    raw.close()
    store.close()


def test_who_waited_in_vain_is_told_that_others_wrote_and_not_that_the_disk_is_full(sqlite_path, monkeypatch):
    monkeypatch.setattr(engine_module, "BUSY_SECONDS", 0)
    store, other = Store(location_url(sqlite_path)), Store(location_url(sqlite_path))
    with store.write():
        with pytest.raises(LedgerError) as busy, other.write():
            pass
        with pytest.raises(LedgerError, match="it is erased, but traces may stand in the log"):
            other.scrub()
    assert str(busy.value) == (
        "a ledger that others kept busy for 0 seconds; expected to come to one's turn to write; nothing was saved; "
        "ask again, and if it goes on, look which program is writing all the while"
    )
    with pytest.raises(LedgerError, match="see that the disk has room"), other.write() as connection:
        connection.exec_driver_sql("INSERT INTO nowhere VALUES (1)")
    store.close()
    other.close()


def test_turns_are_given_in_the_order_of_asking():
    turns, order, ready = Turns(), [], threading.Event()

    def wait_for_turn(number: int) -> None:
        with turns.turn():
            order.append(number)

    threads = [threading.Thread(target=wait_for_turn, args=(number,)) for number in range(20)]
    with turns.turn():
        for number, thread in enumerate(threads):
            thread.start()
            while len(turns._waiting) < number + 2:
                ready.wait(0.001)
    for thread in threads:
        thread.join()
    assert order == list(range(20))


def test_threads_of_one_process_take_turns(ledger):
    def add(name: str) -> None:
        for number in range(5):
            with ledger.write(by=name) as unit:
                unit.add_tubes([Tube(serial=unit.next_serials()[0]), Tube(serial=f"{name}-{number}")])

    threads = [threading.Thread(target=add, args=(str(number),)) for number in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    with ledger.read() as found:
        assert found.head(1).sequence == 4 * 5 * 3
        assert all(found.find_tube(f"{name}-{number}") for name in range(4) for number in range(5))
    assert ledger.verify() == []


def _append_many(location, name: int, count: int) -> list[str]:
    """Opens the ledger for itself, as another process does; the first to come sets the database up."""
    taken = []
    try:
        with open_ledger(location, site=1, clock=now, key=KEY) as ledger:
            for _ in range(count):
                with ledger.write(by=str(name)) as unit:
                    serial = unit.next_serials()[0]
                    unit.add_tubes([Tube(serial=serial)])
                taken.append(serial)
    except LedgerError as error:
        raise AssertionError(str(error)) from None  # the pool hands on only errors that can be pickled
    return taken


def test_several_processes_append_at_once_and_nothing_is_lost(location, clock):
    workers, each = 4, 15
    with multiprocessing.get_context("spawn").Pool(workers) as pool:
        taken = pool.starmap(_append_many, [(location, number, each) for number in range(workers)])
    serials = sorted(serial for part in taken for serial in part)
    assert len(set(serials)) == workers * each
    with open_ledger(location, site=1, clock=clock, key=KEY) as ledger:
        assert ledger.verify() == []
        with ledger.read() as found:
            assert found.head(1).sequence == workers * each * 2
            assert [serial for serial in serials if found.find_tube(serial) is None] == []


def test_the_migrations_build_what_the_tables_say(ledger, location):
    engine = raw_engine(location)
    with engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert [one for one in compare_metadata(context, metadata) if "trigger" not in str(one)] == []
    engine.dispose()
    assert ledger.verify() == []


def test_the_newest_revision_is_the_one_the_code_expects():
    config = Config()
    config.set_main_option("script_location", str(files("tracelabels.records").joinpath("migrations")))
    assert ScriptDirectory.from_config(config).get_heads() == [REVISION]


def test_a_ledger_of_a_newer_release_is_refused(location, clock):
    with open_ledger(location, site=1, clock=clock, key=KEY):
        pass
    engine = raw_engine(location)
    with engine.begin() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    engine.dispose()
    with pytest.raises(LedgerError) as refused:
        open_ledger(location, site=1, clock=clock, key=KEY)
    assert str(refused.value) == (
        f"a ledger of revision 9999; expected revision {REVISION} or older; "
        "open it with the release that wrote it, or a newer one"
    )


@settings(max_examples=200, deadline=None)
@given(start=st.dates(dt.date(1900, 1, 1), dt.date(2200, 12, 31)), count=st.integers(0, 240))
def test_months_end_where_postgresql_ends_them(judge, start, count):
    """PostgreSQL 15 manual, section 9.9, "date + interval": a day beyond the month's end becomes its last day."""
    query = "SELECT (%s::date + make_interval(months => %s))::date"
    assert judge.execute(query, (start, count)).fetchone()[0] == add_months(start, count)


@pytest.fixture(scope="module")
def judge(postgresql_server):
    import psycopg

    with psycopg.connect(postgresql_server, autocommit=True) as connection:
        yield connection
