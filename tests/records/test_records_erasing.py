"""Erasing a client: key and content go and stay gone, across merges too; the chain stays valid and says erased."""

from dataclasses import fields, replace

import pytest
from records_life import CLIENT, POUCH, life_from, record_life
from records_scenario import BEGIN, KEY, Clock, raw_engine, record_morning
from sqlalchemy import select, text

from tracelabels.custody import AdverseEvent, Client, Incident, IncidentKind, Use
from tracelabels.errors import LedgerError
from tracelabels.records import FactId, ProblemKind, open_ledger
from tracelabels.records.schema import client_key, metadata

CODE = CLIENT.as_name
LIFE = life_from(BEGIN)
OWNED = tuple(one for one in LIFE if isinstance(one, (Client, Use, Incident, AdverseEvent)))


def personal_texts() -> list[str]:
    """Every personal field of the client, of the use, the incident and the adverse event, as text."""
    sealed = {"procedure", "body_site", "side", "account", "what", "culture", "physician"}
    sealed |= {one.name for one in fields(Client)} - {"code", "care_level", "care_set_by"}
    found = [str(getattr(one, name)) for one in OWNED for name in sealed if getattr(one, name, None)]
    # Words as short and as common as "left" stand elsewhere too; the long ones must stand nowhere.
    return [one for one in found if one not in {"left", "breast", "ward 4"}]


@pytest.fixture
def lived(ledger):
    with ledger.write(by="staff-1") as unit:
        record_morning(unit)
        record_life(unit, BEGIN)
    return ledger


def erase(ledger):
    with ledger.write(by="staff-2") as unit:
        count = unit.erase_client(CODE, reason="asked for it")
    ledger.scrub()
    return count


def everything_stored(location) -> bytes:
    """Every value of every table as bytes; of an SQLite ledger the files themselves."""
    if "://" not in str(location):
        return b"".join(one.read_bytes() for one in location.parent.glob(f"{location.name}*"))
    engine = raw_engine(location)
    with engine.connect() as raw:
        rows = [row for table in metadata.tables.values() for row in raw.execute(select(table))]
    engine.dispose()
    return b"\n".join(value if isinstance(value, bytes) else str(value).encode() for row in rows for value in row)


def sealed_in(location) -> int:
    engine = raw_engine(location)
    with engine.connect() as raw:
        found = raw.execute(text("SELECT count(*) FROM sealed")).scalar_one()
    engine.dispose()
    return found


def keys_in(location) -> list[bytes]:
    engine = raw_engine(location)
    with engine.connect() as raw:
        found = [bytes(row.key) for row in raw.execute(select(client_key))]
    engine.dispose()
    return found


def test_key_and_content_are_gone_and_the_chain_says_erased(lived, location):
    (key,) = keys_in(location)
    engine = raw_engine(location)
    with engine.connect() as raw:
        contents = [bytes(row[0]) for row in raw.execute(text("SELECT content FROM sealed"))]
    engine.dispose()
    assert key in everything_stored(location)
    assert erase(lived) == len(OWNED) == 4
    stored = everything_stored(location)
    assert key not in stored
    assert sum(one in stored for one in contents) == len(contents) - 4 == 1  # the member of staff stays
    for one in personal_texts():
        for coding in ("utf-8", "utf-16-le", "utf-16-be"):
            assert one.encode(coding) not in stored
    assert lived.verify() == []
    with lived.read() as found:
        assert found.is_erased(CODE)
        assert found.require(Client, CODE.text).value == Client(code=CODE.text)
        (use,) = found.about(Use, "client", CODE)
        assert (use.value.items, use.value.procedure, use.value.body_site) == (LIFE[18].items, None, None)
        (event,) = found.about(AdverseEvent, "client", CODE)
        assert (event.value.onset, event.value.what) == (OWNED[-1].onset, None)


@pytest.mark.usefixtures("lived")
def test_the_same_search_finds_what_is_not_sealed(location):
    """The search of the test above is able to find: a text of a plain row is there in the same bytes."""
    assert b"opened in haste" not in everything_stored(location)
    assert b"torn pouch" in everything_stored(location)


def test_every_version_of_every_owned_fact_is_erased(lived):
    with lived.write(by="staff-1") as unit:
        unit.amend(unit.require(Client, CODE.text), replace(CLIENT, name="Odile Fernwood"), reason="misspelt")
        use = unit.require(Use, "U-0001")
        unit.amend(use, replace(use.value, side="right"), reason="the other side")
    assert erase(lived) == 6
    assert lived.verify() == []


def test_another_client_is_not_touched(lived):
    other = replace(CLIENT, code="C-0008", name="Wren Alder")
    with lived.write(by="staff-1") as unit:
        unit.record(other)
    erase(lived)
    with lived.read() as found:
        assert found.require(Client, "C-0008").value == other
        assert not found.is_erased(other.as_name)
    assert lived.verify() == []


def test_a_second_erasure_finds_nothing_and_writes_nothing(lived):
    erase(lived)
    before = lived.heads()
    assert erase(lived) == 0
    assert lived.heads() == before


def test_what_happens_later_is_recorded_without_anything_personal(lived):
    erase(lived)
    incident = Incident(number="I-0002", kind=IncidentKind.OTHER, at=BEGIN, items=(POUCH,), client=CODE)
    with lived.write(by="staff-1") as unit:
        unit.record(incident)
        with pytest.raises(LedgerError, match=r"personal content about client .*, who was erased"):
            unit.record(replace(incident, number="I-0003", account="seen by the window"))
        with pytest.raises(LedgerError, match="who was erased"):
            unit.sealed_for(CODE, b"a letter", purpose="evidence")
    with lived.read() as found:
        assert found.require(Incident, "I-0002").value == incident
    assert lived.verify() == []


def test_an_erasure_needs_a_client_and_a_reason(lived):
    with lived.write(by="staff-1") as unit:
        with pytest.raises(LedgerError, match="client C-9; expected a client"):
            unit.erase_client(replace(CLIENT, code="C-9").as_name, reason="r")
        with pytest.raises(LedgerError, match="reason"):
            unit.erase_client(CODE, reason=" ")


def test_verify_tells_a_lost_key_from_an_erased_client(lived, location):
    assert lived.verify() == []
    engine = raw_engine(location)
    with engine.begin() as raw:
        (row,) = raw.execute(select(client_key)).mappings().all()
        if engine.dialect.name == "sqlite":
            raw.execute(text("DROP TRIGGER client_key_never_deleted"))
        else:
            raw.execute(text("DROP TRIGGER client_key_never_deleted ON client_key"))
        raw.execute(client_key.delete())
    at = FactId(site=row["site"], sequence=row["sequence"])
    assert [(one.kind, one.at) for one in lived.verify()] == [(ProblemKind.MISSING_KEY, at)]
    with engine.begin() as raw:
        raw.execute(client_key.insert(), dict(row))
    erase(lived)
    with engine.begin() as raw:
        raw.execute(client_key.insert(), dict(row))
    engine.dispose()
    assert [(one.kind, one.at) for one in lived.verify()] == [(ProblemKind.ERASED_CAME_BACK, at)]


@pytest.fixture
def two_sites(lived, location, new_location):
    """The lived ledger of site 1 and site 2's, which has taken it over once."""
    place = new_location()
    with open_ledger(place, site=2, clock=Clock(), key=KEY) as two:
        two.merge(location, by="s")
        yield lived, location, two, place


def test_a_merge_brings_the_keys_of_clients(two_sites):
    _, location, two, place = two_sites
    assert keys_in(place) == keys_in(location) != []
    with two.read() as found:
        assert found.require(Client, CODE.text).value == CLIENT
    assert two.verify() == []


def test_an_erasure_travels_and_nobody_is_revived(two_sites):
    one, location, two, place = two_sites
    erase(one)
    one.merge(place, by="s")
    assert keys_in(location) == []
    two.merge(location, by="s")
    assert keys_in(place) == []
    one.merge(place, by="s")
    for ledger in (one, two):
        with ledger.read() as found:
            assert found.require(Client, CODE.text).value == Client(code=CODE.text)
        assert ledger.verify() == []
    assert not [text for text in personal_texts() if text.encode() in everything_stored(place)]


def test_what_the_other_site_recorded_meanwhile_is_erased_too(two_sites):
    """Site 2 does not know of the erasure yet and records one more use; its own content and key go when it hears."""
    one, location, two, place = two_sites
    with two.write(by="s") as unit:
        use = replace(LIFE[18], number="U-0002", procedure="eyebrow work after therapy")
        unit.record(use)
    erase(one)
    one.merge(place, by="s")
    assert one.verify() == []
    assert sealed_in(location) == 1  # the member of staff
    with one.read() as found:
        assert found.require(Use, "U-0002").value.procedure is None
    two.merge(location, by="s")
    assert two.verify() == []
    with two.read() as found:
        assert found.require(Use, "U-0002").value.procedure is None
    assert keys_in(place) == []
    assert sealed_in(place) == 1
