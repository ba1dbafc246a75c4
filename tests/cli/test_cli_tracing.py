"""``tracelabels trace`` and ``recall`` on the practice of the other commands' tests."""

import json

import pytest


@pytest.fixture
def told(run, practice):
    def call(*arguments: str):
        return run(*arguments, "--practice", practice, "--today", "2026-11-26")

    return call


def test_trace_answers_with_the_contract_s_keys(told):
    ran = told("trace", "lot:Saltmarsh Colour/5501", "--json")
    (line,) = ran.out.splitlines()
    answer = json.loads(line)
    assert {"items", "clients", "fates", "complete"} <= set(answer)
    assert (answer["fates"], answer["complete"], answer["counts"]) == (
        {"unprocessed": 4, "used": 1},
        True,
        {"items": [5, 5], "clients": [0, 0]},
    )
    assert ran.code == 0


def test_trace_draws_a_tree_for_people(told):
    ran = told("trace", "P01-0001")
    assert ran.out.splitlines()[:3] == ["preparation:P01-0001", "", "Where it came from"]
    assert "made from: bottle 010000012 (Rosehip, batch 5501) [used]" in ran.out
    assert "\N{BOX DRAWINGS LIGHT UP AND RIGHT}\N{BOX DRAWINGS LIGHT HORIZONTAL} made: tube 010000057" in ran.out
    assert ran.out.splitlines()[-1] == "Counted a second way: 4 items, 0 clients; agrees"


def test_what_stands_beside_a_chain_is_told_for_programs_and_for_people(told):
    """The whole of it for a batch that was recalled; loads are told in tests/workflows."""
    told("recall", "5501", "--reason", "the maker wrote", "--record")
    answer = json.loads(told("trace", "serial:010000057", "--json").out)
    assert {key: answer[key] for key in ("loads", "holds", "recalls", "adverse_events")} == {
        "loads": [],
        "holds": [
            {
                "hold": "H01-0001",
                "cause": "recall",
                "reason": "recall K01-0001: the maker wrote",
                "at": answer["recalls"][0]["at"],
                "lifted_at": None,
                "lifted_because": None,
                "things": [["bottle", "010000012"], ["preparation", "P01-0001"], ["tube", "010000057"]],
            }
        ],
        "recalls": [
            {
                "recall": "K01-0001",
                "cause": "lot:Saltmarsh Colour/5501",
                "reason": "the maker wrote",
                "at": answer["recalls"][0]["at"],
                "closed": False,
                "things": [["bottle", "010000012"], ["tube", "010000057"]],
                "clients": [],
            }
        ],
        "adverse_events": [],
    }
    assert answer["recalls"][0]["at"].startswith("2026-11-26T")
    shown = told("trace", "serial:010000057").out
    assert "bottle 010000012 (Rosehip, batch 5501) [used; kept back]" in shown
    assert "\nHold H01-0001 (recall): stands\n" in shown
    assert told("recall", "5501", "--json").out.count("adverse_events") == 1
    assert "holds" not in json.loads(told("recall", "K01-0001", "--json").out)


def test_an_unknown_cause_is_refused_in_one_sentence(told):
    ran = told("trace", "load:L01-0009")
    assert (ran.code, ran.out) == (2, "")
    assert "load:L01-0009" in ran.err


def test_a_recall_is_a_question_until_it_is_recorded(told):
    asked = told("recall", "5501", "--json")
    assert json.loads(asked.out)["recorded"] is False
    assert told("recall", "K01-0001").code == 2
    ran = told("recall", "5501", "--reason", "the maker wrote", "--record", "--json")
    begun = json.loads(ran.out)
    assert (begun["recall"], begun["held"], begun["closed"], begun["complete"]) == ("K01-0001", True, False, True)
    assert len(begun["stock"]["missing"]) == 5


def test_the_steps_of_a_recall_and_its_close(told):
    told("recall", "5501", "--reason", "the maker wrote", "--record")
    done = told(
        "recall-step", "K01-0001", "found", "010000012", "--place", "shelf", "--at", "2026-11-26 08:15", "--json"
    )
    assert json.loads(done.out)["stock"]["found"] == ["010000012"]
    refused = told("recall-step", "K01-0001", "reached", "C-9")
    assert refused.code == 1
    assert "client C-9 is not reached by this recall" in refused.err
    closed = told("recall-step", "K01-0001", "close", "--note", "shelf empty", "--json")
    assert (closed.code, json.loads(closed.out)["closed"]) == (0, True)
    shown = told("recall", "K01-0001")
    assert (
        "Recall K01-0001 (closed): lot:Saltmarsh Colour/5501, the maker wrote; what it reaches is kept back"
        in shown.out
    )
    assert "2026-11-26 08:15Z stock found: bottle 010000012; shelf" in shown.out


def test_a_recall_without_a_reason_is_refused(told):
    assert "a recall without a reason" in told("recall", "5501", "--record").err


@pytest.mark.parametrize("moment", ["2026-03-29 02:30", "0001-01-01 00:30", "yesterday"])
def test_a_step_at_a_time_that_never_was_is_refused(told, practice, moment):
    """On 2026-03-29 the clocks of Vienna went from 02:00 to 03:00; the first hour of year 1 lies before UTC's."""
    told("recall", "5501", "--reason", "the maker wrote", "--record")
    settings = practice / "practice.toml"
    settings.write_text(settings.read_text().replace('time_zone = "UTC"', 'time_zone = "Europe/Vienna"'))
    done = told("recall-step", "K01-0001", "note", "--note", "asked", "--at", moment)
    assert (done.code, done.err) == (
        2,
        (
            f"tracelabels: --at '{moment}'; expected a local time such as \"2026-11-25 14:05\"; "
            "write year, month, day, hours and minutes\n"
        ),
    )
