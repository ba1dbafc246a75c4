"""The ledger from outside: what goes in comes out, and what may not go in is refused with a sentence."""

from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path

import pytest
from records_scenario import (
    DAY,
    EMPTY,
    MIX,
    OAT,
    OAT_BOTTLE,
    POUCH,
    REPRINT,
    ROSEHIP,
    ROSEHIP_BOTTLE,
    RUN,
    TUBES,
    label,
    record_morning,
)

from tracelabels.custody import LabelKind, Opening, PrintRun, Product, Tube, Variant
from tracelabels.errors import LedgerError
from tracelabels.records import FactId, FactKind, Ledger, Series, StaffMember, open_ledger


@pytest.fixture
def morning(ledger: Ledger) -> Ledger:
    with ledger.write(by="staff-1") as unit:
        record_morning(unit)
    return ledger


def refusal(ledger: Ledger, act) -> str:
    with pytest.raises(LedgerError) as refused, ledger.write(by="staff-1") as unit:
        act(unit)
    return str(refused.value)


def test_what_goes_in_comes_out(morning):
    with morning.read() as found:
        assert [one.value for one in found.products()] == [OAT, ROSEHIP]
        assert [one.value for one in found.bottles()] == [ROSEHIP_BOTTLE, OAT_BOTTLE]
        assert [one.value for one in found.bottles(batch="O-88")] == [OAT_BOTTLE]
        assert found.find_preparation("P-0001").value == MIX
        assert [one.value for one in found.preparations()] == [MIX, EMPTY]
        assert found.find_tube("010000055").value == TUBES[2]
        assert [one.value for one in found.tubes_of("P-0001")] == list(TUBES[:2])
        assert found.find_pouch("010000061").value == POUCH
        assert [one.value for one in found.pouches_with("010000048")] == [POUCH]
        assert found.find_print_run("R-0001").value == RUN
        assert [one.value for one in found.print_runs()] == [RUN, REPRINT]
        assert found.find_staff("staff-1").value.name == "Quillon Vance-Abara"
    assert morning.verify() == []


def test_a_bottle_leads_to_its_preparations(morning):
    with morning.read() as found:
        bottle = found.find_bottle("010000020")
        assert [one.value.number for one in found.preparations(bottle_thing=bottle.thing)] == ["P-0001"]
        product = found.find_product(maker="Mallow & Finch", item_number="OM-4")
        assert [one.value for one in found.bottles(product_thing=product.thing)] == [OAT_BOTTLE]


def test_a_reprint_voids_the_same_surface_of_the_same_serial_and_no_other(morning):
    with morning.read() as found:
        assert [one.value for one in found.labels_with_serial("010000036")] == [
            label("010000036", run="R-0001", voided_by="print run R-0002"),
            label("010000036", kind=LabelKind.CAP, run="R-0001"),
            label("010000036", lot="P-0001a", run="R-0002"),
        ]
        assert [one.value.voided_by for one in found.labels_of_run("R-0001")] == ["print run R-0002", None, None]


def test_a_spoiled_label_is_voided_with_its_reason(morning):
    with morning.read() as found:
        cap = found.labels_with_serial("010000036")[1]
    with morning.write(by="staff-2") as unit:
        unit.void_label(cap.fact, reason="creased")
    with morning.read() as found:
        assert found.labels_with_serial("010000036")[1].value.voided_by == "creased"
    assert refusal(morning, lambda unit: unit.void_label(cap.fact, reason="again")) == (
        f"label {cap.fact}, which is void already; expected one that is not taken; "
        "it belongs to the fact that voided it; use another, or correct that record"
    )


def test_what_happens_to_a_bottle_is_recorded_once(morning):
    with morning.write(by="staff-2") as unit:
        unit.finish_bottle("010000012", on=date(2027, 3, 1))
        unit.withdraw_bottle("010000012", on=date(2027, 3, 2), reason="recall by the maker")
    with morning.read() as found:
        now = found.find_bottle("010000012")
        assert now.value == replace(
            ROSEHIP_BOTTLE,
            finished_on=date(2027, 3, 1),
            withdrawn_on=date(2027, 3, 2),
        )
        kinds = [fact.kind for fact in found.bottle_history(now.thing)]
        assert kinds == [FactKind.BOTTLE_OPENED, FactKind.BOTTLE_FINISHED, FactKind.BOTTLE_WITHDRAWN]
        opened = found.bottle_history(now.thing)[0]
    assert refusal(morning, lambda unit: unit.open_bottle("010000012", on=DAY)) == (
        "bottle 010000012, which is recorded as opened already; expected a bottle that is not opened; "
        "if the day is wrong, take that fact back with a reason and record it again"
    )
    with morning.write(by="staff-2") as unit:
        unit.retract(opened.thing, reason="wrong day typed")
        unit.open_bottle("010000012", on=date(2027, 1, 6))
    with morning.read() as found:
        assert found.find_bottle("010000012").value.opening == Opening(on=date(2027, 1, 6))


@pytest.mark.parametrize(
    ("act", "sentence"),
    [
        (
            lambda unit: unit.add_product(replace(ROSEHIP, name="Other")),
            (
                "product RH-10 of Mallow & Finch; expected one that is not taken; "
                "it belongs to thing 1-3; use another, or correct that record"
            ),
        ),
        (
            lambda unit: unit.add_bottle(replace(OAT_BOTTLE, serial="9", product=replace(OAT, item_number="X"))),
            (
                "product X of Mallow & Finch; expected a product that is recorded in this ledger; "
                "check the number, or record it first"
            ),
        ),
        (
            lambda unit: unit.add_bottle(OAT_BOTTLE),
            (
                "serial 010000020; expected one that is not taken; "
                "it belongs to another thing; use another, or correct that record"
            ),
        ),
        (
            lambda unit: unit.add_tubes([Tube(serial="7"), Tube(serial="7")]),
            (
                "serial 7; expected one that is not taken; "
                "it belongs to another thing; use another, or correct that record"
            ),
        ),
        (
            lambda unit: unit.add_tubes([Tube(serial="7", preparation="P-9")]),
            (
                "preparation P-9; expected a preparation that is recorded in this ledger; "
                "check the number, or record it first"
            ),
        ),
        (
            lambda unit: unit.add_preparation(MIX),
            (
                "preparation number P-0001; expected one that is not taken; "
                "it belongs to thing 1-9; use another, or correct that record"
            ),
        ),
        (
            lambda unit: unit.add_pouch(replace(POUCH, serial="8", tubes=("nowhere",))),
            "tube nowhere; expected a tube that is recorded in this ledger; check the number, or record it first",
        ),
        (
            lambda unit: unit.add_print_run(replace(REPRINT, number="R-3"), [label("010000055")]),
            (
                "a reprint of the tube label 010000055; expected a label of print run R-0001; "
                "name the run that printed it, or print it as a new run"
            ),
        ),
        (
            lambda unit: unit.add_print_run(replace(REPRINT, number="R-3", reprint_of="R-9"), []),
            "print run R-9; expected a print run that is recorded in this ledger; check the number, or record it first",
        ),
        (
            lambda unit: unit.withdraw_bottle("010000012", on=DAY, reason=" "),
            "a correction without a reason; expected the reason in words; say why the record is corrected",
        ),
        (
            lambda unit: unit.add_product(Product(name="a\0b", item_number="1", maker="m")),
            "name 'a\\x00b'; expected text of whole characters without NUL; type it again without control characters",
        ),
        (
            lambda unit: unit.add_product(Product(name="\ud800", item_number="1", maker="m")),
            "name '\\ud800'; expected text of whole characters without NUL; type it again without control characters",
        ),
        (
            lambda unit: unit.void_label(FactId(site=1, sequence=1), reason="r"),
            (
                "printed_label 1-1; expected a printed_label that is recorded in this ledger; "
                "check the number, or record it first"
            ),
        ),
        (
            lambda unit: unit.next_serials(0),
            "a wish for 0 numbers; expected at least one; ask for as many numbers as there are things to number",
        ),
    ],
)
def test_duplicates_and_unknown_things_are_refused(morning, act, sentence):
    with morning.read() as found:
        before = found.head(1)
    assert refusal(morning, act) == sentence
    with morning.read() as found:
        assert found.head(1) == before


def test_a_unit_is_kept_whole_or_not_at_all(ledger):
    def fail(unit):
        unit.add_product(ROSEHIP)
        unit.next_serials(3)
        unit.find_bottle("1")
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError), ledger.write(by="staff-1") as unit:
        fail(unit)
    with ledger.read() as found:
        assert found.head(1).sequence == 0
        assert found.find_product(maker=ROSEHIP.maker, item_number=ROSEHIP.item_number) is None
    with ledger.write(by="staff-1") as unit:
        assert unit.next_serials(2) == ("010000012", "010000020")


def test_numbers_of_every_series_but_serials_are_read_by_their_letter(ledger):
    with ledger.write(by="staff-1") as unit:
        assert [unit.next_numbered(series) for series in Series if series is not Series.SERIAL] == [
            *("P01-0001", "R01-0001", "L01-0001", "B01-0001", "H01-0001", "U01-000001", "I01-0001", "A01-0001"),
            "K01-0001",
        ]
        unit.next_numbers(Series.LOAD, 9_999)
        assert unit.next_numbered(Series.LOAD) == "L01-10001"


def test_running_numbers_are_each_given_once_and_end_with_a_sentence(ledger):
    with ledger.write(by="staff-1") as unit:
        assert unit.next_numbers(Series.PREPARATION, 3) == range(1, 4)
        assert unit.next_numbers(Series.PREPARATION) == range(4, 5)
        assert unit.next_numbers(Series.SERIAL, 999_998) == range(1, 999_999)
    with ledger.write(by="staff-1") as unit:
        assert unit.next_serials(1)[0][2:8] == "999999"
    assert refusal(ledger, lambda unit: unit.next_serials()) == (
        "a wish for 1 numbers of series serial where 999,999 are taken; expected numbers up to 999,999 at one site; "
        "give this place a new site number and go on there; old serials stay valid"
    )


def test_a_correction_stands_and_the_first_record_stays_readable(morning):
    with morning.read() as found:
        bottle = found.find_bottle("010000012")
    fixed = replace(bottle.value, batch="R-2297", serial="010000077")
    with morning.write(by="staff-2") as unit:
        at = unit.correct(bottle, fixed, reason="batch misread")
    with morning.read() as found:
        assert found.find_bottle("010000012") is None
        assert (found.find_bottle("010000077").value, found.find_bottle("010000077").fact) == (fixed, at)
        assert found.find_bottle("010000077").thing == bottle.thing
        assert list(found.bottles(batch="R-2291")) == []
        assert found.find_preparation("P-0001").value.bottles[0] == fixed
        first, second = found.history(bottle.thing)
        assert (first.id, first.version, second.corrects, second.version) == (bottle.fact, 1, bottle.fact, 2)
        assert (second.reason, second.by) == ("batch misread", "staff-2")
    late = refusal(morning, lambda unit: unit.correct(bottle, fixed, reason="again"))
    assert late == (
        f"a correction of fact {bottle.fact}, which does not stand any more; expected the fact that stands today; "
        "look the thing up again and correct what is recorded now"
    )
    taken = refusal(morning, lambda unit: unit.add_tubes([Tube(serial="010000012")]))
    assert taken.startswith("serial 010000012; expected one that is not taken")


def test_every_kind_of_thing_can_be_corrected(morning):
    with morning.read() as found:
        changes = [
            (found.find_product(maker=OAT.maker, item_number="OM-4"), replace(OAT, name="Oat Milk")),
            (found.find_preparation("P-0002"), replace(EMPTY, variant=Variant.FILLED_BEFORE)),
            (found.find_tube("010000055"), replace(TUBES[2], size_ml=Decimal(2))),
            (found.find_pouch("010000061"), replace(POUCH, tubes=("010000048",), instruments=())),
            (found.find_print_run("R-0001"), replace(RUN, stock_withstands_steam=None)),
        ]
    with morning.write(by="staff-2") as unit:
        for recorded, value in changes:
            unit.correct(recorded, value, reason="typed wrong")
    with morning.read() as found:
        assert found.find_product(maker=OAT.maker, item_number="OM-4").value == replace(OAT, name="Oat Milk")
        assert found.find_preparation("P-0002").value == changes[1][1]
        assert found.find_tube("010000055").value == changes[2][1]
        assert found.find_pouch("010000061").value == changes[3][1]
        assert found.find_print_run("R-0001").value == changes[4][1]
        assert list(found.pouches_with("010000036")) == []
    assert morning.verify() == []


def test_a_correction_does_not_slip_in_what_happened_to_a_bottle(morning):
    with morning.read() as found:
        bottle = found.find_bottle("010000012")
    assert refusal(morning, lambda unit: unit.correct(bottle, replace(bottle.value, opening=None), reason="r")) == (
        "a correction of bottle 010000012 that changes when it was opened, finished or withdrawn; "
        "expected the same days as recorded; take that fact back with a reason and record it again"
    )


def test_a_thing_is_taken_back_unless_others_name_it(morning):
    with morning.read() as found:
        tube, lone = found.find_tube("010000036"), found.find_tube("010000055")
    sentence = refusal(morning, lambda unit: unit.retract(tube.thing, reason="r"))
    assert sentence.startswith(f"thing {tube.thing}, which fact 1-")
    assert sentence.endswith(
        "(pouch_content) names; expected a thing that no other names; correct it instead, or take the other back first"
    )
    with morning.write(by="staff-1") as unit:
        unit.retract(lone.thing, reason="never made")
    with morning.read() as found:
        assert found.find_tube("010000055") is None
        assert [fact.kind for fact in found.history(lone.thing)] == [FactKind.TUBE, FactKind.RETRACTION]
    assert refusal(morning, lambda unit: unit.retract(lone.thing, reason="r")) == (
        f"thing {lone.thing}, which was taken back; expected a thing that stands; record it again as a new thing"
    )


def test_when_it_happened_and_when_it_was_recorded_are_both_kept(ledger):
    happened = datetime(2026, 12, 31, 23, 30, tzinfo=UTC)
    with ledger.write(by="staff-1", happened_at=happened) as unit:
        at = unit.add_product(ROSEHIP)
    with ledger.read() as found:
        fact = found.find_fact(at)
    assert (fact.happened_at, fact.recorded_at.date(), fact.by) == (happened, date(2027, 1, 4), "staff-1")
    with pytest.raises(LedgerError) as refused, ledger.write(by="s", happened_at=datetime(2027, 1, 1)):  # noqa: DTZ001  on purpose
        pass
    assert str(refused.value) == (
        "a time without a zone; expected a time with its zone; give the clock and the time of the event in UTC"
    )


def test_a_long_run_of_labels_goes_through_in_chunks(ledger):
    serials = [f"{number:09d}" for number in range(2_500)]
    with ledger.write(by="staff-1") as unit:
        unit.add_print_run(RUN, (label(serial) for serial in serials))
        unit.add_print_run(REPRINT, (label(serial) for serial in serials[:1_200]))
    with ledger.read() as found:
        labels = [one.value for one in found.labels_of_run("R-0001")]
    assert [one.serial for one in labels] == serials
    assert [one.voided_by for one in labels] == ["print run R-0002"] * 1_200 + [None] * 1_300
    assert ledger.verify() == []


def test_the_sqlite_key_lies_beside_the_ledger_and_is_needed(sqlite_path: Path, clock):
    with open_ledger(sqlite_path, site=1, clock=clock) as ledger, ledger.write(by="s") as unit:
        unit.add_product(ROSEHIP)
    key_file = sqlite_path.with_name("practice.db.key")
    key = bytes.fromhex(key_file.read_text())
    assert len(key) == 32
    assert key not in sqlite_path.read_bytes()
    with open_ledger(sqlite_path, site=1, clock=clock) as again:
        assert again.verify() == []
    with pytest.raises(LedgerError) as refused:
        open_ledger(sqlite_path, site=1, clock=clock, key=bytes(32))
    assert str(refused.value) == (
        "a key that is not this ledger's; expected the key with which the ledger was set up; "
        "put back the right key file; every site of a practice uses the same key"
    )
    key_file.unlink()
    with pytest.raises(LedgerError) as refused:
        open_ledger(sqlite_path, site=1, clock=clock)
    assert str(refused.value) == (
        "ledger practice.db without its key file practice.db.key; expected both files side by side; "
        "put the key file back from a backup; without it no fact can be checked"
    )
    key_file.write_text("12\n")
    with pytest.raises(LedgerError, match="expected 64 hexadecimal digits"):
        open_ledger(sqlite_path, site=1, clock=clock)


@pytest.mark.parametrize(
    ("location", "site", "sentence"),
    [
        (
            "mysql://host/x",
            1,
            (
                "database URL of kind 'mysql'; expected a path, or postgresql://user@host/database; "
                "correct [database] url in practice.toml"
            ),
        ),
        (
            "postgresql://host/x",
            1,
            (
                "a PostgreSQL ledger without the practice's key; expected the key that its sites share; "
                "keep the key in a file of the practice's folder and open the ledger with it"
            ),
        ),
        (
            "ledger.db",
            100,
            "site 100; expected a site number from 0 to 99; correct the site number in practice.toml",
        ),
        (
            "no/such/folder/ledger.db",
            1,
            (
                "key file ledger.db.key (No such file or directory); "
                "expected a key file that can be read, or a folder where one can be made; "
                "see that the practice's folder exists and may be written"
            ),
        ),
    ],
)
def test_a_place_that_cannot_be_opened_gets_one_sentence(tmp_path, monkeypatch, clock, location, site, sentence):
    monkeypatch.chdir(tmp_path)
    with pytest.raises(LedgerError) as refused:
        open_ledger(location, site=site, clock=clock)
    assert str(refused.value) == sentence


def test_a_file_that_is_no_database_gets_one_sentence(sqlite_path, clock):
    sqlite_path.write_text("just some text, long enough to be looked at as a database " * 20)
    with pytest.raises(LedgerError, match="file is not a database"):
        open_ledger(sqlite_path, site=1, clock=clock, key=bytes(32))


def test_staff_are_known_by_code_alone_after_erasure(morning):
    with morning.read() as found:
        member = found.find_staff("staff-1")
    with morning.write(by="staff-2") as unit:
        unit.correct_staff(member, StaffMember(code="staff-1", name="Q. Vance", initials="QV"), reason="married")
    morning.erase(member.thing, by="staff-2", reason="left the practice")
    with morning.read() as found:
        gone = found.find_staff("staff-1")
    assert gone.value == StaffMember(code="staff-1", name=None, initials=None)
    assert refusal(morning, lambda unit: unit.correct_staff(gone, member.value, reason="r")) == (
        "a correction of staff-1, whose personal content was erased; expected a member of staff who is on record; "
        "record a new code"
    )


def test_print_runs_need_no_labels(ledger):
    bare = PrintRun(number="R-9", printed_on=DAY, layout="l", sheet="s", dpi=600)
    with ledger.write(by="s") as unit:
        unit.add_print_run(bare, [])
    with ledger.read() as found:
        assert found.find_print_run("R-9").value == bare
        assert list(found.labels_of_run("R-9")) == []
        assert list(found.labels_of_run("R-10")) == []
