"""Stock: first expiring first, only what is free; what is kept back or expires is named; where things lie."""

from dataclasses import replace

import bad_batch as story
import pytest

from tracelabels.custody import Decision, Expiry, Fate, Kind, Move, Name, PlaceKind, Release
from tracelabels.errors import InputError
from tracelabels.workflows.recall import start_recall
from tracelabels.workflows.stock_list import list_stock


@pytest.fixture
def told(opened):
    practice = opened()
    with practice.write(by="bench") as unit:
        story.tell(unit)
        for serial, year, month in ((story.B1, 2027, 1), (story.B3, 2026, 12)):
            bottle = unit.require_bottle(serial)
            unit.correct(bottle, replace(bottle.value, expiry=Expiry.in_month(year, month)), reason="read again")
            unit.open_bottle(serial, on=story.DAY)
        for load in ("L01-0001", "L01-0002"):
            release = Release(load=Name(Kind.LOAD, load), decision=Decision.RELEASED, at=story.AT)
            unit.record(release)
        shelf = Move(item=Name(Kind.POUCH, story.P2), kind=PlaceKind.SHELF, place="shelf 2", at=story.AT)
        unit.record(shelf)
    return practice


def _names(lines):
    return [one.name.text for one in lines]


def test_what_is_still_there_is_listed_with_its_place(told):
    stock = list_stock(told)
    assert _names(stock.lines) == [story.T4, story.T2]
    assert [one.fate for one in stock.lines] == [Fate.IN_STOCK, Fate.IN_STOCK]
    assert stock.places == {"": 1, "shelf 2": 1}


def test_the_pick_takes_free_tubes_of_the_item_and_says_what_is_short(told):
    (pick,) = list_stock(told, wanted={"R-12": 2}).picks
    assert (_names(pick.lines), pick.short) == ([story.T2], 1)


def test_what_is_kept_back_is_no_pick(told):
    start_recall(told, "lot:Saltmarsh Colour/5501", reason="x", by="bench")
    stock = list_stock(told, wanted={"R-12": 1})
    assert (_names(stock.held), stock.picks[0].short) == ([story.T4, story.T2], 1)  # T4 lies beside a bad tube


@pytest.mark.parametrize(("days", "names"), [(35, []), (36, [story.T4]), (67, [story.T4, story.T2])])
def test_what_expires_within_days(told, days, names):
    assert _names(list_stock(told, within_days=days).expiring) == names


def test_a_wish_for_nothing_is_refused(told):
    with pytest.raises(InputError, match="R-12=0"):
        list_stock(told, wanted={"R-12": 0})
