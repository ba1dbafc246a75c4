"""A recall from its question to its close: quarantine at once, every client to an end, stock found against expected."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import bad_batch as story
import pytest

from tracelabels.custody import (
    ClientEnd,
    Consumable,
    ConsumableKind,
    Destroyed,
    Fate,
    Hold,
    HoldCause,
    IndicatorPlace,
    IndicatorReading,
    IndicatorResult,
    Kind,
    Load,
    Name,
    ReasonKind,
    RecallStep,
    SeenLabel,
    Stage,
    Verdict,
    reach_forward,
)
from tracelabels.errors import InputError, LedgerError
from tracelabels.workflows.chair_record import ChairReader
from tracelabels.workflows.check_at_chair import check_typed
from tracelabels.workflows.destroy_item import DestructionOrder, destroy_item
from tracelabels.workflows.hold_stock import find_things, lift_hold, put_hold
from tracelabels.workflows.recall import Step, find_recall, start_recall, take_step
from tracelabels.workflows.trace import trace

WHAT = "lot:Saltmarsh Colour/5501"
CLIENTS = ["C-1", "C-2", "C-3", "C-4", "C-6"]


@pytest.fixture
def told(opened):
    practice = opened()
    with practice.write(by="bench") as unit:
        story.tell(unit)
    return practice


@pytest.fixture
def recalled(told):
    assert start_recall(told, WHAT, reason="the maker wrote", by="bench").recall.number == "K01-0001"
    return told


def _ends(standing):
    return {one.client.text: one.end for one in standing.clients}


def test_everything_reached_is_held_in_the_same_step(recalled):
    with recalled.ledger.read() as ledger:
        (hold,) = ledger.every(Hold)
    assert (hold.value.number, hold.value.cause) == ("H01-0001", HoldCause.RECALL)
    bottles = {story.B1, story.B2}
    tubes = {story.T1, story.T2, story.T3, story.T5}
    pouches = {story.P1, story.P2, story.P3, story.P4}
    preparations = {story.ONE, story.MIX, story.CHAIR}
    assert {(one.kind, one.text) for one in hold.value.items} == {
        *((Kind.BOTTLE, one) for one in bottles),
        *((Kind.TUBE, one) for one in tubes),
        *((Kind.POUCH, one) for one in pouches),
        *((Kind.PREPARATION, one) for one in preparations),
    }
    assert find_recall(recalled, "K01-0001").is_held


def test_a_question_records_nothing(told):
    trace(told, WHAT)
    assert find_recall(told, "K01-0001") is None


def test_the_same_request_is_one_recall(told):
    first = start_recall(told, WHAT, reason="x", by="bench", request_key="tap")
    assert start_recall(told, WHAT, reason="x", by="bench", request_key="tap").recall == first.recall
    assert find_recall(told, "K01-0002") is None


def test_a_key_under_which_something_else_was_recorded_records_no_step_and_says_so(told):
    start_recall(told, WHAT, reason="x", by="bench", request_key="tap")
    for _ in range(2):
        step = Step(step=RecallStep.CLIENT_REACHED, client="C-1")
        assert len(take_step(told, "K01-0001", step, by="bench", request_key="step").standing.actions) == 1
    with pytest.raises(InputError, match="request 'tap', under which something else was recorded"):
        take_step(told, "K01-0001", step, by="bench", request_key="tap")


def test_each_client_comes_to_an_end_and_then_it_may_be_closed(recalled):
    def step(kind, client=None, at=None):
        return take_step(recalled, "K01-0001", Step(step=kind, client=client, at=at), by="bench")

    assert _ends(find_recall(recalled, "K01-0001")) == dict.fromkeys(CLIENTS, ClientEnd.OPEN)
    for client in ("C-1", "C-3", "C-4", "C-6"):
        step(RecallStep.CLIENT_REACHED, client)
    assert step(RecallStep.CLIENT_UNREACHABLE, "C-2").refused == ("client C-2: 0 attempts on record, 2 are needed",)
    for day in (23, 24):
        step(RecallStep.CLIENT_ATTEMPT, "C-2", at=datetime(2026, 11, day, 9, tzinfo=UTC))
    refused = step(RecallStep.CLOSED)
    assert refused.refused == ("client C-2: tried in vain so far",)
    assert not refused.standing.is_closed
    assert step(RecallStep.CLIENT_REACHED, "C-5").refused == ("client C-5 is not reached by this recall",)
    assert _ends(step(RecallStep.CLIENT_UNREACHABLE, "C-2").standing)["C-2"] is ClientEnd.UNREACHABLE
    assert step(RecallStep.CLOSED).standing.is_closed
    assert step(RecallStep.STOCK_FOUND).refused == ("the recall was closed; only notes are added",)


def test_stock_found_is_set_against_stock_expected(recalled):
    stock = find_recall(recalled, "K01-0001").stock
    assert {one.text for one in stock.expected} == {story.B1, story.B2, story.T2, story.P2, story.P4}
    found = Step(step=RecallStep.STOCK_FOUND, serials=(story.B1, story.P2, story.T2, story.P1), place="shelf 2")
    stock = take_step(recalled, "K01-0001", found, by="bench").standing.stock
    assert {one.text for one in stock.missing} == {story.B2, story.P4}
    assert [one.text for one in stock.extra] == [story.P1]


def test_what_is_destroyed_in_a_recall_is_destroyed_everywhere(recalled):
    step = Step(step=RecallStep.ITEM_DESTROYED, serials=(story.P2,))
    standing = take_step(recalled, "K01-0001", step, by="bench").standing
    fates = {one.name.text: one.fate for one in standing.trace.items}
    assert (fates[story.P2], fates[story.T2]) == (Fate.DESTROYED, Fate.DESTROYED)
    assert Name(Kind.POUCH, story.P2) not in {*standing.stock.missing, *standing.stock.extra}


def test_what_is_destroyed_in_a_recall_cannot_be_opened_nor_destroyed_again(recalled):
    step = Step(step=RecallStep.ITEM_DESTROYED, serials=(story.P2, story.P2))
    take_step(recalled, "K01-0001", step, by="bench")
    order = DestructionOrder(serial=story.P2, what=Destroyed.WHOLE, how="burnt")
    for again in (
        lambda: destroy_item(recalled, order, by="bench"),
        lambda: take_step(recalled, "K01-0001", step, by="bench"),
    ):
        with pytest.raises(LedgerError, match=f"pouch {story.P2}, which was destroyed before"):
            again()
    at_chair = check_typed(recalled, SeenLabel(serial=story.P2))
    assert (at_chair.verdict, ReasonKind.DESTROYED in {one.kind for one in at_chair.reasons}) == (Verdict.STOP, True)
    assert len(find_recall(recalled, "K01-0001").actions) == 1


def test_a_step_that_is_still_to_come_is_refused(recalled):
    step = Step(step=RecallStep.CLIENT_REACHED, client="C-1", at=datetime(2026, 11, 26, 9, tzinfo=UTC))
    with pytest.raises(InputError, match="2026-11-26 09:00, which is still to come"):
        take_step(recalled, "K01-0001", step, by="bench")
    assert find_recall(recalled, "K01-0001").actions == ()


def test_whatever_is_held_the_gate_keeps_back_every_pouch_that_its_recall_would_reach(told):
    """One hold after another; what is reached says the closure that a recall walks.

    A pouch is asked together with its tubes, as at a use: one of them was filled at the chair.
    """
    lots = (("indicators", "IND-1"), ("spore_tests", "BI-1"), ("pouch_material", "PF-1"))
    with told.write(by="bench") as unit:
        for kind, lot in lots[:2]:
            unit.record(Consumable(kind=ConsumableKind(kind), lot=lot))
        second, third = (unit.require(Load, f"L01-000{place}").value for place in (2, 3))
        one = Name(Kind.POUCH, story.P1)
        unit.record(
            IndicatorReading(
                load=second.as_name,
                pouch=one,
                place=IndicatorPlace.INSIDE,
                result=IndicatorResult.TURNED,
                stage=Stage.UNLOADING,
                at=second.started_at,
                lot="IND-1",
            )
        )
        unit.record(replace(third, number="L01-0004", started_at=third.started_at + timedelta(days=1), pouches=(one,)))
    questions = [
        *(f"consumable:{kind}/{lot}" for kind, lot in lots), "steriliser:S1", "load:L01-0002", "load:L01-0003",
        f"bottle:{story.B1}", f"bottle:{story.B3}", f"tube:{story.T4}", f"pouch:{story.P1}", "preparation:P01-0001",
    ]  # fmt: skip
    pouches = (story.P1, story.P2, story.P3, story.P4, story.P5)
    seen = {}
    for question in questions:
        named = find_things(told, [question])
        hold = put_hold(told, named, by="bench", reason="a doubt")
        with told.ledger.read() as ledger:
            reader = ChairReader(told, ledger)
            known = {one: reader.know(one) for one in pouches}
            asked = {one: (known[one], *map(reader.know, known[one].pouch.tubes)) for one in pouches}
            kept = {one for one, things in asked.items() if any(thing.processing.holds for thing in things)}
            roots = {ledger.require_thing(one): one.kind for one in named}
            found = reach_forward(roots, ledger.neighbours)
            reached = {ledger.name_of(one).text for one in found.of_kind(Kind.POUCH)}
        lift_hold(told, hold.number, by="bench", reason="looked at")
        seen[question] = (kept, reached)
    assert {question: both for question, both in seen.items() if both[0] != both[1]} == {}
    assert seen["consumable:indicators/IND-1"][0] == {story.P1, story.P3}


def test_what_is_reached_later_is_named(recalled):
    with recalled.write(by="bench") as unit:
        (serial,) = unit.next_serials()
        unit.add_tubes([story.Tube(serial=serial, preparation=story.ONE)])
    assert [one.text for one in find_recall(recalled, "K01-0001").reached_since] == [serial]


def test_an_erased_client_has_come_to_an_end(recalled):
    with recalled.write(by="bench") as unit:
        unit.erase(unit.require_thing(Name(Kind.CLIENT, "C-4")), reason="asked for it")
    standing = find_recall(recalled, "K01-0001")
    assert _ends(standing)["C-4"] is ClientEnd.ERASED
    assert [one.text for one in standing.trace.erased] == ["C-4"]


def test_a_recall_whose_cause_was_corrected_goes_on_from_what_it_was(recalled):
    with recalled.write(by="bench") as unit:
        for serial in (story.B1, story.B2):
            bottle = unit.require_bottle(serial)
            unit.correct(bottle, replace(bottle.value, batch="5510"), reason="read again")
    standing = find_recall(recalled, "K01-0001")
    assert (len(standing.trace.items), _ends(standing).keys()) == (10, set(CLIENTS))
    assert standing.trace.notes[0].endswith("names nothing any more: what it stood for then is followed")


def test_the_same_request_is_told_the_same_when_its_cause_names_nothing_any_more(told):
    first = start_recall(told, WHAT, reason="x", by="bench", request_key="tap")
    with told.write(by="bench") as unit:
        for serial in (story.B1, story.B2):
            bottle = unit.require_bottle(serial)
            unit.correct(bottle, replace(bottle.value, batch="5510"), reason="read again")
    assert start_recall(told, WHAT, reason="x", by="bench", request_key="tap").recall == first.recall


def test_a_step_about_one_client_is_not_told_for_another(recalled):
    step = Step(step=RecallStep.CLIENT_REACHED, client="C-1")
    take_step(recalled, "K01-0001", step, by="bench", request_key="tap")
    with pytest.raises(InputError, match="request 'tap', under which something else was recorded"):
        take_step(recalled, "K01-0001", replace(step, client="C-2"), by="bench", request_key="tap")


def test_of_a_closed_recall_nobody_is_given_up(recalled):
    for client in CLIENTS:
        for step in (RecallStep.CLIENT_ATTEMPT, RecallStep.CLIENT_ATTEMPT, RecallStep.CLIENT_REACHED):
            take_step(recalled, "K01-0001", Step(step=step, client=client), by="bench")
    assert take_step(recalled, "K01-0001", Step(step=RecallStep.CLOSED), by="bench").refused == ()
    given_up = Step(step=RecallStep.CLIENT_UNREACHABLE, client="C-1")
    done = take_step(recalled, "K01-0001", given_up, by="bench")
    assert done.refused == ("the recall was closed; only notes are added",)


@pytest.mark.parametrize(
    "step",
    [
        Step(step=RecallStep.CLIENT_REACHED),
        Step(step=RecallStep.ITEM_DESTROYED),
        Step(step=RecallStep.NOTE),
        Step(step=RecallStep.FILE_LEFT, place="a.pdf"),
    ],
)
def test_a_step_without_what_it_is_about_is_refused(recalled, step):
    with pytest.raises(InputError, match="without"):
        take_step(recalled, "K01-0001", step, by="bench")
