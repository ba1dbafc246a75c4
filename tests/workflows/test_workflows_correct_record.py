"""Corrections by name: every kind of field is typed and read back, labels that say something else are listed."""

import sys
from dataclasses import fields, replace
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from tracelabels.custody import (
    Client,
    Incident,
    IncidentKind,
    Kind,
    LabelKind,
    Name,
    PrintedLabel,
    PrintRun,
    SteriliserEvent,
    SteriliserEventKind,
    Use,
)
from tracelabels.errors import InputError, LedgerError, TracelabelsError
from tracelabels.workflows.correct_record import Change, correct_record, take_back
from tracelabels.workflows.field_texts import as_text, with_changes
from tracelabels.workflows.label_contents import ContentWriter
from tracelabels.workflows.show_history import show_history

sys.path.insert(0, str(Path(__file__).parents[1] / "records"))
from records_life import CLIENT, life_from, record_life
from records_scenario import BEGIN, record_morning

AT = datetime(2026, 11, 25, 12, tzinfo=UTC)


@pytest.fixture
def lived(opened):
    """Return a practice in which one of every kind of thing and fact is on record."""
    practice = opened()
    with practice.write(by="staff-1") as ledger:
        record_morning(ledger)
        record_life(ledger, BEGIN)
    return practice


@pytest.fixture
def labelled(opened, bottle, tubes):
    """Return a practice, a bottle, and three tubes with valid labels."""
    practice = opened()
    serial = bottle(practice)
    made = tubes(practice, serial)
    with practice.write(by="s") as ledger:
        writer = ContentWriter(practice, ledger)
        labels = []
        for one in made:
            content = writer.content_of(one)
            said = content.identity
            labels.append(
                PrintedLabel(
                    serial=one,
                    kind=LabelKind.TUBE,
                    lot=said.lot,
                    use_by=said.use_by,
                    prepared=said.prepared,
                    item_number=content.item_number,
                )
            )
        run = PrintRun(number="R01-0001", printed_on=date(2026, 11, 25), layout="x", sheet="y", dpi=300)
        ledger.add_print_run(run, labels)
    return practice, serial, made


def test_every_field_of_every_kind_reads_back_as_it_is_written(lived):
    """Texts and values are each other backwards, over one value of every kind of fact."""
    checked = 0
    with lived.ledger.read() as ledger:
        for value in (*life_from(BEGIN), *_bench(ledger)):
            for one in fields(value):
                said = getattr(value, one.name)
                if one.name in {"typed", "read_as", "opening"}:  # refused: taken back and entered again
                    continue
                assert getattr(with_changes(lived, ledger, value, {one.name: as_text(said)}), one.name) == said
                checked += 1
    assert checked > 190


def _bench(ledger):
    several = (ledger.products(), ledger.bottles(), ledger.preparations(), ledger.print_runs())
    single = (ledger.find_tube("010000036"), ledger.find_pouch("010000061"))
    return [*(one.value for some in several for one in some), *(one.value for one in single)]


def test_a_corrected_batch_lists_every_label_that_says_the_old_one(labelled):
    practice, serial, made = labelled
    done = correct_record(practice, "bottle", serial, {"batch": "5502"}, by="s", reason="misread")
    assert done.changes == (Change(field="batch", before="5501", after="5502"),)
    assert [(one.serial, one.run) for one in done.outdated] == [(one, "R01-0001") for one in sorted(made)]
    assert {one.differences for one in done.outdated} == {("batch 5501, on record is 5502",)}
    with practice.ledger.read() as ledger:
        assert ledger.find_bottle(serial).value.batch == "5502"


def test_a_corrected_expiry_changes_the_use_by(labelled):
    practice, serial, _ = labelled
    done = correct_record(practice, "bottle", serial, {"expiry": "2027-01"}, by="s", reason="misread")
    assert done.changes == (Change(field="expiry", before="2027-11", after="2027-01"),)
    assert {one.differences for one in done.outdated} == {("use-by 2027-05-24, on record is 2027-01-31",)}
    past = correct_record(practice, "bottle", serial, {"expiry": "2026-10-01"}, by="s", reason="misread again")
    assert past.outdated[0].differences[0].startswith("no label may be printed now: preparation P01-0001")


def test_a_correction_that_no_label_shows_lists_none(labelled):
    practice, serial, _ = labelled
    done = correct_record(practice, "bottle", serial, {"volume_ml": "30"}, by="s", reason="forgotten")
    assert done.changes == (Change(field="volume_ml", before="-", after="30"),)
    assert done.outdated == ()


def test_an_opening_is_taken_back_by_its_fact_and_the_use_by_follows(labelled):
    practice, serial, _ = labelled
    correct_record(practice, "bottle", serial, {"period_after_opening": "28 days"}, by="s", reason="misread")
    found = show_history(practice, "bottle", serial)
    (opening,) = [one for one in found.about if one.kind == "bottle_opened"]
    done = take_back(practice, "fact", opening.fact, by="s", reason="another bottle")
    with practice.ledger.read() as ledger:
        assert ledger.find_bottle(serial).value.opening is None
    assert done.name == f"fact {opening.fact}"


def test_shaped_things_are_corrected_and_taken_back(lived):
    correct_record(lived, "use", "U-0001", {"items": "pouch:010000061,tube:010000036"}, by="s", reason="one too many")
    with lived.ledger.read() as ledger:
        use = ledger.require(Use, "U-0001").value
        assert use.items == (Name(Kind.POUCH, "010000061"), Name(Kind.TUBE, "010000036"))
        assert (use.procedure, use.side) == ("areola", "left")
    with pytest.raises(LedgerError, match=r"which fact .* names; expected a thing that no other names"):
        take_back(lived, "use", "U-0001", by="s", reason="typed twice")
    take_back(lived, "adverse-event", "A-0001", by="s", reason="typed twice")
    with pytest.raises(LedgerError, match="adverse event A-0001; expected an adverse event that is recorded"):
        take_back(lived, "adverse-event", "A-0001", by="s", reason="typed twice")


def test_a_fact_without_a_name_is_corrected_by_its_number(lived):
    with lived.ledger.read() as ledger:
        (event,) = ledger.every(SteriliserEvent)
    done = correct_record(
        lived, "fact", str(event.thing), {"event": "leak_test", "passed": "no"}, by="s", reason="slip"
    )
    assert [(one.field, one.after) for one in done.changes] == [("event", "leak_test"), ("passed", "no")]
    with lived.ledger.read() as ledger:
        (again,) = ledger.about(SteriliserEvent, "steriliser", Name(Kind.STERILISER, "S1"))
    assert (again.value.event, again.value.passed) == (SteriliserEventKind.LEAK_TEST, False)


REFUSED = {
    ("load", "S1-0001", "counted=many"): "counted 'many'; expected a whole number; type it again",
    ("load", "S1-0001", "goods=wet"): "goods 'wet'; expected one of unwrapped, wrapped, liquid; type it again",
    ("load", "S1-0001", "colour=red"): "field 'colour' of a Load; expected one of counted, cycle_kind, cycle_number",
    ("load", "S1-0001", "programme=-"): "programme '-'; expected something: this field is never empty; type it again",
    ("load", "S1-0001", "counted=1"): "a correction of load S1-0001 that changes nothing; expected another value",
    ("bottle", "010000012", "received_on=soon"): "received_on 'soon'; expected a date such as 2026-11-25",
    ("bottle", "010000012", "serial=010000013"): "serial '010000013'; expected nine digits whose last one is their",
    ("bottle", "010000012", "batch=a b"): "(10)",
    ("load", "S1-0001", "steriliser=S9"): "steriliser S9; expected a steriliser that is recorded in this ledger",
}


@pytest.mark.parametrize(("kind", "name", "setting"), REFUSED)
def test_what_cannot_be_is_refused_and_nothing_is_written(lived, kind, name, setting):
    before = lived.ledger.heads()
    with pytest.raises(TracelabelsError) as caught:
        correct_record(lived, kind, name, dict([setting.split("=")]), by="s", reason="misread")
    assert REFUSED[kind, name, setting] in str(caught.value)
    assert lived.ledger.heads() == before


def test_a_reason_must_not_say_what_is_personal(lived):
    for reason in ("Odile Ferncastle is misspelt", "is odile fernwood"):
        with pytest.raises(InputError, match="a reason that says what stands in name, which is personal"):
            correct_record(lived, "client", "C-0007", {"name": "Odile Fernwood"}, by="s", reason=reason)
    correct_record(lived, "client", "C-0007", {"name": "Odile Fernwood"}, by="s", reason="misspelt")
    with lived.ledger.read() as ledger:
        assert ledger.require(Client, "C-0007").value == replace(CLIENT, name="Odile Fernwood")


def test_the_history_shows_every_version_and_hides_what_is_personal(lived):
    correct_record(lived, "client", "C-0007", {"name": "Odile Fernwood"}, by="staff-2", reason="misspelt")
    first, second = show_history(lived, "client", "C-0007").versions
    assert (first.by, first.reason, first.is_taken_back) == ("staff-1", None, False)
    assert (second.by, second.reason) == ("staff-2", "misspelt")
    assert second.changes == (Change(field="name", before="(personal)", after="(personal)"),)
    shown = show_history(lived, "client", "C-0007", show_personal=True).versions[1].changes
    assert shown == (Change(field="name", before="Odile Ferncastle", after="Odile Fernwood"),)


def test_the_history_tells_when_it_was_entered_and_when_it_happened(lived):
    with lived.write(by="s", at=AT) as ledger:
        ledger.record(Incident(number="I-0009", kind=IncidentKind.OTHER, at=AT, items=()))
    take_back(lived, "incident", "I-0009", by="s", reason="typed twice")
    entered, gone = show_history(lived, "incident", "I-0009").versions
    assert entered.happened_at == AT
    assert entered.recorded_at != AT
    assert (gone.is_taken_back, gone.reason, gone.changes) == (True, "typed twice", ())


def test_the_history_lists_the_facts_that_name_a_thing(lived):
    found = show_history(lived, "load", "S1-0001")
    kinds = [one.kind for one in found.about]
    assert kinds[:3] == ["load_end", "evidence", "load_readings"]
    assert {"recall", "hold", "load_release", "spore_test"} <= set(kinds)
