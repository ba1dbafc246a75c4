"""Letters and the call list of a recall: who is in them, in which order, and that nothing goes wrong on the way out."""

import csv
import io
from dataclasses import replace

import bad_batch as story
import pypdf
import pytest

from tracelabels.custody import Client, Kind, Name
from tracelabels.workflows.recall import start_recall
from tracelabels.workflows.recall_letters import leave_letters


@pytest.fixture
def recalled(opened):
    practice = opened()
    with practice.write(by="bench") as unit:
        story.tell(unit)
    start_recall(practice, "lot:Saltmarsh Colour/5501", reason="the maker found mould in the batch", by="bench")
    return practice


def _left(practice, tmp_path):
    letters, calls = tmp_path / "letters.pdf", tmp_path / "calls.csv"
    told = leave_letters(practice, "K01-0001", letters=letters, call_list=calls)
    pages = [" ".join(page.extract_text().split()) for page in pypdf.PdfReader(letters).pages]
    return told, pages, list(csv.DictReader(io.StringIO(calls.read_text(encoding="utf-8-sig"))))


def test_each_client_has_a_page_and_protected_care_comes_first(recalled, tmp_path):
    told, pages, rows = _left(recalled, tmp_path)
    assert (told.letters, len(pages)) == (5, 5)
    assert [row["code"] for row in rows] == ["C-3", "C-1", "C-2", "C-4", "C-6"]
    assert rows[0] | {"uses": ""} == {
        "code": "C-3", "care": "protected", "name": "Client Number 3", "contact": "3 Marram Lane", "surgeon": "",
        "uses": "", "standing": "open", "attempts": "0", "reached on": "", "by": "",
    }  # fmt: skip
    first = pages[0]
    for words in (
        "Dear Client Number 3,", "3 Marram Lane", "U01-000003, 2026-11-30 12:00", "the maker found mould in the batch",
        "It is no medical advice", "recall K01-0001, client C-3",
    ):  # fmt: skip
        assert words in first
    assert "Client Number 1" not in first


def test_an_erased_client_gets_no_letter_and_is_named(recalled, tmp_path):
    with recalled.write(by="bench") as unit:
        unit.erase(unit.require_thing(Name(Kind.CLIENT, "C-4")), reason="asked for it")
    told, pages, rows = _left(recalled, tmp_path)
    assert told.erased == (Name(Kind.CLIENT, "C-4"),)
    assert (len(pages), "C-4" in [row["code"] for row in rows]) == (4, False)


def test_a_cell_is_never_a_formula_and_a_strange_script_is_written_by_hand(recalled, tmp_path):
    with recalled.write(by="bench") as unit:
        for code, name in (("C-1", "=1+1"), ("C-2", "\N{HANGUL SYLLABLE GIM}")):
            found = unit.require(Client, code)
            unit.amend(found, replace(found.value, name=name), reason="asked again")
    told, pages, rows = _left(recalled, tmp_path)
    assert told.by_hand == (Name(Kind.CLIENT, "C-2"),)
    assert len(pages) == 4
    assert [row["name"] for row in rows if row["code"] == "C-1"] == ["'=1+1"]
