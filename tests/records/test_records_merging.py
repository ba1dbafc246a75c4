"""Several sites in one database, and erasing what is personal."""

import os
from dataclasses import replace
from pathlib import Path

import pytest
from records_scenario import KEY, OAT, ROSEHIP, ROSEHIP_BOTTLE, raw_engine, record_morning, switch_triggers_off
from sqlalchemy import text

from tracelabels.custody import Tube
from tracelabels.errors import LedgerError
from tracelabels.records import Ledger, ProblemKind, StaffMember, open_ledger

NAME = "Quillon Vance-Abara"


@pytest.fixture
def sites(new_location, clock):
    """Opens any site's own ledger, each in its own database."""
    places: dict[int, Path | str] = {}
    opened: list[Ledger] = []

    def open_site(site: int) -> tuple[Ledger, Path | str]:
        places.setdefault(site, new_location())
        opened.append(open_ledger(places[site], site=site, clock=clock, key=KEY))
        return opened[-1], places[site]

    yield open_site
    for ledger in opened:
        ledger.close()


def fill(ledger: Ledger, maker: str) -> None:
    with ledger.write(by="s") as unit:
        product = replace(ROSEHIP, maker=maker)
        unit.add_product(product)
        serial = unit.next_serials()[0]
        unit.add_bottle(replace(ROSEHIP_BOTTLE, serial=serial, product=product))


def test_one_database_holds_both_chains_and_both_stay_valid(sites):
    (one, _), (two, second) = sites(1), sites(2)
    fill(one, "Mallow")
    fill(two, "Finch")
    ends = one.merge(second, by="s")
    assert [(end.site, end.sequence) for end in ends] == [(2, 4)]
    assert one.verify() == two.verify() == []
    with one.read() as found:
        assert [bottle.value.serial for bottle in found.bottles()] == ["010000012", "020000011"]
        assert (found.head(2), found.head(1).sequence) == (ends[0], 5)
    assert one.merge(second, by="s") == ()


def test_only_what_is_new_is_taken_over_and_chains_travel_onward(sites):
    (one, first), (two, second), (three, _) = sites(1), sites(2), sites(3)
    fill(one, "Mallow")
    one.merge(second, by="s")
    fill(two, "Finch")
    one.merge(second, by="s")
    with two.write(by="s") as unit:
        unit.add_product(OAT)
    assert [(end.site, end.sequence) for end in one.merge(second, by="s")] == [(2, 5)]
    assert [end.site for end in three.merge(first, by="s")] == [1, 2]
    assert three.verify() == []
    with three.read() as found:
        assert len(list(found.products())) == 3


def test_a_head_that_was_seen_shows_a_chain_cut_short(sites):
    (one, first), (two, second) = sites(1), sites(2)
    fill(two, "Finch")
    one.merge(second, by="s")
    engine = raw_engine(first)
    with engine.begin() as raw:
        switch_triggers_off(raw)
        raw.execute(text("DELETE FROM bottle_event WHERE site = 2"))
        raw.execute(text("DELETE FROM fact WHERE site = 2 AND sequence = 4"))
    engine.dispose()
    assert [(one.kind, str(one.at)) for one in one.verify()] == [(ProblemKind.HEAD_DIFFERS, "2-4")]


def test_two_databases_under_one_site_number_are_refused(sites, new_location, clock):
    one, _ = sites(1)
    places = [new_location(), new_location()]
    for place, maker in zip(places, ("Finch", "Heron"), strict=True):
        with open_ledger(place, site=2, clock=clock, key=KEY) as ledger:
            fill(ledger, maker)
    one.merge(places[0], by="s")
    with pytest.raises(LedgerError) as refused:
        one.merge(places[1], by="s")
    assert str(refused.value) == (
        "two chains of site 2 that differ at fact 4 or before; expected one chain, written by one site; "
        "give each site its own number; run verify on both to see which one was changed"
    )


def test_a_ledger_put_back_from_an_old_copy_notices_that_it_lost_facts(sites, new_location, clock):
    (one, first), (two, _) = sites(1), sites(2)
    fill(one, "Mallow")
    two.merge(first, by="s")
    stale = new_location()
    with open_ledger(stale, site=1, clock=clock, key=KEY) as restored:
        with pytest.raises(LedgerError) as refused:
            restored.merge(sites(2)[1], by="s")
        assert str(refused.value) == (
            "a database with 4 facts of site 1, whose own ledger has 0; "
            "expected no more facts of this site than it wrote itself; "
            "this ledger lost facts or was put back from an old copy: restore the newest copy of it first"
        )


def test_a_damaged_database_is_not_taken_over(sites):
    (one, _), (two, second) = sites(1), sites(2)
    fill(two, "Finch")
    engine = raw_engine(second)
    with engine.begin() as raw:
        switch_triggers_off(raw)
        raw.execute(text("UPDATE bottle SET batch = 'other'"))
    engine.dispose()
    with pytest.raises(LedgerError, match="fact 2-3: its content is not what was recorded"):
        one.merge(second, by="s")
    with one.read() as found:
        assert (found.head(1).sequence, found.head(2).sequence) == (0, 0)


def test_a_database_that_lost_the_fact_where_ours_ends_is_refused_in_words(sites):
    (one, _), (two, second) = sites(1), sites(2)
    fill(two, "Finch")
    one.merge(second, by="s")
    with two.write(by="s") as unit:
        unit.add_product(OAT)
    engine = raw_engine(second)
    with engine.begin() as raw:
        switch_triggers_off(raw)
        raw.execute(text("DELETE FROM bottle_event WHERE sequence = 4"))
        raw.execute(text("DELETE FROM fact WHERE sequence = 4"))
    engine.dispose()
    with pytest.raises(LedgerError, match="two chains of site 2 that differ at fact 4 or before"):
        one.merge(second, by="s")


def test_another_practice_is_refused(sites, new_location, clock):
    one, _ = sites(1)
    foreign = new_location()
    with open_ledger(foreign, site=2, clock=clock, key=bytes(32)) as other:
        fill(other, "Finch")
    with pytest.raises(LedgerError, match="a key that is not this ledger's"):
        one.merge(foreign, by="s")


def test_one_serial_for_two_things_is_refused(sites):
    (one, _), (two, second) = sites(1), sites(2)
    for ledger in (one, two):
        with ledger.write(by="s") as unit:
            unit.add_tubes([Tube(serial="555")])
    with pytest.raises(LedgerError) as refused:
        one.merge(second, by="s")
    assert str(refused.value) == (
        "serial 555, which stands for a thing here and for another one there; "
        "expected serials that begin with their own site's number; "
        "correct the serial at one of the sites, giving the reason, and label that thing anew"
    )


def test_sites_that_correct_the_same_fact_apart_agree_on_what_stands_and_name_the_conflict(sites):
    (one, first), (two, second) = sites(1), sites(2)
    fill(one, "Mallow")
    two.merge(first, by="s")
    for ledger, batch in ((one, "ONE"), (two, "TWO")):
        with ledger.read() as found:
            bottle = found.find_bottle("010000012")
        with ledger.write(by="s") as unit:
            unit.correct(bottle, replace(bottle.value, batch=batch), reason="misread")
    one.merge(second, by="s")
    two.merge(first, by="s")
    for ledger in (one, two):
        with ledger.read() as found:
            assert [bottle.value.batch for bottle in found.bottles()] == ["TWO"]
            assert [str(thing) for thing in found.conflicts()] == ["1-3"]
        assert ledger.verify() == []
    with one.read() as found:
        bottle = found.find_bottle("010000012")
    with one.write(by="s") as unit:
        unit.correct(bottle, replace(bottle.value, batch="R-2291"), reason="both were wrong")
    two.merge(first, by="s")
    for ledger in (one, two):
        with ledger.read() as found:
            assert ([bottle.value.batch for bottle in found.bottles()], found.conflicts()) == (["R-2291"], ())


# -- erasing ---------------------------------------------------------------------------------------------------------


def staff_of(ledger: Ledger):
    with ledger.read() as found:
        return found.find_staff("staff-1")


def test_erasure_leaves_the_chain_valid_and_is_known_as_erasure(ledger):
    with ledger.write(by="staff-1") as unit:
        record_morning(unit)
    member = staff_of(ledger)
    ledger.erase(member.thing, by="staff-2", reason="left the practice")
    assert ledger.verify() == []
    assert staff_of(ledger).value == StaffMember(code="staff-1", name=None, initials=None)
    with pytest.raises(LedgerError) as refused:
        ledger.erase(member.thing, by="staff-2", reason="again")
    assert str(refused.value) == (
        f"an erasure of thing {member.thing}; expected a thing with personal content; "
        "look it up: it was erased before, or never held any"
    )


def test_content_that_goes_without_an_erasure_or_comes_back_after_one_is_found(ledger, location):
    with ledger.write(by="staff-1") as unit:
        record_morning(unit)
    engine = raw_engine(location)
    with engine.begin() as raw:
        kept = raw.execute(text("SELECT site, sequence, salt, content FROM sealed")).mappings().one()
        switch_triggers_off(raw)
        raw.execute(text("DELETE FROM sealed"))
    assert [one.kind for one in ledger.verify()] == [ProblemKind.MISSING_SEALED]
    put_back = text("INSERT INTO sealed (site, sequence, salt, content) VALUES (:site, :sequence, :salt, :content)")
    with engine.begin() as raw:
        raw.execute(put_back, dict(kept))
    ledger.erase(staff_of(ledger).thing, by="staff-2", reason="left")
    with engine.begin() as raw:
        raw.execute(put_back, dict(kept))
    engine.dispose()
    assert [one.kind for one in ledger.verify()] == [ProblemKind.ERASED_CAME_BACK]


def test_no_byte_of_the_personal_content_is_left_in_the_files(sqlite_path, clock):
    salts: list[bytes] = []

    def random_bytes(count: int) -> bytes:
        salts.append(os.urandom(count))
        return salts[-1]

    def every_byte() -> bytes:
        return b"".join(file.read_bytes() for file in sqlite_path.parent.iterdir())

    with open_ledger(sqlite_path, site=1, clock=clock, key=KEY, random_bytes=random_bytes) as ledger:
        with ledger.write(by="staff-1") as unit:
            record_morning(unit)
        secrets = [NAME.encode(), b"QVA", *salts]
        assert len(secrets) == 3
        assert [secret for secret in secrets if secret not in every_byte()] == []
        ledger.erase(staff_of(ledger).thing, by="staff-2", reason="left")
        assert [secret for secret in secrets if secret in every_byte()] == []
        assert ledger.verify() == []


def test_erasure_reaches_the_other_site_and_is_not_undone_by_it(sites):
    (one, first), (two, second) = sites(1), sites(2)
    with one.write(by="staff-1") as unit:
        unit.add_staff(StaffMember(code="staff-1", name=NAME, initials="QVA"))
    two.merge(first, by="s")
    assert staff_of(two).value.name == NAME
    two.erase(staff_of(two).thing, by="s", reason="left")
    assert staff_of(two).value.name is None
    assert staff_of(one).value.name == NAME
    two.merge(first, by="s")
    assert staff_of(two).value.name is None
    one.merge(second, by="s")
    assert staff_of(one).value.name is None
    assert one.verify() == two.verify() == []
    engine = raw_engine(first)
    with engine.connect() as raw:
        assert raw.execute(text("SELECT count(*) FROM sealed")).scalar_one() == 0
    engine.dispose()


def test_every_version_of_personal_content_is_erased(ledger):
    with ledger.write(by="s") as unit:
        unit.add_staff(StaffMember(code="staff-1", name=NAME, initials="QVA"))
    with ledger.write(by="s") as unit:
        unit.correct_staff(staff_of(ledger), StaffMember(code="staff-1", name="Q", initials="Q"), reason="married")
    ledger.erase(staff_of(ledger).thing, by="s", reason="left")
    with ledger.read() as found:
        assert [fact.version for fact in found.history(found.find_staff("staff-1").thing)] == [1, 2]
    assert ledger.verify() == []
