"""Look up anything by its name; nothing personal unless asked; long lists are cut short and counted."""

import sys
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import bad_batch as story
import pytest

from tracelabels.custody import Kind, Move, Name, PlaceKind
from tracelabels.errors import InputError
from tracelabels.workflows.look_up import look_up

sys.path.insert(0, str(Path(__file__).parents[1] / "records"))
from records_life import CLIENT, POUCH, life_from, record_life
from records_scenario import BEGIN, record_morning

NAMES = {
    "S1": "steriliser", "S1-0001": "load", "B-0001": "spore test", "H-0001": "hold", "C-0007": "client",
    "U-0001": "use", "I-0001": "incident", "A-0001": "adverse event", "K-0001": "recall",
    "PF-77": "consumable", "pouch_material/PF-77": "consumable", "staff-1": "staff",
    "010000061": "pouch", "010000036": "tube", "010000012": "bottle", "P-0001": "preparation",
    "R-0001": "print run", "RH-10": "product",
}  # fmt: skip


@pytest.fixture
def lived(opened):
    practice = opened()
    with practice.write(by="staff-1") as ledger:
        record_morning(ledger)
        record_life(ledger, BEGIN)
    return practice


@pytest.mark.parametrize("text", NAMES)
def test_every_kind_of_thing_is_found_by_its_name(lived, text):
    (found,) = look_up(lived, text)
    assert found.kind == NAMES[text]
    assert len(dict(found.facts)) == len(found.facts) > 0


def test_what_was_filled_at_the_chair_is_not_called_empty(opened):
    practice = opened()
    with practice.write(by="staff-1") as ledger:
        story.tell(ledger)
    (filled,), (made,) = look_up(practice, story.CHAIR), look_up(practice, story.ONE)
    variants = dict(filled.facts)["variant"], dict(made.facts)["variant"]
    assert variants == ("filled at the chair", "filled before processing")


def test_every_kind_of_thing_is_in_that_table():
    assert {kind.value.replace("_", " ") for kind in Kind} == set(NAMES.values())


def test_a_load_says_what_happened_to_it(lived):
    (found,) = look_up(lived, "S1-0001")
    facts = dict(found.facts)
    assert (facts["steriliser"], facts["cycle kind"], facts["pouches"]) == (
        "steriliser S1",
        "air_removal",
        "pouch 010000061",
    )
    assert facts["started at"] == "2027-01-04 08:10"
    assert facts["load end (load)"] == "complete 2027-01-04 08:20 display: end"
    assert facts["load release (load)"].startswith("released 2027-01-04 09:00 staff-1")
    assert facts["spore test (load)"] == "B-0001 (2027-01-04 08:10)"
    assert facts["recall (roots)"] == "K-0001 (2027-01-04 10:00)"


def test_nothing_personal_is_shown_unless_asked(lived):
    personal = [str(getattr(CLIENT, one)) for one in ("name", "birth_date", "hospital_number", "allergies")]
    personal += ["areola", "redness", "opened in haste", "Quillon"]
    for text in NAMES:
        (found,) = look_up(lived, text)
        said = " ".join(value for _, value in found.facts)
        assert not [one for one in personal if one in said], text
    client = dict(look_up(lived, "C-0007")[0].facts)
    assert client["personal"] == "on file, sealed; --personal shows it"
    assert client["client use (client)"] == "U-0001 (2027-01-04 09:40)"
    shown = dict(look_up(lived, "C-0007", show_personal=True)[0].facts)
    assert (shown["name"], shown["birth date"], shown["care level"]) == ("Odile Ferncastle", "1971-03-09", "protected")
    assert dict(look_up(lived, "U-0001", show_personal=True)[0].facts)["procedure"] == "areola"


def test_an_erased_client_is_found_by_code_and_said_to_be_erased(lived):
    with lived.write(by="s") as ledger:
        ledger.erase_client(CLIENT.as_name, reason="asked")
    client = dict(look_up(lived, "C-0007", show_personal=False)[0].facts)
    assert client["personal"] == "erased"
    assert client["client use (client)"] == "U-0001 (2027-01-04 09:40)"
    assert dict(look_up(lived, "U-0001")[0].facts)["personal"] == "erased"


def test_the_answer_is_bounded(lived):
    at = datetime(2027, 1, 5, tzinfo=UTC)
    with lived.write(by="s") as ledger:
        for count in range(30):
            moment = at + timedelta(minutes=count)
            ledger.record(Move(item=POUCH, kind=PlaceKind.SHELF, place=f"shelf {count}", at=moment))
        hold = next(one for one in life_from(BEGIN) if type(one).__name__ == "Hold")
        bottles = (Name(Kind.BOTTLE, "010000012"),) * 20
        ledger.record(replace(hold, number="H-0002", items=bottles))
    moves = dict(look_up(lived, "010000061")[0].facts)["move (item)"]
    assert moves.startswith("shelf shelf 29 2027-01-05 00:29; ")
    assert moves.endswith("; and 19 before")
    assert dict(look_up(lived, "H-0002")[0].facts)["items"].endswith(" and 8 more")


def test_what_nothing_bears_is_refused(lived):
    with pytest.raises(InputError, match="'S9'; expected a serial, a batch, a lot, a code"):
        look_up(lived, "S9")
