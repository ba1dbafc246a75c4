"""A request's key: asked again, the same is told and nothing written; for anything else under it, it is refused."""

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
from chair_day import FINE, ChairDay

from tracelabels.custody import Destroyed, IncidentKind, Kind, Name, PlaceKind, PouchOpening
from tracelabels.errors import InputError
from tracelabels.workflows.correct_record import correct_record, take_back
from tracelabels.workflows.destroy_item import DestructionOrder, destroy_item
from tracelabels.workflows.fill_at_chair import FillOrder, fill_at_chair
from tracelabels.workflows.move_item import MoveOrder, move_items
from tracelabels.workflows.open_at_chair import PouchInHand, open_at_chair
from tracelabels.workflows.prepare_tubes import Part
from tracelabels.workflows.report_adverse_event import (
    AdverseReport,
    Progress,
    follow_adverse_event,
    report_adverse_event,
)
from tracelabels.workflows.report_incident import IncidentReport, report_incident
from tracelabels.workflows.use_gate import Together, UsedItem
from tracelabels.workflows.use_on_client import UseOrder, use_on_client

DAY = date(2026, 12, 1)
NOON = datetime(2026, 12, 1, 12, tzinfo=UTC)


@pytest.fixture
def day(opened) -> ChairDay:
    return ChairDay.begin(opened(DAY))


def said_once(here: ChairDay, request: Callable[[], object]) -> object:
    """Ask again, and return what is told; nothing may be written."""
    before = here.practice.ledger.heads()
    told = request()
    assert here.practice.ledger.heads() == before
    return told


def refused(here: ChairDay, request: Callable[[], object], why: str = "something else was recorded") -> None:
    with pytest.raises(InputError, match=f"request 'tap', under which {why}"):
        said_once(here, request)


def test_go_for_one_client_is_never_told_for_another_nor_for_other_answers(day):
    (pouch,) = day.ready()
    hand = PouchInHand(seen=day.label_of(pouch), client="C-14", opening=FINE)

    def opens(asked: PouchInHand):
        return open_at_chair(day.practice, asked, by="s1", request_key="tap")

    first = opens(hand)
    assert said_once(day, lambda: opens(hand)).opening == first.opening
    refused(day, lambda: opens(replace(hand, client="C-15")))
    refused(day, lambda: opens(replace(hand, opening=replace(FINE, dry=False))))


def test_a_filling_is_of_one_client_and_of_its_bottles(day, bottle):
    one, other = bottle(day.practice), bottle(day.practice)
    (pouch,) = day.ready()
    (tube,) = day.tubes_in(pouch)
    open_at_chair(day.practice, PouchInHand(seen=day.label_of(pouch), client="C-14", opening=FINE), by="s1")
    order = FillOrder(tubes=(tube,), parts=(Part(bottle=one, amount_ml=Decimal(1)),), client="C-14")

    def fills(asked: FillOrder):
        return fill_at_chair(day.practice, asked, by="s1", request_key="tap")

    first = fills(order)
    assert said_once(day, lambda: fills(order)) == first
    refused(day, lambda: fills(replace(order, client="C-15")))
    refused(day, lambda: fills(replace(order, parts=(Part(bottle=other, amount_ml=Decimal(1)),))))


def test_a_use_is_of_the_things_that_were_named(day, bottle):
    one, other = bottle(day.practice), bottle(day.practice)
    order = UseOrder(together=Together(client="C-14", items=(UsedItem(serial=one),)))

    def uses(asked: UseOrder):
        return use_on_client(day.practice, asked, by="s1", request_key="tap")

    first = uses(order)
    assert said_once(day, lambda: uses(order)).use == first.use
    both = Together(client="C-14", items=(UsedItem(serial=one), UsedItem(serial=other)))
    refused(day, lambda: uses(replace(order, together=both)))
    refused(day, lambda: uses(replace(order, together=replace(both, items=both.items[1:]))))
    take_back(day.practice, "use", first.use.number, by="lead", reason="entered twice")
    refused(day, lambda: uses(order), r"fact 1-\d+ was recorded and taken back")


def test_a_move_is_told_as_it_was_recorded(day, bottle):
    one, other = bottle(day.practice), bottle(day.practice)
    order = MoveOrder(items=(one,), kind=PlaceKind.SHELF, place="A", at=NOON)

    def moves(asked: MoveOrder):
        return move_items(day.practice, asked, by="s1", request_key="tap")

    first = moves(order)
    assert said_once(day, lambda: moves(replace(order, at=NOON + timedelta(hours=1)))) == first
    for change in ({"kind": PlaceKind.LOST}, {"place": "B"}, {"items": (other,)}, {"items": (one, other)}):
        refused(day, lambda change=change: moves(replace(order, **change)))


def test_what_is_destroyed_wholly_is_not_told_for_a_remainder(day, bottle):
    order = DestructionOrder(serial=bottle(day.practice), what=Destroyed.REMAINDER, how="in the sharps bin")
    destroy_item(day.practice, order, by="s1", request_key="tap")
    whole = replace(order, what=Destroyed.WHOLE)
    refused(day, lambda: destroy_item(day.practice, whole, by="s1", request_key="tap"))


def test_an_incident_is_of_one_client(day):
    report = IncidentReport(kind=IncidentKind.OTHER, account="two alike", client=Name(Kind.CLIENT, "C-14"))
    report_incident(day.practice, report, by="s1", request_key="tap")
    for client in (None, Name(Kind.CLIENT, "C-15")):
        other = replace(report, client=client)
        refused(day, lambda other=other: report_incident(day.practice, other, by="s1", request_key="tap"))


def test_what_was_followed_since_is_still_the_same_event(day):
    report = AdverseReport(client="C-14", onset=DAY, what="a rash", report_due=DAY)

    def reports(asked: AdverseReport):
        return report_adverse_event(day.practice, asked, by="lead", request_key="tap")

    first = reports(report)
    follow_adverse_event(day.practice, first.number, Progress(closed_on=DAY), reason="healed", by="lead")
    again = said_once(day, lambda: reports(report))
    assert (again.number, again.closed_on) == (first.number, DAY)
    refused(day, lambda: reports(replace(report, onset=DAY - timedelta(days=1))))


def test_a_pouch_stays_opened_when_its_opening_is_corrected(day):
    """Claimed by what was recorded first: a correction says more about the opening, it undoes none."""
    (pouch,) = day.ready()
    hand = PouchInHand(seen=day.label_of(pouch), client="C-14", opening=replace(FINE, dry=False))
    open_at_chair(day.practice, hand, by="s1", request_key="tap")
    with day.practice.ledger.read() as ledger:
        (at,) = [one.thing for one in ledger.every(PouchOpening)]
    correct_record(day.practice, "fact", f"{at.site}-{at.sequence}", {"dry": "yes"}, by="lead", reason="looked again")
    again = said_once(day, lambda: open_at_chair(day.practice, hand, by="s1", request_key="tap"))
    assert again.opening.dry is True
    other = replace(hand, client="C-15", opening=FINE)
    assert said_once(day, lambda: open_at_chair(day.practice, other, by="s2")).opening is None
