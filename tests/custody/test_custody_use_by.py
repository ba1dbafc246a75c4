"""Use-by rules: tables with whole expected values, laws, and an outside judge of calendar arithmetic."""

import datetime as dt
import sqlite3
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracelabels.custody import (
    ONE_SESSION,
    Bottle,
    Carrier,
    Cause,
    CauseKind,
    Component,
    Dating,
    Diluent,
    Expiry,
    Opening,
    Period,
    PeriodUnit,
    Policy,
    Preparation,
    Product,
    Reason,
    ReasonKind,
    UnknownOpeningRule,
    UseBy,
    Variant,
    date_bottle,
    date_tube,
    earliest,
    parse_period,
)
from tracelabels.custody.periods import add_months, last_day_of_month
from tracelabels.errors import InputError

ROSEHIP = Product(name="Rosehip", item_number="RH-10", maker="Mallow", carrier=Carrier.WATER_BASED)
OPEN_POLICY = Policy(limit_after_preparation=None, pack_shelf_life=None)


def months(count: int) -> Period:
    return Period(count=count, unit=PeriodUnit.MONTHS)


def days(count: int) -> Period:
    return Period(count=count, unit=PeriodUnit.DAYS)


def bottle(**changes: object) -> Bottle:
    facts = {
        "serial": "010000012",
        "product": ROSEHIP,
        "batch": "R-2291",
        "received_on": date(2027, 1, 4),
        "expiry": Expiry.on_day(date(2028, 3, 15)),
    }
    return Bottle(**(facts | changes))


def preparation(*sources: Bottle | Diluent) -> Preparation:
    return Preparation(
        number="P-0007",
        prepared_on=date(2027, 3, 31),
        prepared_by="s1",
        variant=Variant.FILLED_BEFORE,
        components=tuple(Component(source=source) for source in sources),
    )


# Worked by hand: the earliest of expiry and opened on + period after opening.
@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({}, (date(2028, 3, 15), CauseKind.COMPONENT_EXPIRY)),
        ({"expiry": Expiry.in_month(2028, 2)}, (date(2028, 2, 29), CauseKind.COMPONENT_EXPIRY)),
        ({"expiry": Expiry.in_month(2027, 12)}, (date(2027, 12, 31), CauseKind.COMPONENT_EXPIRY)),
        (
            {"opening": Opening(on=date(2027, 8, 31)), "period_after_opening": months(6)},
            (date(2028, 2, 29), CauseKind.PERIOD_AFTER_OPENING),
        ),
        (
            {"opening": Opening(on=date(2027, 2, 1)), "period_after_opening": days(28)},
            (date(2027, 3, 1), CauseKind.PERIOD_AFTER_OPENING),
        ),
        (
            {"opening": Opening(on=date(2027, 2, 1)), "period_after_opening": ONE_SESSION},
            (date(2027, 2, 1), CauseKind.PERIOD_AFTER_OPENING),
        ),
        (
            {"opening": Opening(on=date(2027, 9, 15)), "period_after_opening": months(6)},
            (date(2028, 3, 15), CauseKind.COMPONENT_EXPIRY),
        ),
        ({"opening": Opening(on=date(2027, 2, 1))}, (date(2028, 3, 15), CauseKind.COMPONENT_EXPIRY)),
        ({"period_after_opening": days(1)}, (date(2028, 3, 15), CauseKind.COMPONENT_EXPIRY)),
    ],
)
def test_a_bottle_is_good_until_the_earlier_of_expiry_and_period_after_opening(changes, expected):
    day, kind = expected
    cause = Cause(kind=kind, date=day, source="Rosehip, batch R-2291")
    assert date_bottle(bottle(**changes), OPEN_POLICY).use_by == UseBy(date=day, cause=cause)


def test_a_bottle_without_expiry_stops_until_the_policy_resolves_it():
    unknown = bottle(expiry=None)
    sentence = "Rosehip, batch R-2291 states no expiry, and the practice has no rule for such a bottle"
    stop = Reason(kind=ReasonKind.NO_EXPIRY, sentence=sentence)
    assert date_bottle(unknown, OPEN_POLICY) == Dating(causes=(), stops=(stop,))
    resolved = Policy(limit_after_preparation=None, pack_shelf_life=None, without_expiry=months(12))
    cause = Cause(kind=CauseKind.PERIOD_AFTER_RECEIPT, date=date(2028, 1, 4), source="Rosehip, batch R-2291")
    assert date_bottle(unknown, resolved).use_by == UseBy(date=date(2028, 1, 4), cause=cause)


def test_an_unknown_opening_stops_until_the_policy_resolves_it():
    unknown = bottle(opening=Opening(on=None), period_after_opening=months(6))
    sentence = "nobody knows when Rosehip, batch R-2291 was opened, and the practice has no rule for such a bottle"
    dating = date_bottle(unknown, OPEN_POLICY)
    assert dating.stops == (Reason(kind=ReasonKind.OPENING_UNKNOWN, sentence=sentence),)
    assert dating.use_by is None
    resolved = Policy(
        limit_after_preparation=None,
        pack_shelf_life=None,
        unknown_opening=UnknownOpeningRule.AS_RECEIVED,
    )
    cause = Cause(kind=CauseKind.PERIOD_AFTER_OPENING, date=date(2027, 7, 4), source="Rosehip, batch R-2291")
    assert date_bottle(unknown, resolved).use_by == UseBy(date=date(2027, 7, 4), cause=cause)


def test_a_tube_has_every_cause_and_names_the_earliest():
    policy = Policy(limit_after_preparation=months(3), pack_shelf_life=days(60))
    water = Diluent(name="Sterile water", batch="W1", expiry=date(2029, 1, 1))
    dating = date_tube(
        preparation(bottle(), water),
        policy,
        processed_on=date(2027, 4, 2),
        filled_at_chair=date(2027, 5, 1),
    )
    assert dating == Dating(
        causes=(
            Cause(kind=CauseKind.COMPONENT_EXPIRY, date=date(2028, 3, 15), source="Rosehip, batch R-2291"),
            Cause(kind=CauseKind.COMPONENT_EXPIRY, date=date(2029, 1, 1), source="Sterile water, batch W1"),
            Cause(kind=CauseKind.LIMIT_AFTER_PREPARATION, date=date(2027, 6, 30), source="preparation P-0007"),
            Cause(kind=CauseKind.PACK_SHELF_LIFE, date=date(2027, 6, 1), source="preparation P-0007"),
            Cause(kind=CauseKind.FILLED_AT_CHAIR, date=date(2027, 5, 1), source="preparation P-0007"),
        ),
        stops=(),
    )
    assert dating.use_by == UseBy(date=date(2027, 5, 1), cause=dating.causes[4])


def test_one_undated_component_leaves_the_whole_mix_undated():
    dating = date_tube(preparation(bottle(), Diluent(name="Water", batch="W1")), OPEN_POLICY)
    assert dating.stops == (Reason(kind=ReasonKind.NO_EXPIRY, sentence="Water, batch W1 states no expiry"),)
    assert dating.use_by is None


def test_event_related_packs_and_empty_tubes_set_no_date():
    assert date_tube(preparation(), OPEN_POLICY, processed_on=date(2027, 4, 2)) == Dating(causes=(), stops=())


CAUSES = st.builds(
    Cause,
    kind=st.sampled_from(CauseKind),
    date=st.dates(date(2027, 1, 1), date(2027, 1, 5)),
    source=st.sampled_from(["a", "b", "c"]),
)


@given(causes=st.lists(CAUSES, min_size=1, max_size=6), order=st.randoms(use_true_random=False))
def test_use_by_is_the_least_date_and_its_cause_is_one_of_those_given(causes, order):
    found = earliest(causes)
    assert found.date == min(cause.date for cause in causes)
    assert found.cause in causes
    assert found.cause.date == found.date
    order.shuffle(causes)
    assert earliest(causes) == found


@given(causes=st.lists(CAUSES, min_size=1, max_size=5), more=CAUSES)
def test_one_more_cause_never_makes_use_by_later(causes, more):
    assert earliest([*causes, more]).date == min(earliest(causes).date, more.date)


def test_no_cause_at_all_is_refused():
    with pytest.raises(InputError) as refused:
        earliest([])
    assert str(refused.value) == (
        "no cause for a use-by date; expected at least one (an expiry, a period, a limit); "
        "enter the bottle's expiry or set the practice's limit"
    )


# What PostgreSQL answers to `SELECT date '2027-01-31' + interval '1 month'`; the live server is asked in tests/records.
# These rows are common calendar facts: 2028 is a leap year, 2100 is not.
@pytest.mark.parametrize(
    ("start", "count", "end"),
    [
        (date(2027, 1, 31), 1, date(2027, 2, 28)),
        (date(2028, 1, 31), 1, date(2028, 2, 29)),
        (date(2028, 2, 29), 12, date(2029, 2, 28)),
        (date(2027, 8, 31), 6, date(2028, 2, 29)),
        (date(2027, 12, 31), 2, date(2028, 2, 29)),
        (date(2027, 10, 31), 1, date(2027, 11, 30)),
        (date(2099, 12, 31), 2, date(2100, 2, 28)),
        (date(2027, 2, 28), 1, date(2027, 3, 28)),
    ],
)
def test_months_end_on_the_same_day_or_the_last(start, count, end):
    assert add_months(start, count) == end


@given(start=st.dates(date(1900, 1, 1), date(2200, 1, 1)), count=st.integers(0, 400))
def test_months_agree_with_the_database_engine_up_to_the_months_end(start, count):
    """SQLite's date() overflows into the next month where ours clips; on days that exist both must agree."""
    clipped = add_months(start, count)
    moved = sqlite3.connect(":memory:").execute("SELECT date(?, ?)", (start.isoformat(), f"+{count} months")).fetchone()
    theirs = dt.date.fromisoformat(moved[0])
    assert clipped == (theirs if theirs.day == start.day else theirs.replace(day=1) - dt.timedelta(days=1))


@given(day=st.dates(date(1, 1, 1), date(9999, 11, 30)))
def test_the_last_day_of_a_month_is_the_day_before_the_next_months_first(day):
    last = last_day_of_month(day.year, day.month)
    assert (last.year, last.month) == (day.year, day.month)
    assert (last + dt.timedelta(days=1)).day == 1


def test_a_period_beyond_the_calendar_is_refused():
    with pytest.raises(InputError) as refused:
        days(4).end(date.max)
    assert str(refused.value) == (
        "4 days from 9999-12-31; expected an end within the calendar (up to the year 9999); "
        "check the date and the period"
    )
    with pytest.raises(InputError):
        months(1).end(date.max)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("12M", months(12)),
        (" 12 months", months(12)),
        ("1 month", months(1)),
        ("2 years", months(24)),
        ("1Y", months(12)),
        ("28 days", days(28)),
        ("1d", days(1)),
        ("session", ONE_SESSION),
        ("One Session", ONE_SESSION),
    ],
)
def test_periods_are_read_as_people_write_them(text, expected):
    assert parse_period(text) == expected
    assert parse_period(str(expected)) == expected


@pytest.mark.parametrize("text", ["", "12", "M", "0 days", "-3 days", "12 weeks", "1.5 months", "99999M"])
def test_other_periods_are_refused(text):
    with pytest.raises(InputError):
        parse_period(text)
