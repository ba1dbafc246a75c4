"""Erasing a client: refused with every reason, else nothing personal is left in any file nor a later backup."""

import io
import zipfile
from datetime import UTC, date, datetime

import pypdf
import pytest

from tracelabels.custody import (
    AdverseEvent,
    CareLevel,
    Client,
    Evidence,
    Kind,
    Name,
    Recall,
    RecallAction,
    RecallStep,
    Use,
)
from tracelabels.errors import InputError, LedgerError
from tracelabels.workflows.backup import back_up
from tracelabels.workflows.erase_client import erase_client
from tracelabels.workflows.keep_evidence import evidence_file, keep_evidence, open_evidence
from tracelabels.workflows.practice import open_practice
from tracelabels.workflows.recall import start_recall
from tracelabels.workflows.recall_letters import leave_letters
from tracelabels.workflows.restore import restore
from tracelabels.workflows.verify_records import verify_records

AT = datetime(2026, 11, 25, 12, tzinfo=UTC)
LATER = date(2036, 12, 1)
"""The day after ten years from the last thing on record."""
BOTTLE = Name(Kind.BOTTLE, "010000012")
CLIENT = Client(
    code="C-0007",
    care_level=CareLevel.PROTECTED,
    name="Odile Ferncastle-Ångström",
    birth_date=date(1971, 3, 9),
    hospital_number="H-5512-XK",
    surgeon="Dr Quillfeather",
    allergies="nickel and lanolin",
    consent="folder 8 on 2027-01-04",
    identity_check="passport was seen",
    contact="7 Harbour Lane",
)
USE = Use(
    number="U01-000001",
    client=CLIENT.as_name,
    practitioner="s",
    at=AT,
    items=(BOTTLE,),
    verdict=None,
    procedure="areola repigmentation",
    body_site="breast (left upper)",
)
EVENT = AdverseEvent(
    number="A01-0001", client=CLIENT.as_name, onset=date(2026, 11, 26), uses=(USE.as_name,), what="redness spreading"
)
RECALL = Recall(number="K01-0001", cause="lot:x/5501", reason="a doubt", at=AT, clients=(CLIENT.as_name,))
PERSONAL = [
    *(str(getattr(CLIENT, name)) for name in ("name", "birth_date", "hospital_number", "surgeon", "allergies")),
    *(str(getattr(CLIENT, name)) for name in ("consent", "identity_check", "contact")),
    "areola repigmentation",
    "breast (left upper)",
    "redness spreading",
]
LETTER = b"%PDF-1.7\nDear Odile Ferncastle"


@pytest.fixture
def used(opened, bottle):
    """Record a client with a use, an open adverse event and a letter kept as evidence; return the practice."""
    practice = opened()
    bottle(practice)
    with practice.write(by="s") as ledger:
        for value in (CLIENT, USE, EVENT):
            ledger.record(value)
        keep_evidence(practice, ledger, LETTER, name="letter.pdf", about=USE.as_name, client=CLIENT.as_name)
    return practice


def close_event(practice):
    with practice.write(by="s") as ledger:
        recorded = ledger.require(AdverseEvent, EVENT.number)
        closed = AdverseEvent(**{**_values(EVENT), "closed_on": date(2026, 11, 30)})
        ledger.amend(recorded, closed, reason="healed")


def _values(value):
    return {name: getattr(value, name) for name in value.__dataclass_fields__}


def write_to_client(practice, letters, calls):
    """Write a letter to the client for a recall, and a call list; the recall is closed afterwards."""
    with practice.write(by="s") as ledger:
        ledger.record(RECALL)
    leave_letters(practice, RECALL.number, letters=letters, call_list=calls, by="s")
    with practice.write(by="s") as ledger:
        ledger.record(RecallAction(recall=RECALL.as_name, step=RecallStep.CLOSED, at=AT))


def stored_in(folder):
    """Every file with its bytes, of archives the files inside too, and of PDFs the text that their pages show."""
    found = {}
    for file in (one for one in folder.rglob("*") if one.is_file()):
        found[file.name] = file.read_bytes()
        if zipfile.is_zipfile(file):
            with zipfile.ZipFile(file) as pack:
                found |= {f"{file.name}/{name}": pack.read(name) for name in pack.namelist()}
    shown = {f"{name} as read": _text_of(content) for name, content in found.items() if content[:5] == b"%PDF-"}
    return found | shown


def _text_of(pdf):
    return "\n".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages).encode()


def test_it_is_refused_with_every_reason(used):
    with used.write(by="s") as ledger:
        ledger.record(RECALL)
    done = erase_client(used, "C-0007", by="s", reason="asked for it")
    assert [one.sentence for one in done.refused] == [
        "recall K01-0001 reaches the client and is not closed",
        "adverse event A01-0001 is not closed",
        (
            "kept until 2036-11-26: 10 years from 2026-11-26, the last thing on record "
            "(the practice's rule for client records)"
        ),
    ]
    assert done.facts == 0
    with used.ledger.read() as ledger:
        assert ledger.require(Client, "C-0007").value == CLIENT


def test_nothing_personal_is_left_in_any_file_nor_in_a_backup(used, opened, tmp_path):
    close_event(used)
    letters, calls = used.folder / "letters 1.pdf", used.folder / "calls.csv"
    write_to_client(used, letters, calls)
    assert CLIENT.contact.encode() in stored_in(tmp_path)["letters 1.pdf as read"]
    with used.ledger.read() as ledger:
        kept = [one.value for one in ledger.about(Evidence, "client", CLIENT.as_name)]
    evidence = kept[0]
    sealed = evidence_file(used, evidence).read_bytes()
    keys = [row["key"] for row in used.ledger.kept_apart()[0]["client_key"]]
    practice = opened(LATER)
    done = erase_client(practice, "C-0007", by="s", reason="asked for it")
    assert (done.refused, done.facts, done.left_over) == ((), 4, ())
    assert done.files == tuple(f"evidence/{one.digest[:2]}/{one.digest[2:]}.sealed" for one in kept)
    assert (len(kept), done.letters, done.by_hand) == (3, ("letters 1.pdf", "calls.csv"), ())
    back_up(practice, tmp_path / "practice" / "after.backup")
    (key,) = keys
    everything = stored_in(tmp_path)
    assert {"ledger.sqlite", "after.backup", "after.backup.keys", "after.backup/ledger.sqlite"} <= everything.keys()
    wanted = [text.encode(coding) for text in PERSONAL for coding in ("utf-8", "utf-16-le", "utf-16-be")]
    wanted += [bytes.fromhex(key), key.encode(), sealed[12:60]]
    assert [(name, one) for name, content in everything.items() for one in wanted if one in content] == []
    with practice.ledger.read() as ledger:
        opened_again = open_evidence(practice, ledger, evidence)
        assert (opened_again.content, opened_again.is_erased) == (None, True)
        (use,) = ledger.about(Use, "client", CLIENT.as_name)
        assert (use.value.at, use.value.items, use.value.procedure) == (AT, (BOTTLE,), None)
    found = verify_records(practice)
    assert (found.findings, found.files_erased) == ((), 3)


def test_letters_that_were_moved_altered_or_left_elsewhere_are_told(used, opened, tmp_path):
    close_event(used)
    (used.folder / "letters").mkdir()
    inside, calls = used.folder / "letters" / "one.pdf", used.folder / "calls.csv"
    write_to_client(used, inside, calls)
    leave_letters(used, RECALL.number, letters=tmp_path / "two.pdf", call_list=None, by="s")
    inside.rename(used.folder / "letters" / "moved.pdf")
    calls.write_text("somebody's own", encoding="utf-8")
    done = erase_client(opened(LATER), "C-0007", by="s", reason="asked")
    assert (done.letters, done.by_hand) == (
        (),
        (
            (
                "letters/one.pdf, left on 2026-11-25, does not lie there any more: deleted already, or moved: "
                "look for it by hand"
            ),
            (
                "calls.csv, left on 2026-11-25, was altered or replaced since: what lies there now was left alone, "
                "look at it by hand"
            ),
            "two.pdf, left on 2026-11-25, outside this folder: delete it by hand",
        ),
    )
    assert calls.read_text(encoding="utf-8") == "somebody's own"


def test_letters_that_another_site_left_are_told(used, opened):
    close_event(used)
    write_to_client(used, used.folder / "one.pdf", None)
    elsewhere = (used.folder / "practice.toml").read_text(encoding="utf-8").replace("site = 1", "site = 2")
    (used.folder / "practice.toml").write_text(elsewhere, encoding="utf-8")
    done = erase_client(opened(LATER), "C-0007", by="s", reason="asked")
    assert done.by_hand == ("one.pdf, left on 2026-11-25, at site 1: erase the client there, too",)
    assert (used.folder / "one.pdf").exists()


def _evidence(ledger):
    return ledger.about(Evidence, "client", CLIENT.as_name)[0].value


def test_the_search_of_that_test_is_able_to_find(used, tmp_path):
    """The same bytes are there before: the key and the sealed letter; and plain text that nobody sealed."""
    ((row,),) = used.ledger.kept_apart()[0].values()
    everything = stored_in(tmp_path)
    assert any(bytes.fromhex(row["key"]) in content for content in everything.values())
    (used.folder / "printed" / "notes.txt").write_text(f"called {CLIENT.contact}", encoding="utf-16-le")
    close_event(used)
    assert [name for name, content in stored_in(tmp_path).items() if CLIENT.contact.encode("utf-16-le") in content]


def test_files_that_still_hold_the_name_are_told(used, opened):
    close_event(used)
    (used.folder / "printed" / "notes.txt").write_text(f"called {CLIENT.name}", encoding="utf-8")
    done = erase_client(opened(LATER), "C-0007", by="s", reason="asked")
    assert done.left_over == ("printed/notes.txt",)


def test_an_old_backup_revives_nobody_if_only_the_newest_keys_are_kept(used, opened, tmp_path):
    close_event(used)
    old, new = tmp_path / "old.backup", tmp_path / "new.backup"
    back_up(used, old)
    practice = opened(LATER)
    erase_client(practice, "C-0007", by="s", reason="asked for it")
    back_up(practice, new)
    back = restore(old, tmp_path / "back", keys=tmp_path / "new.backup.keys")
    assert back.erased == 4  # the client, the use, the adverse event before and after it was closed
    assert not any(text.encode() in content for content in stored_in(back.folder).values() for text in PERSONAL)


def test_done_again_it_finishes_what_was_interrupted(used, opened):
    close_event(used)
    practice = opened(LATER)
    with practice.ledger.read() as ledger:
        file = evidence_file(practice, _evidence(ledger))
    sealed = file.read_bytes()
    erase_client(practice, "C-0007", by="s", reason="asked for it")
    file.write_bytes(sealed)
    assert [one.sentence.partition(": ")[2] for one in verify_records(practice).findings] == [
        "it was erased with its client and is here again; erase the client again"
    ]
    done = erase_client(practice, "C-0007", by="s", reason="again")
    assert (done.facts, len(done.files)) == (0, 1)
    assert verify_records(practice).findings == ()


def test_who_is_reached_since_the_recall_was_recorded_is_not_erased_either(used, opened):
    """What happened during an outage is entered late: the client has still to be called."""
    close_event(used)
    practice = opened(LATER)
    start_recall(practice, f"serial:{BOTTLE.text}", reason="a doubt", by="s")
    with practice.write(by="s") as ledger:
        late = Client(code="C-0008")
        ledger.record(late)
        late_use = {
            **_values(USE),
            "number": "U01-000002",
            "client": late.as_name,
            "procedure": None,
            "body_site": None,
        }
        ledger.record(Use(**late_use))
    done = erase_client(practice, "C-0008", by="s", reason="asked for it")
    assert done.refused[0].sentence == "recall K01-0001 reaches the client and is not closed"


def test_a_closed_recall_stands_against_nothing(used, opened):
    close_event(used)
    with used.write(by="s") as ledger:
        ledger.record(RECALL)
        ledger.record(RecallAction(recall=RECALL.as_name, step=RecallStep.CLOSED, at=AT))
    assert erase_client(opened(LATER), "C-0007", by="s", reason="asked").refused == ()


def test_who_is_not_on_record_cannot_be_erased_and_names_are_no_codes(used):
    with pytest.raises(LedgerError, match="client C-1; expected a client"):
        erase_client(used, "C-1", by="s", reason="asked")
    with pytest.raises(InputError, match="staff code 'Odile F'; expected up to 24 letters, digits"):
        erase_client(used, "C-0007", by="Odile F", reason="asked")


def test_a_reason_must_not_say_the_name(used, opened):
    close_event(used)
    practice = opened(LATER)
    for reason in ("Odile asked for it", "mrs ferncastle wrote", "lives at 7 harbour lane"):
        with pytest.raises(InputError, match="a reason that says what stands in"):
            erase_client(practice, "C-0007", by="s", reason=reason)
    with practice.ledger.read() as ledger:
        assert not ledger.is_erased(CLIENT.as_name)


def test_files_go_also_if_their_record_was_taken_back(used, opened):
    close_event(used)
    with used.write(by="s") as ledger:
        (recorded,) = ledger.about(Evidence, "client", CLIENT.as_name)
        ledger.retract(recorded.thing, reason="wrong file")
    done = erase_client(opened(LATER), "C-0007", by="s", reason="asked")
    assert len(done.files) == 1
    assert not evidence_file(used, recorded.value).exists()


def test_while_somebody_reads_it_is_said_that_traces_stand_in_the_log(used, folder, monkeypatch):
    """The log can be emptied only when nobody reads an older state; done again, it is."""
    monkeypatch.setattr("tracelabels.records.engine.BUSY_SECONDS", 1)
    close_event(used)
    with open_practice(folder, today=LATER) as practice:
        if "write-ahead" not in practice.ledger.condition().journal:
            pytest.skip("this SQLite library has no safe write-ahead log")
        with used.ledger.read() as reading:
            assert reading.require(Client, "C-0007").value == CLIENT
            with pytest.raises(
                LedgerError, match="traces may stand in the log: close the other programs and erase once"
            ):
                erase_client(practice, "C-0007", by="s", reason="asked")
        again = erase_client(practice, "C-0007", by="s", reason="asked")
    assert again.facts == 0
    wanted = [text.encode() for text in PERSONAL]
    assert not [one for content in stored_in(folder).values() for one in wanted if one in content]


def test_a_client_recorded_by_mistake_is_erased_at_once(used):
    wrong = Client(code="C-0009", name="Wren Alderwick")
    with used.write(by="s") as ledger:
        ledger.retract(ledger.record(wrong), reason="typed twice")
    done = erase_client(used, "C-0009", by="s", reason="typed twice")
    assert (done.refused, done.facts) == ((), 1)
    assert len(used.ledger.kept_apart()[0]["client_key"]) == 1
    assert verify_records(used).findings == ()


def test_an_old_code_erases_nobody_who_has_a_new_one(used):
    with used.write(by="s") as ledger:
        recorded = ledger.require(Client, "C-0007")
        ledger.amend(recorded, Client(**{**_values(CLIENT), "code": "C-0017"}), reason="misread")
    with pytest.raises(LedgerError, match="client C-0007; expected a client"):
        erase_client(used, "C-0007", by="s", reason="asked")
