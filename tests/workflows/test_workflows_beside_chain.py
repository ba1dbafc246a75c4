"""What is told beside a chain: each load's readings, indicators, tests and decision; holds, recalls, adverse events."""

from dataclasses import replace
from datetime import timedelta

import bad_batch as story
import decided_loads as more
import pytest
from sqlalchemy import event

from tracelabels.cli.tracing import as_record, show
from tracelabels.custody import Hold, Kind, Load, Name, SporeTest
from tracelabels.workflows.chain_drawing import chain_pdf, chain_svg
from tracelabels.workflows.leave_picture import picture_of
from tracelabels.workflows.name_cause import find_cause
from tracelabels.workflows.trace import trace, trace_cause


@pytest.fixture
def told(opened):
    practice = opened()
    with practice.write(by="bench") as unit:
        story.tell(unit)
    more.decide(practice)
    return practice


@pytest.mark.parametrize("what", ["client:C-2", "load:L01-0003"])
def test_all_that_is_told_of_a_chain(told, what, capsys, matches_snapshot):
    """The whole answer for people: looked at by hand, against the story."""
    show(trace(told, what))
    matches_snapshot(capsys.readouterr().out, f"chain/{what.replace(':', '-')}.txt")


def _loads(practice, what):
    return {one["load"]: one for one in as_record(trace(practice, what))["loads"]}


def _states(load):
    tests = load["spore_tests"]
    return [tests[when] and tests[when]["state"] for when in ("at_start", "at_decision", "today")]


def test_evidence_is_what_was_read_then_and_what_it_is_today(told):
    loads = _loads(told, "steriliser:S1")
    assert {number: _states(one) for number, one in loads.items()} == {
        "L01-0001": ["missing", "passed", "passed"],
        "L01-0002": ["passed", "passed", "failed"],
        "L01-0003": ["passed", "incubating", "failed"],
    }
    tests = loads["L01-0002"]["spore_tests"]
    assert (tests["before"]["test"], tests["rode_along"], tests["after"]["test"]) == ("B01-0001", [], "B01-0002")
    assert (tests["before"]["result"], tests["after"]["result"]) == ("no_growth", "growth")


def test_a_decision_names_who_made_it_who_corrected_it_and_what_it_leaves_out(told):
    loads = _loads(told, "steriliser:S1")
    keys = ("decision", "early", "by", "second", "corrected_by", "excepted")
    assert {number: tuple(one["decision"][key] for key in keys) for number, one in loads.items()} == {
        "L01-0001": ("released", False, "charge", "lead", None, []),
        "L01-0002": ("released", False, "charge", "deputy", "lead", [story.P3]),
        "L01-0003": ("released", True, "charge", None, None, []),
    }
    assert [one["decision"] for one in loads["L01-0001"]["decided_before"]] == ["quarantine"]
    assert loads["L01-0002"]["readings"]["entered"][0]["by"] == "bench"
    assert loads["L01-0002"]["indicators"] == {
        "turned": [story.P1],
        "not_turned": [story.P3],
        "unread": [],
        "for_load": [],
    }
    assert [one["held_by"] for one in loads.values()] == [[], ["H01-0002"], ["H01-0002"]]


def test_a_client_s_incidents_events_holds_and_recalls_are_told(told):
    answer = as_record(trace(told, "client:C-2"))
    assert [(one["event"], one["client"], one["closed_on"]) for one in answer["adverse_events"]] == [
        ("A01-0001", "C-2", None)
    ]
    assert [(one["hold"], one["lifted_at"] is None, one["things"]) for one in answer["holds"]] == [
        ("H01-0001", False, [["pouch", story.P3]]),
        ("H01-0002", True, [["load", "L01-0002"], ["pouch", story.P3]]),
    ]
    (recall,) = answer["recalls"]
    assert (recall["clients"], recall["closed"]) == ([{"code": "C-2", "end": "attempted"}], False)
    assert as_record(trace(told, "client:C-6"))["incidents"] == ["I01-0001"]


def test_a_recall_that_reached_a_client_for_something_else_is_told_of_the_client_alone(told):
    recall = more.Recall(
        number="K01-0002", cause="x", reason="y", at=more.started(6), clients=(Name(Kind.CLIENT, "C-4"),)
    )
    with told.write(by="lead") as unit:
        unit.record(recall)
    answers = [as_record(trace(told, what))["recalls"] for what in (f"serial:{story.B2}", "client:C-4")]
    assert [[one["recall"] for one in recalls] for recalls in answers] == [["K01-0001"], ["K01-0002"]]


@pytest.mark.parametrize("what", ["client:C-2", "client:C-6", "load:L01-0002"])
def test_nothing_sealed_is_shown(told, what, capsys):
    found = trace(told, what)
    show(found)
    shown = (capsys.readouterr().out, repr(as_record(found)), chain_svg(picture_of(found)), repr(found))
    assert [(secret, place) for place, text in enumerate(shown) for secret in more.SEALED if secret in text] == []


def _statements(practice, what: str) -> tuple[int, int]:
    """Return how many loads are told, and how many statements that took."""
    statements = []
    with practice.ledger.read() as ledger:
        cause = find_cause(practice, ledger, what)
        event.listen(ledger._connection, "before_cursor_execute", lambda *said: statements.append(said[2]))
        found = trace_cause(practice, ledger, cause, looks_beside=True)
    assert found.beside is not None
    return len(found.beside.loads), len(statements)


def test_many_loads_take_as_many_questions_as_a_few(told):
    """Nothing is asked load by load: 6 loads, then 12, each with readings, a test and a hold."""
    counts = []
    for numbers in (range(4, 7), range(7, 13)):
        with told.write(by="bench") as unit:
            first, test = unit.require(Load, "L01-0002").value, unit.require(SporeTest, "B01-0001").value
            hold = unit.require(Hold, "H01-0002").value
            for number in numbers:
                at = first.started_at + timedelta(days=number)
                load = replace(first, number=f"L01-{number:04}", started_at=at, counted=0, pouches=())
                unit.record(load)
                unit.record(more.readings_of(load.as_name))
                unit.record(replace(test, number=f"B01-{number:04}", load=load.as_name, at=at))
                unit.record(replace(hold, number=f"H01-{number:04}", items=(load.as_name,)))
        counts.append(_statements(told, "steriliser:S1"))
    assert [loads for loads, _ in counts] == [6, 12]
    assert counts[0][1] == counts[1][1]


@pytest.mark.parametrize("what", ["client:C-2", "client:C-1", "load:L01-0003", "steriliser:S1", "lot:5501"])
def test_every_word_stands_in_its_box_and_nothing_overlaps(told, what):
    picture = picture_of(trace(told, what))
    places = [(one.left, one.top, 40.0, one.height, one.words) for one in picture.boxes]
    places += [(one.left, one.top, one.width, one.height, one.words) for one in picture.panels]
    for left, top, width, height, words in places:
        assert all(left < one.left and one.left + one.width < left + width for one in words)
        assert all(top + 1.5 < one.baseline < top + height - 1 for one in words)
        assert min(left, top, picture.width - left - width, picture.height - top - height) > 0
    for place, (left, top, width, height, _) in enumerate(places):
        for other in places[place + 1 :]:
            apart = left + width <= other[0] or other[0] + other[2] <= left
            assert apart or top + height <= other[1] or other[1] + other[3] <= top


def test_a_card_s_words_are_all_there(told):
    found = trace(told, "client:C-2")
    assert found.beside is not None
    picture = picture_of(found)
    for card, panel in zip(found.beside.cards, picture.panels, strict=True):
        written = " ".join(one.text for one in panel.words)
        asked = " ".join([card.title, *(f"{what} {text}" for what, text in card.rows)])
        assert sorted(written.split()) == sorted(asked.split())


def test_the_page_is_a4_or_a3_where_it_fits(told):
    from tracelabels.paper import rasterise_page

    sizes = []
    for what in ("client:C-2", "use:U01-000005"):
        high, wide = rasterise_page(chain_pdf(picture_of(trace(told, what))), index=0, dpi=254).shape
        sizes.append((round(wide / 10), round(high / 10)))
    assert sizes == [(420, 297), (420, 297)]
