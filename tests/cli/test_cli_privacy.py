"""What is personal, from the command line: erase and export a client, enter and erase staff."""

import json
from datetime import UTC, date, datetime

import pytest

from tracelabels.custody import Client, Recall, RecallAction, RecallStep
from tracelabels.workflows.practice import open_practice

CLIENT = Client(code="C-0007", name="Odile Ferncastle", contact="7 Harbour Lane")


@pytest.fixture
def known(practice):
    with open_practice(practice, today=date(2026, 11, 25)) as here, here.write(by="s") as ledger:
        ledger.record(CLIENT)
    return practice


def test_a_client_is_kept_with_the_reason_and_exit_1(run, known):
    words = ("erase-client", "C-0007", "--reason", "asked for it", "--practice", known)
    done = run(*words, "--today", "2027-01-04", "--json")
    said = json.loads(done.out)
    assert (done.code, said["erased"], said["facts"]) == (1, False, 0)
    assert said["reasons"] == [
        (
            "kept until 2036-11-25: 10 years from 2026-11-25, the last thing on record "
            "(the practice's rule for client records)"
        )
    ]
    assert "Client C-0007 is kept:\n  kept until 2036-11-25" in done.err


def test_a_client_is_erased_when_the_years_are_over(run, known):
    words = ("erase-client", "C-0007", "--reason", "asked for it", "--practice", known)
    done = run(*words, "--today", "2036-11-26")
    assert done.code == 0
    lines = ["Client C-0007 is erased.", "  facts that lost what was personal: 1", "  files destroyed: 0"]
    assert done.err.splitlines()[:4] == [*lines, "Not reached from here:"]
    assert b"Odile" not in (known / "ledger.sqlite").read_bytes()
    assert run("verify", "--practice", known).code == 0
    again = run("erase-client", "C-0009", "--reason", "asked", "--practice", known)
    assert again.code == 2
    assert again.err.startswith("tracelabels: client C-0009; expected a client that is recorded in this ledger; ")


def test_letters_to_a_client_go_with_the_client(run, known, tmp_path):
    at = datetime(2026, 11, 25, 9, tzinfo=UTC)
    recall = Recall(number="K01-0001", cause="lot:x/5501", reason="a doubt", at=at, clients=(CLIENT.as_name,))
    with open_practice(known, today=date(2026, 11, 25)) as here, here.write(by="s") as ledger:
        ledger.record(recall)
        ledger.record(RecallAction(recall=recall.as_name, step=RecallStep.CLOSED, at=at))
    here = ("--practice", known, "--today", "2026-11-25")
    left = run("recall", "K01-0001", "--letters", known / "a.pdf", "--call-list", tmp_path / "calls.csv", *here)
    assert (left.code, f"Letters: 1 in {known / 'a.pdf'}" in left.err) == (0, True)
    shown = run("recall", "K01-0001", *here).out
    assert "2026-11-25 12:00Z file left: client C-0007; a.pdf; " in shown
    words = ("erase-client", "C-0007", "--reason", "asked", "--practice", known, "--today", "2036-11-26")
    assert run(*words).err.splitlines()[2:5] == [
        "  files destroyed: 2",
        "  a.pdf, which named the client, was destroyed whole",
        "  calls.csv, left on 2026-11-25, outside this folder: delete it by hand",
    ]


def test_everything_about_a_client_is_exported(run, known, tmp_path):
    done = run("client-export", "C-0007", "--out", tmp_path / "c7.zip", "--json", "--practice", known)
    assert (done.code, json.loads(done.out)["facts"]) == (0, 1)
    assert "lies open" in done.err
    assert (tmp_path / "c7.zip").stat().st_size > 0


def test_staff_are_entered_by_code_and_their_names_erased(run, practice):
    entered = run("staff", "staff-7", "--name", "Quillon Vance", "--initials", "QV", "--practice", practice)
    assert (entered.code, entered.err) == (0, "Entered staff staff-7.\n")
    refused = run("staff", "quillon", "--name", "Quillon Vance", "--practice", practice)
    assert refused.code == 2
    assert "staff code 'quillon', in which the name stands; expected a code that says nothing" in refused.err
    assert run("withdraw", "010000012", "--reason", "x", "--by", "Quillon Vance", "--practice", practice).code == 2
    assert b"Quillon" in _stored(practice)
    erased = run("erase-staff", "staff-7", "--reason", "left", "--practice", practice)
    assert erased.code == 0
    assert b"Quillon" not in _stored(practice)
    assert run("verify", "--practice", practice).code == 0
    assert run("erase-staff", "staff-7", "--reason", "left", "--practice", practice).code == 2


def _stored(folder) -> bytes:
    return b"".join(one.read_bytes() for one in folder.rglob("*") if one.is_file())


def test_files_are_kept_and_taken_out_again(run, known, tmp_path):
    log = tmp_path / "run.csv"
    log.write_bytes(b"minute,temperature\n0,134.2\n")
    kept = run("evidence", log, "--about", "bottle:010000012", "--client", "C-0007", "--json", "--practice", known)
    said = json.loads(kept.out)
    assert (kept.code, said["sealed"], said["media_type"]) == (0, True, "text/csv")
    assert run("open-evidence", said["digest"], "--out", tmp_path / "again.csv", "--practice", known).code == 0
    assert (tmp_path / "again.csv").read_bytes() == log.read_bytes()
    words = ("erase-client", "C-0007", "--reason", "asked for it", "--today", "2036-11-26", "--practice", known)
    assert "  files destroyed: 1\n" in run(*words).err
    gone = run("open-evidence", said["digest"], "--out", tmp_path / "gone.csv", "--practice", known)
    assert (gone.code, gone.err) == (1, "This file was erased with its client.\n")
    wrong = run("evidence", log, "--about", "box:1", "--practice", known)
    assert (wrong.code, "--about 'box:1'; expected KIND:NAME" in wrong.err) == (2, True)
