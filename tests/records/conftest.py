"""A fresh ledger for each test, on SQLite and on PostgreSQL."""

import itertools
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tracelabels.records import Ledger, open_ledger

sys.path.insert(0, str(Path(__file__).parent))  # records_scenario.py is shared by the tests of this folder
from records_scenario import KEY, Clock


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture(params=["sqlite", "postgresql"])
def new_location(request: pytest.FixtureRequest, tmp_path: Path) -> Callable[[], Path | str]:
    """Makes the place of one more empty ledger, on each kind of database in turn."""
    if request.param == "postgresql":
        made: Callable[[], str] = request.getfixturevalue("new_database")
        return made
    numbers = itertools.count(1)
    return lambda: tmp_path / f"ledger-{next(numbers)}.db"


@pytest.fixture
def location(new_location: Callable[[], Path | str]) -> Path | str:
    return new_location()


@pytest.fixture
def ledger(location: Path | str, clock: Clock) -> Iterator[Ledger]:
    with open_ledger(location, site=1, clock=clock, key=KEY) as opened:
        yield opened


@pytest.fixture
def sqlite_path(tmp_path: Path) -> Path:
    return tmp_path / "practice.db"
