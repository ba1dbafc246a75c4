"""Every kind of fact recorded by its shape: it comes back as it was, is found by what it names, is claimed once."""

from dataclasses import fields, replace

import pytest
from records_life import BOTTLE, CLIENT, CONSUMABLE, POUCH, STERILISER, TUBE, life_from, load_at, record_life
from records_scenario import BEGIN, record_morning
from sqlalchemy import event

from tracelabels.custody import Hold, Kind, LabelFate, LabelKind, LabelOutcome, Load, LoadEnd, Name, Use
from tracelabels.errors import LedgerError
from tracelabels.records.kinds import SHAPES, shape_of
from tracelabels.records.shapes import Form, fields_of

LIFE = life_from(BEGIN)


@pytest.fixture
def lived(ledger):
    with ledger.write(by="staff-1") as unit:
        record_morning(unit)
        record_life(unit, BEGIN)
    return ledger


def test_the_life_holds_one_of_every_kind():
    assert {type(value) for value in LIFE} == {shape.value for shape in SHAPES}


def test_every_value_comes_back_as_it_was(lived):
    with lived.read() as found:
        for value in LIFE:
            assert [one.value for one in found.every(type(value))] == [value]
    assert lived.verify() == []


def test_every_fact_is_found_by_each_thing_that_it_names(lived):
    with lived.read() as found:
        for value in LIFE:
            for field in fields_of(type(value)):
                content = getattr(value, field.name)
                named = {Form.NAME: (content,), Form.NAMES: content}.get(field.form, ())
                for name in filter(None, named):
                    assert [one.value for one in found.about(type(value), field.name, name)] == [value]


def test_every_named_thing_is_found_by_its_name(lived):
    with lived.read() as found:
        for value in LIFE:
            shape = shape_of(type(value))
            if shape.thing is not None:
                text = "/".join(getattr(value, one) for one in shape.named_by)
                recorded = found.require(type(value), text)
                assert recorded.value == value
                assert found.name_of(recorded.thing) == Name(shape.thing, text)
                assert found.find(type(value), f"{text}x") is None


def test_a_corrected_name_is_followed_everywhere(lived):
    with lived.write(by="staff-1") as unit:
        recorded = unit.require(Load, "S1-0001")
        unit.amend(recorded, replace(recorded.value, number="S1-0011"), reason="the counter was misread")
    with lived.read() as found:
        assert found.find(Load, "S1-0001") is None
        ends = found.about(LoadEnd, "load", Name(Kind.LOAD, "S1-0011"))
        assert [one.value.load.text for one in ends] == ["S1-0011"]
    assert lived.verify() == []


def test_a_corrected_name_is_followed_in_the_unit_that_corrects_it(lived):
    with lived.write(by="staff-1") as unit:
        recorded = unit.require(Load, "S1-0001")
        assert unit.name_of(recorded.thing).text == "S1-0001"
        unit.amend(recorded, replace(recorded.value, number="S1-0011"), reason="the counter was misread")
        assert unit.name_of(recorded.thing).text == "S1-0011"


def test_a_name_is_never_given_twice(lived):
    with lived.write(by="staff-1") as unit:
        with pytest.raises(LedgerError, match="load S1-0001; expected one that is not taken"):
            unit.record(load_at(BEGIN))
        with pytest.raises(LedgerError, match="steriliser S1; expected one that is not taken"):
            unit.record(STERILISER)


def test_what_is_not_on_record_cannot_be_named(lived):
    with lived.write(by="staff-1") as unit, pytest.raises(LedgerError, match="load S1-0009; expected a load that"):
        unit.record(LoadEnd(load=Name(Kind.LOAD, "S1-0009"), outcome=LIFE[5].outcome, at=BEGIN))


def test_a_request_is_answered_once(lived):
    with lived.write(by="staff-1") as unit:
        answered = unit.find_answered("tap-1")
        assert unit.value_of(Use, answered).value.number == "U-0001"
        with pytest.raises(LedgerError, match="request 'tap-1'; expected one that is not taken"):
            unit.record(replace(_use(), number="U-0002"), request_key="tap-1")
        assert unit.find_answered("tap-2") is None


def test_a_thing_is_claimed_once_and_again_only_after_the_claim_was_taken_back(lived):
    used = replace(_use(), number="U-0002")
    with lived.write(by="staff-1") as unit:
        with pytest.raises(LedgerError, match="pouch 010000061, which was used before"):
            unit.record(used, claims=[("used", POUCH)])
        unit.record(replace(used, items=(TUBE,)), claims=[("used", TUBE), ("opened", POUCH)])
        for thing in (first.thing for first in unit.every(Use) if first.value.number == "U-0002"):
            unit.retract(thing, reason="typed for the wrong client")
        assert unit.claims("opened", POUCH) == ()
        unit.record(replace(used, number="U-0003"), claims=[("used", TUBE), ("opened", POUCH)])
        assert len(unit.claims("used", TUBE)) == 1
    assert lived.verify() == []


def test_what_is_sealed_is_read_only_with_the_clients_key(lived, location):
    from records_scenario import raw_engine

    personal = [str(getattr(CLIENT, one.name)) for one in fields(CLIENT) if one.name not in {"code", "care_level"}]
    engine = raw_engine(location)
    with engine.connect() as raw:
        contents = [row[0] for row in raw.exec_driver_sql("SELECT content FROM sealed")]
        keys = raw.exec_driver_sql("SELECT count(*) FROM client_key").scalar_one()
    engine.dispose()
    assert keys == 1
    assert len(contents) > 3
    assert not [text for text in personal for content in contents if text.encode() in bytes(content)]
    with lived.read() as found:
        assert found.require(type(CLIENT), "C-0007").value == CLIENT


def test_a_name_in_two_parts_needs_both(lived):
    with lived.read() as found:
        assert found.require(type(CONSUMABLE), "pouch_material/PF-77").value == CONSUMABLE
        with pytest.raises(LedgerError, match="consumable 'PF-77'; expected kind/lot; write both parts"):
            found.find(type(CONSUMABLE), "PF-77")


def _use():
    return next(value for value in LIFE if isinstance(value, Use))


def test_what_no_fact_names_is_listed_until_one_does_and_again_when_it_is_taken_back(ledger):
    with ledger.write(by="staff-1") as unit:
        record_morning(unit)
        assert list(unit.without(Kind.POUCH, Load, "pouches")) == [POUCH]
        unit.record(STERILISER)
        at = unit.record(load_at(BEGIN))
        assert list(unit.without(Kind.POUCH, Load, "pouches")) == []
        assert list(unit.without(Kind.LOAD, LoadEnd, "load")) == [Name(Kind.LOAD, "S1-0001")]
        end = unit.record(LoadEnd(load=Name(Kind.LOAD, "S1-0001"), outcome=LIFE[5].outcome, at=BEGIN))
        assert list(unit.without(Kind.LOAD, LoadEnd, "load")) == []
        unit.retract(end, reason="it still runs")
        assert list(unit.without(Kind.LOAD, LoadEnd, "load")) == [Name(Kind.LOAD, "S1-0001")]
        unit.retract(at, reason="never started")
        assert list(unit.without(Kind.POUCH, Load, "pouches")) == [POUCH]


def test_facts_about_many_things_come_in_one_question(lived):
    with lived.read() as found:
        (only,) = found.every(LoadEnd)
        load = found.require_thing(Name(Kind.LOAD, "S1-0001"))
        other = found.require_thing(POUCH)
        assert found.about_each(LoadEnd, "load", [load, other]) == (only,)
        assert found.about_each(LoadEnd, "load", []) == ()


def statements(ledger, question) -> int:
    """Count what a question asks the database."""
    asked = []
    with ledger.read() as found:
        event.listen(found._connection, "before_cursor_execute", lambda *said: asked.append(said[2]))
        question(found)
    return len(asked)


def test_many_facts_are_read_with_as_many_statements_as_a_few(lived):
    """Parts and names are asked for together: 3 holds and 12 take the same number of statements."""

    def held(found):
        return found.about(Hold, "items", BOTTLE)

    hold, counts = next(value for value in LIFE if isinstance(value, Hold)), []
    for numbers in (range(2, 4), range(4, 13)):
        with lived.write(by="staff-1") as unit:
            for number in numbers:
                unit.record(replace(hold, number=f"H-{number:04}"))
        counts.append(statements(lived, held))
    with lived.read() as found:
        assert [one.value.number for one in held(found)] == [f"H-{number:04}" for number in range(1, 13)]
        assert {one.value.items for one in held(found)} == {hold.items}
    assert counts[0] == counts[1]


def test_labels_are_open_until_each_was_applied_or_destroyed(lived):
    with lived.write(by="staff-1") as unit:
        # The morning printed side and cap of one tube and the side of another; the life applied one. A reprint follows.
        assert unit.labels_unaccounted() == (("R-0001", 2), ("R-0002", 1))
        run = Name(Kind.PRINT_RUN, "R-0001")
        cap = LabelOutcome(run=run, serial="010000036", kind=LabelKind.CAP, outcome=LabelFate.DESTROYED)
        unit.record(cap)
        assert unit.labels_unaccounted() == (("R-0001", 1), ("R-0002", 1))
        at = unit.record(replace(cap, kind=LabelKind.TUBE))
        assert unit.labels_unaccounted() == (("R-0002", 1),)
        unit.retract(at, reason="the other roll")
        assert unit.labels_unaccounted() == (("R-0001", 1), ("R-0002", 1))
