"""What is personal, from the command line: erase and export a client, enter and erase staff."""

import json
from datetime import date

import pytest

from tracelabels.custody import Client
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
