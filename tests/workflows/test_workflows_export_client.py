"""Everything about one client: complete against a walk of all tables, readable, nobody else in it."""

import json
import sys
import zipfile
from pathlib import Path

import pytest
from sqlalchemy import select

from tracelabels.custody import Client, Incident, IncidentKind, Kind, Name, Recall
from tracelabels.errors import InputError, LedgerError
from tracelabels.records.schema import metadata
from tracelabels.workflows.correct_record import correct_record
from tracelabels.workflows.export_client import export_client
from tracelabels.workflows.keep_evidence import keep_evidence

sys.path.insert(0, str(Path(__file__).parents[1] / "records"))
from records_life import CLIENT, POUCH, record_life
from records_scenario import BEGIN, raw_engine, record_morning

OTHER = Client(code="C-0008", name="Wren Alder")
LETTER = b"%PDF-1.7 to Odile Ferncastle"


@pytest.fixture
def lived(opened):
    practice = opened()
    with practice.write(by="staff-1") as ledger:
        record_morning(ledger)
        record_life(ledger, BEGIN)
        ledger.record(OTHER)
        second = Name(Kind.USE, "U-0001")
        ledger.record(
            Incident(
                number="I-0002",
                kind=IncidentKind.USED_TWICE,
                at=BEGIN,
                items=(POUCH,),
                client=OTHER.as_name,
                use=second,
                account="Wren met the same pouch",
            )
        )
        both = (CLIENT.as_name, OTHER.as_name)
        ledger.record(Recall(number="K-0002", cause="x", reason="y", at=BEGIN, clients=both))
        keep_evidence(practice, ledger, LETTER, name="letter.pdf", client=CLIENT.as_name)
    correct_record(practice, "client", "C-0007", {"contact": "by mail"}, by="staff-1", reason="moved")
    correct_record(practice, "use", "U-0001", {"side": "right"}, by="staff-1", reason="other side")
    return practice


def walked(practice, thing) -> set[str]:
    """Every fact that names a thing in any column of any table: read row by row, by the columns' names alone."""
    engine = raw_engine(practice.folder / "ledger.sqlite")
    found = set()
    with engine.connect() as raw:
        for table in metadata.tables.values():
            for row in raw.execute(select(table)).mappings():
                pairs = [name.removesuffix("_site") for name in row if name.endswith("_site")]
                if any((row[f"{one}_site"], row[f"{one}_sequence"]) == (thing.site, thing.sequence) for one in pairs):
                    found.add(f"{row['site']}-{row['sequence']}")
    engine.dispose()
    return found


def test_every_fact_that_names_the_client_is_in_it(lived, tmp_path):
    done = export_client(lived, "C-0007", tmp_path / "out")
    record = json.loads((tmp_path / "out" / "client.json").read_text(encoding="utf-8"))
    exported = {one["fact"] for one in record["facts"]}
    with lived.ledger.read() as ledger:
        client, use = ledger.require_thing(CLIENT.as_name), ledger.require_thing(Name(Kind.USE, "U-0001"))
    assert len(walked(lived, client)) > 8
    assert walked(lived, client) | walked(lived, use) <= exported
    assert done.facts == len(exported)
    kinds = {one["kind"] for one in record["facts"]}
    assert {"client", "client_use", "opening", "fill", "incident", "adverse_event", "recall", "evidence"} <= kinds


def test_it_is_readable_in_every_version_and_the_files_are_open(lived, tmp_path):
    export_client(lived, "C-0007", tmp_path / "out")
    record = json.loads((tmp_path / "out" / "client.json").read_text(encoding="utf-8"))
    own = [one for one in record["facts"] if one["kind"] == "client"]
    assert [(one["says"]["contact"], one["stands"]) for one in own] == [("by post", False), ("by mail", True)]
    assert own[1]["reason"] == "moved"
    uses = [one["says"] for one in record["facts"] if one["kind"] == "client_use"]
    assert [one["side"] for one in uses] == ["left", "right"]
    assert uses[0]["items"][0] == "pouch:010000061"
    (file,) = record["files"]
    assert (tmp_path / "out" / file["file"]).read_bytes() == LETTER
    page = (tmp_path / "out" / "client.txt").read_text(encoding="utf-8")
    assert "  name: Odile Ferncastle\n" in page
    assert "  items: pouch:010000061, tube:010000036" in page


def test_nobody_else_is_in_it(lived, tmp_path):
    export_client(lived, "C-0007", tmp_path / "out")
    text = (tmp_path / "out" / "client.json").read_text(encoding="utf-8")
    assert "C-0008" not in text
    assert "Wren" not in text
    assert '"client:(another)"' in text


def test_an_archive_holds_the_same(lived, tmp_path):
    export_client(lived, "C-0007", tmp_path / "out")
    export_client(lived, "C-0007", tmp_path / "out.zip")
    with zipfile.ZipFile(tmp_path / "out.zip") as pack:
        inside = {name: pack.read(name) for name in pack.namelist()}
    files = (one for one in (tmp_path / "out").rglob("*") if one.is_file())
    assert inside == {one.relative_to(tmp_path / "out").as_posix(): one.read_bytes() for one in files}
    with pytest.raises(InputError, match="where something lies already"):
        export_client(lived, "C-0007", tmp_path / "out.zip")


def test_of_an_erased_client_only_the_code_is_left(lived, tmp_path):
    with lived.write(by="s") as ledger:
        ledger.erase_client(CLIENT.as_name, reason="asked")
    done = export_client(lived, "C-0007", tmp_path / "out")
    assert done.is_erased
    text = (tmp_path / "out" / "client.json").read_text(encoding="utf-8")
    assert "Odile" not in text
    assert json.loads(text)["files"][0]["erased"] is True
    with pytest.raises(LedgerError, match="client C-1; expected a client"):
        export_client(lived, "C-1", tmp_path / "none")


def test_the_ledger_is_as_before(lived, tmp_path):
    before = lived.ledger.heads()
    export_client(lived, "C-0007", tmp_path / "out")
    assert lived.ledger.heads() == before
