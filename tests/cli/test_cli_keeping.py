"""Keeping the record: verify with signed heads and files on record."""

import json

import pytest

from tracelabels.records.engine import sqlite_driver


@pytest.fixture
def head(run, practice, tmp_path):
    file = tmp_path / "heads.json"
    done = run("head", "--out", file, "--practice", practice)
    assert done.code == 0, done.err
    return file


def cut_short(practice) -> None:
    """Take the last fact away, as whoever may write to the file can."""
    raw = sqlite_driver().connect(practice / "ledger.sqlite")
    triggers = raw.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall()
    for (name,) in triggers:
        raw.execute(f"DROP TRIGGER {name}")
    tables = [name for (name,) in raw.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall()]
    last = raw.execute("SELECT max(sequence) FROM fact").fetchone()[0]
    for table in tables:
        if any(column[1] == "sequence" for column in raw.execute(f"PRAGMA table_info({table})")):
            raw.execute(f"DELETE FROM {table} WHERE sequence = ?", [last])  # noqa: S608  names from the database
    raw.commit()
    raw.close()


def test_a_whole_record_says_how_it_is_kept(run, practice, head):
    done = run("verify", "--head", head, "--json", "--practice", practice)
    said = json.loads(done.out)
    facts = said["facts"]["1"]
    assert done.code == 0
    assert said == {
        "ok": True,
        "problems": [],
        "library": f"SQLite {sqlite_driver().sqlite_version}",
        "journal": said["journal"],
        "durable": True,
        "facts": {"1": facts},
        "heads": 1,
        "files_checked": 1,
        "files_elsewhere": [],
        "files_erased": 0,
        "lost_keys": [],
    }
    assert "Compared with 1 signed head kept elsewhere.\nEvery fact is in its place and unchanged.\n" in done.err
    assert json.loads(head.read_text())["heads"][0]["sequence"] == facts


def test_a_chain_cut_short_is_found_only_with_a_head(run, practice, head):
    cut_short(practice)
    without = run("verify", "--practice", practice)
    assert without.code == 0
    assert "No signed head was given: facts missing at the end would not be noticed." in without.err
    done = run("verify", "--head", head, "--practice", practice)
    last = json.loads(head.read_text())["heads"][0]["sequence"]
    assert done.code == 1
    assert done.err.startswith(f"1-{last}: fact 1-{last}: it is missing, against a head kept outside this database\n")


def test_a_printed_file_that_was_changed_is_found(run, practice):
    file = practice / "printed" / "R01-0001.pdf"
    file.write_bytes(file.read_bytes() + b"%\n")
    done = run("verify", "--json", "--practice", practice)
    assert done.code == 1
    assert json.loads(done.out)["problems"] == [
        {"at": "printed/R01-0001.pdf", "sentence": "printed/R01-0001.pdf: the file is not the one that is on record"}
    ]
    file.unlink()
    done = run("verify", "--practice", practice)
    assert done.code == 0
    assert "printed/R01-0001.pdf is not in the practice's folder, so its digest was not checked." in done.err


def test_a_wrong_head_file_is_refused_and_the_right_one_still_counts(run, practice, head, tmp_path):
    foreign, changed = tmp_path / "foreign.json", tmp_path / "changed.json"
    assert run("new", tmp_path / "other").code == 0
    assert run("head", "--out", foreign, "--practice", tmp_path / "other").code == 0
    changed.write_text(head.read_text().replace('"sequence": ', '"sequence": 1'))
    wrong = {
        foreign: "expected a head that this practice signed",
        changed: "expected a head as it was signed",
        practice / "practice.toml": "expected a file that 'tracelabels head' left",
        tmp_path / "nowhere": "expected a file that 'tracelabels head' left",
    }
    for file, sentence in wrong.items():
        done = run("verify", "--head", file, "--head", head, "--json", "--practice", practice)
        said, refused = map(json.loads, done.out.splitlines())
        assert (done.code, said["ok"], said["heads"], refused["head"]) == (2, True, 1, str(file))
        assert sentence in refused["error"]


def test_a_head_is_not_left_over_something_else(run, practice, head):
    assert run("head", "--out", head, "--practice", practice).code == 0
    done = run("head", "--out", practice / "practice.toml", "--practice", practice)
    assert (done.code, "where something else lies already" in done.err) == (2, True)


def test_the_signing_key_lies_beside_the_ledger_for_its_owner_only(run, practice):
    assert run("head", "--out", practice / "heads.json", "--practice", practice).code == 0
    key = practice / "ledger.sqlite.signing-key"
    assert key.stat().st_mode & 0o077 == 0
    assert bytes.fromhex(key.read_text()) not in (practice / "ledger.sqlite").read_bytes()
    assert key.read_text() != (practice / "ledger.sqlite.key").read_text()


def test_a_lost_signing_key_is_said_and_a_new_one_is_begun_only_on_purpose(run, practice, head, tmp_path):
    here, key = ("--practice", practice), practice / "ledger.sqlite.signing-key"
    old = json.loads(head.read_text())["heads"][0]["public_key"][:16]
    assert run("backup", tmp_path / "before.backup", *here).code == 0
    key.unlink()
    gone = f"Heads signed with key {old} can no longer be extended, for that key is not here any more; "
    verified = run("verify", "--head", head, "--json", *here)
    assert (verified.code, json.loads(verified.out)["heads"]) == (0, 1)
    assert json.loads(verified.out)["lost_keys"] == [f"{gone}no signing key lies here."]
    refused = run("head", "--out", tmp_path / "new.json", *here)
    assert refused.code == 2
    assert refused.err == (
        f"tracelabels: {gone}no signing key lies here; expected the signing key with which heads were signed; "
        "put its file back from the keys of a backup; "
        "if it is lost for good, begin a new one with 'tracelabels head --new-key'\n"
    )
    assert not key.exists()
    assert run("backup", tmp_path / "without.backup", *here).code == 1
    done = run("head", "--out", tmp_path / "new.json", "--new-key", *here)
    new = json.loads((tmp_path / "new.json").read_text())["heads"][0]["public_key"][:16]
    assert (done.code, done.err.splitlines()[-1]) == (0, f"{gone}key {new} is in force.")
    again = run("verify", "--head", head, "--head", tmp_path / "new.json", *here)
    assert (again.code, f"{gone}key {new} is in force.\nCompared with 2 signed heads" in again.err) == (0, True)
    assert "a new signing key, while one lies here" in run("head", "--out", head, "--new-key", *here).err
    assert run("backup", tmp_path / "after.backup", *here).code == 0
    for archive in ("before.backup", "after.backup"):
        back = tmp_path / f"from {archive}"
        restored = run("restore", tmp_path / archive, back, "--keys", tmp_path / "after.backup.keys")
        assert (restored.code, f"{gone}key {new} is in force." in restored.err) == (0, True)
    back = run("restore", tmp_path / "without.backup", tmp_path / "back")
    assert (back.code, gone in back.err) == (0, True)


def test_a_backup_and_its_restore_by_commands(run, practice, tmp_path):
    archive, back = tmp_path / "monday.backup", tmp_path / "back"
    done = run("backup", archive, "--json", "--practice", practice)
    said = json.loads(done.out)
    assert (done.code, said["archive"], said["keys"], said["ok"]) == (0, str(archive), f"{archive}.keys", True)
    done = run("restore", archive, back, "--json")
    restored = json.loads(done.out)
    assert (done.code, restored["ok"], restored["files"], restored["files_checked"]) == (0, True, said["files"], 1)
    assert restored["facts"] == {"1": said["facts"]}
    assert run("look", "010000020", "--practice", back).out == run("look", "010000020", "--practice", practice).out
    again = run("restore", archive, back)
    assert (again.code, again.out) == (2, "")
    assert again.err == (
        f"tracelabels: {back}, where something lies already; expected a new or an empty folder; "
        "name another one; nothing was restored\n"
    )


def test_a_restore_of_an_older_day_is_found_by_a_newer_head(run, practice, tmp_path):
    """A copy from before is a whole record of its day; that later facts are missing shows only against a later head."""
    archive, back, later = tmp_path / "monday.backup", tmp_path / "back", tmp_path / "tuesday.json"
    assert run("backup", archive, "--practice", practice).code == 0
    assert run("pack", "010000020", "--material-lot", "PM-1", "--practice", practice, "--today", "2026-11-25").code == 0
    assert run("head", "--out", later, "--practice", practice).code == 0
    assert run("restore", archive, back).code == 0
    done = run("verify", "--head", later, "--practice", back)
    assert done.code == 1
    assert "it is missing, against a head kept outside this database" in done.err
