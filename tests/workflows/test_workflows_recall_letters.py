"""Letters and the call list of a recall: who is in them, in which order, and that nothing goes wrong on the way out."""

import csv
import hashlib
import io
from dataclasses import replace
from datetime import UTC, datetime

import bad_batch as story
import pypdf
import pytest

from tracelabels.custody import Client, Evidence, Kind, Name, RecallAction, RecallStep
from tracelabels.errors import InputError, LedgerError
from tracelabels.workflows import recall_letters as letters_workflow
from tracelabels.workflows.keep_evidence import open_evidence
from tracelabels.workflows.recall import Step, start_recall, take_step
from tracelabels.workflows.recall_letters import leave_letters
from tracelabels.workflows.verify_records import verify_records


@pytest.fixture
def recalled(opened):
    practice = opened()
    with practice.write(by="bench") as unit:
        story.tell(unit)
    start_recall(practice, "lot:Saltmarsh Colour/5501", reason="the maker found mould in the batch", by="bench")
    return practice


def _left(practice, tmp_path):
    letters, calls = tmp_path / "letters.pdf", tmp_path / "calls.csv"
    told = leave_letters(practice, "K01-0001", letters=letters, call_list=calls, by="bench")
    pages = [" ".join(page.extract_text().split()) for page in pypdf.PdfReader(letters).pages]
    return told, pages, list(csv.DictReader(io.StringIO(calls.read_text(encoding="utf-8-sig"))))


def test_each_client_has_a_page_and_protected_care_comes_first(recalled, tmp_path):
    told, pages, rows = _left(recalled, tmp_path)
    assert (told.letters, len(pages)) == (5, 5)
    assert [row["code"] for row in rows] == ["C-3", "C-1", "C-2", "C-4", "C-6"]
    assert rows[0] | {"uses": ""} == {
        "code": "C-3", "care": "protected", "name": "Client Number 3", "contact": "3 Marram Lane", "surgeon": "",
        "uses": "", "standing": "open", "attempts": "0", "tried on": "", "reached on": "", "by": "",
    }  # fmt: skip
    first = pages[0]
    for words in (
        "Dear Client Number 3,", "3 Marram Lane", "U01-000003, 2026-11-30 12:00", "the maker found mould in the batch",
        "It is no medical advice", "recall K01-0001, client C-3",
    ):  # fmt: skip
        assert words in first
    assert "Client Number 1" not in first


def test_each_letter_is_kept_under_its_clients_key_and_what_is_left_is_noted(recalled, tmp_path):
    _left(recalled, tmp_path)
    with recalled.ledger.read() as ledger:
        for code in ("C-1", "C-3"):
            (kept,) = ledger.about(Evidence, "client", Name(Kind.CLIENT, code))
            assert (kept.value.about, kept.value.media_type) == (Name(Kind.RECALL, "K01-0001"), "application/pdf")
            (page,) = pypdf.PdfReader(io.BytesIO(open_evidence(recalled, ledger, kept.value).content)).pages
            assert f"recall K01-0001, client {code}" in " ".join(page.extract_text().split())
        noted = [one.value for one in ledger.about(RecallAction, "recall", Name(Kind.RECALL, "K01-0001"))]
    assert [(one.step, one.place, one.note) for one in noted] == [
        (RecallStep.FILE_LEFT_ELSEWHERE, name, hashlib.sha256((tmp_path / name).read_bytes()).hexdigest())
        for name in ("letters.pdf", "calls.csv")
    ]
    assert [one.text for one in noted[1].items] == ["C-3", "C-1", "C-2", "C-4", "C-6"]


@pytest.mark.parametrize(
    ("name", "sentence"),
    [
        ("to marram lane.pdf", None),
        ("4 Marram Lane.pdf", "a file name that says something personal about a client in it"),
        ("printed/K01-0001.pdf", "of which every backup would hold a copy"),
    ],
)
def test_a_name_must_be_plain_and_no_backup_takes_a_letter(recalled, name, sentence):
    place = recalled.folder / name
    if sentence is None:
        leave_letters(recalled, "K01-0001", letters=place, call_list=None, by="bench")
    else:
        with pytest.raises(InputError, match=sentence):
            leave_letters(recalled, "K01-0001", letters=place, call_list=None, by="bench")
    assert place.exists() == (sentence is None)
    assert verify_records(recalled).files_checked == (5 if sentence is None else 0)


def test_nobody_is_written_to_who_was_erased_while_the_letters_were_set(recalled, tmp_path, monkeypatch):
    whole_files = letters_workflow.whole_files

    def erase_first(files):
        with recalled.write(by="bench") as unit:
            unit.erase_client(Name(Kind.CLIENT, "C-4"), reason="asked for it")
        return whole_files(files)

    monkeypatch.setattr(letters_workflow, "whole_files", erase_first)
    with pytest.raises(LedgerError, match="client C-4, who was erased meanwhile"):
        leave_letters(recalled, "K01-0001", letters=None, call_list=tmp_path / "calls.csv", by="bench")
    assert list(tmp_path.glob("*.csv")) == []


def test_a_list_made_again_says_who_was_reached_and_who_was_tried(recalled, tmp_path):
    def step(kind, client, day):
        at = datetime(2026, 11, day, 9, tzinfo=UTC)
        take_step(recalled, "K01-0001", Step(step=kind, client=client, at=at), by="desk-2")

    step(RecallStep.CLIENT_ATTEMPT, "C-1", 24)
    step(RecallStep.CLIENT_ATTEMPT, "C-1", 23)
    step(RecallStep.CLIENT_ATTEMPT, "C-2", 23)
    step(RecallStep.CLIENT_REACHED, "C-2", 24)
    rows = {row["code"]: row for row in _left(recalled, tmp_path)[2]}
    said = ("standing", "attempts", "tried on", "reached on", "by")
    assert {code: tuple(rows[code][one] for one in said) for code in ("C-1", "C-2", "C-4")} == {
        "C-1": ("attempted", "2", "2026-11-23; 2026-11-24", "", ""),
        "C-2": ("reached", "1", "2026-11-23", "2026-11-24", "desk-2"),
        "C-4": ("open", "0", "", "", ""),
    }


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
