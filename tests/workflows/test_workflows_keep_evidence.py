"""Evidence: kept by digest, whole or not at all, sealed where it shows a client, checked by verify."""

import hashlib
import io
import shutil

import pytest
from PIL import Image

from tracelabels.custody import Client, Evidence, Incident, IncidentKind, Kind, Name, Use
from tracelabels.errors import InputError, LedgerError
from tracelabels.workflows.keep_evidence import (
    evidence_file,
    evidence_name,
    find_evidence,
    keep_evidence,
    open_evidence,
    take_out,
)
from tracelabels.workflows.new_practice import make_practice
from tracelabels.workflows.practice import open_practice
from tracelabels.workflows.verify_records import verify_records

LOG = b"minute;temperature\n0;134.2\n"
PLACE = "Harbour Lane 7"
BOTTLE = Name(Kind.BOTTLE, "010000012")
CLIENT = Client(code="C-0007", name="Odile Ferncastle")


def photograph() -> bytes:
    exif = Image.Exif()
    exif[0x010E] = PLACE
    written = io.BytesIO()
    Image.new("L", (64, 48), 90).save(written, format="JPEG", exif=exif)
    return written.getvalue()


@pytest.fixture
def here(opened, bottle):
    practice = opened()
    assert bottle(practice) == BOTTLE.text
    with practice.write(by="bench") as ledger:
        ledger.record(CLIENT)
    return practice


def keep(practice, content, name, **about: Name):
    with practice.write(by="bench") as ledger:
        return keep_evidence(practice, ledger, content, name=name, **about)


def files(practice):
    return sorted(one for one in (practice.folder / "evidence").rglob("*") if one.is_file())


def test_a_logger_file_is_kept_byte_for_byte_by_its_digest(here):
    kept = keep(here, LOG, "run 4.csv", about=BOTTLE)
    digest = hashlib.sha256(LOG).hexdigest()
    assert kept == Evidence(digest=digest, media_type="text/csv", size=len(LOG), about=BOTTLE)
    assert files(here) == [here.folder / "evidence" / digest[:2] / f"{digest[2:]}.csv"]
    with here.ledger.read() as ledger:
        assert find_evidence(ledger, digest) == kept
        assert open_evidence(here, ledger, kept).content == LOG
    assert keep(here, LOG, "again.csv", about=BOTTLE) == kept
    assert len(files(here)) == 1


def test_a_photograph_says_nothing_but_its_pixels(here):
    content = photograph()
    assert PLACE.encode() in content
    kept = keep(here, content, "label.jpg", about=BOTTLE)
    assert kept.media_type == "image/jpeg"
    assert PLACE.encode() not in evidence_file(here, kept).read_bytes()


def test_what_shows_a_client_is_sealed(here):
    letter = b"%PDF-1.7 to Odile Ferncastle"
    kept = keep(here, letter, "letter.pdf", client=CLIENT.as_name)
    stored = evidence_file(here, kept).read_bytes()
    assert b"Odile" not in stored
    assert kept.digest == hashlib.sha256(stored).hexdigest()
    with here.ledger.read() as ledger:
        found = open_evidence(here, ledger, kept)
        assert (found.content, found.is_erased) == (letter, False)
    assert verify_records(here).findings == ()


def test_a_client_entered_in_the_same_unit_has_a_key_already(here):
    other = Client(code="C-0008", name="Wren Alder")
    with here.write(by="bench") as ledger:
        ledger.record(other)
        kept = keep_evidence(here, ledger, LOG, name="a.csv", client=other.as_name)
    with here.ledger.read() as ledger:
        assert open_evidence(here, ledger, kept).content == LOG


def test_sealed_files_do_not_open_for_another_client(here):
    with here.write(by="bench") as ledger:
        ledger.record(Client(code="C-0009"))
        sealed = ledger.sealed_for(CLIENT.as_name, LOG, purpose="evidence")
        assert ledger.unsealed(CLIENT.as_name, sealed, purpose="evidence") == LOG
        assert ledger.unsealed(CLIENT.as_name, sealed, purpose="letter") is None
        assert ledger.unsealed(Name(Kind.CLIENT, "C-0009"), sealed, purpose="evidence") is None


def test_nothing_is_kept_about_what_is_not_on_record(here):
    for about in ({"about": Name(Kind.LOAD, "L01-0009")}, {"client": Name(Kind.CLIENT, "C-1")}):
        with pytest.raises(LedgerError, match="recorded in this ledger"):
            keep(here, LOG, "a.csv", **about)
    assert files(here) == []


@pytest.mark.parametrize(
    ("content", "sentence"),
    [(b"", "which is empty"), (b"\x00\x01\x02program", "neither a photograph, nor a PDF, nor text")],
)
def test_other_files_are_refused(here, content, sentence):
    with pytest.raises(InputError, match=sentence):
        keep(here, content, "a.bin", about=BOTTLE)


def test_verify_names_a_missing_and_a_changed_file(here):
    first, second = keep(here, LOG, "a.csv", about=BOTTLE), keep(here, LOG + b"1;134\n", "b.csv", about=BOTTLE)
    assert verify_records(here).files_checked == 2
    evidence_file(here, first).unlink()
    evidence_file(here, second).write_bytes(LOG)
    said = sorted(one.sentence.partition(": ")[2] for one in verify_records(here).findings)
    assert said == ["the file is missing", "the file is not the one that is on record"]
    with here.ledger.read() as ledger:
        for kept, sentence in ((first, "which is missing"), (second, "which was changed")):
            with pytest.raises(InputError, match=sentence):
                open_evidence(here, ledger, kept)


def test_what_stands_behind_a_use_is_sealed_with_its_clients_key(here):
    use = Use(
        number="U01-000001", client=CLIENT.as_name, practitioner="s", at=here.now(), items=(BOTTLE,), verdict=None
    )
    lone = Incident(number="I01-0001", kind=IncidentKind.OTHER, at=here.now(), items=(BOTTLE,))
    with here.write(by="s") as ledger:
        ledger.record(use)
        ledger.record(lone)
    assert keep(here, LOG, "a.csv", about=use.as_name).client == CLIENT.as_name
    assert keep(here, LOG, "a.csv", about=CLIENT.as_name).client == CLIENT.as_name
    assert keep(here, LOG, "a.csv", about=lone.as_name).client is None


def test_a_kept_file_is_taken_out_for_people_to_look_at(here, tmp_path):
    kept = keep(here, LOG, "a.csv", client=CLIENT.as_name)
    assert take_out(here, kept.digest, tmp_path / "look.csv").content == LOG
    assert (tmp_path / "look.csv").read_bytes() == LOG
    with pytest.raises(InputError, match="expected a new name"):
        take_out(here, kept.digest, tmp_path / "look.csv")
    with pytest.raises(InputError, match="expected the digest of a file of evidence"):
        take_out(here, "ab", tmp_path / "b")
    with here.write(by="s") as ledger:
        ledger.erase_client(CLIENT.as_name, reason="asked")
    assert take_out(here, kept.digest, tmp_path / "gone.csv").is_erased
    assert not (tmp_path / "gone.csv").exists()


def test_what_another_site_keeps_is_told_and_is_not_missing(here, tmp_path):
    settings = make_practice(tmp_path / "second", site=2)
    (tmp_path / "second" / "ledger.sqlite").unlink()
    shutil.copy(here.folder / "ledger.sqlite.key", tmp_path / "second" / "ledger.sqlite.key")
    with open_practice(settings.parent, today=None) as second:
        second.ledger.merge(here.folder / "ledger.sqlite", by="s")
        kept = keep(second, LOG, "a.csv", about=BOTTLE)
        here.ledger.merge(second.folder / "ledger.sqlite", by="s")
    found = verify_records(here)
    assert (found.findings, found.files_elsewhere) == ((), (evidence_name(kept),))
