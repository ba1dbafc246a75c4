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


def test_an_unknown_cause_is_refused_in_one_sentence(told):
    ran = told("trace", "load:L01-0009")
    assert (ran.code, ran.out) == (2, "")
    assert "load:L01-0009" in ran.err
