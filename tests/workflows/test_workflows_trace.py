"""Tracing an invented story both ways; the expected answers are written out by hand."""

import bad_batch as story
import pytest

from tracelabels.custody import Fate, Kind, Name
from tracelabels.errors import InputError
from tracelabels.workflows.trace import trace


@pytest.fixture
def told(opened):
    practice = opened()
    with practice.write(by="bench") as unit:
        story.tell(unit)
    return practice


def _items(found):
    return {one.name.text: one.fate for one in found.items}


def _clients(found):
    return [one.text for one in found.clients]


@pytest.mark.parametrize("what", ["lot:Saltmarsh Colour/5501", "lot:5501", "5501"])
def test_a_batch_reaches_mixes_direct_uses_and_tubes_filled_at_the_chair(told, what):
    found = trace(told, what)
    assert found.question.startswith("lot:")
    assert _items(found) == {
        story.B1: Fate.USED, story.B2: Fate.USED, story.T1: Fate.USED, story.T2: Fate.IN_STOCK, story.T3: Fate.USED,
        story.T5: Fate.USED, story.P1: Fate.USED, story.P2: Fate.IN_STOCK, story.P3: Fate.USED,
        story.P4: Fate.IN_STOCK,
    }  # fmt: skip
    assert _clients(found) == ["C-1", "C-2", "C-3", "C-4", "C-6"]
    assert [one.text for one in found.incidents] == ["I01-0001"]
    assert found.completeness.holds
    assert sum(found.fates.values()) == found.completeness.items == found.completeness.items_counted == 10


def test_a_bad_tube_does_not_spread_to_the_other_tubes_of_its_pouch(told):
    assert story.T4 not in _items(trace(told, f"preparation:{story.ONE}"))


def test_a_load_reaches_its_pouches_and_every_tube_in_them(told):
    found = trace(told, "load:L01-0002")
    assert set(_items(found)) == {story.P1, story.P3, story.T1, story.T4, story.T3}
    assert _clients(found) == ["C-1", "C-2", "C-6"]


def test_growth_reaches_every_load_since_the_last_pass_and_names_both_ends(told):
    found = trace(told, "bi:B01-0002")
    assert [one.text for one in found.roots] == ["L01-0002", "L01-0003"]
    assert _clients(found) == ["C-1", "C-2", "C-3", "C-5", "C-6"]
    assert found.notes[0] == "growth in spore test B01-0002, load L01-0003: steriliser S1, cycle kind air removal"
    assert found.notes[1] == (
        "affected from: after load L01-0001, whose spore test B01-0001 passed (itself not affected), 2026-11-11 09:00"
    )
    assert found.notes[2] == "affected until: now (not returned to service)"
    assert found.notes[3] == "policy: strict"


def test_a_passed_test_stands_for_its_own_load(told):
    assert set(_items(trace(told, "bi:B01-0001"))) == {story.P2, story.T2}


def test_a_client_was_treated_with_what_came_from(told):
    found = trace(told, "client:C-2")
    assert _items(found) == {story.P3: Fate.USED}
    assert found.completeness.holds
    assert set(found.backward.nodes) >= {
        Name(Kind.TUBE, story.T3),
        Name(Kind.PREPARATION, story.MIX),
        Name(Kind.BOTTLE, story.B2),
        Name(Kind.BOTTLE, story.B3),
        Name(Kind.LOAD, "L01-0002"),
        Name(Kind.STERILISER, "S1"),
        Name(Kind.CONSUMABLE, "pouch_material/PF-1"),
        Name(Kind.ADVERSE_EVENT, "A01-0001"),
    }
    assert Name(Kind.BOTTLE, story.B1) not in found.backward.nodes


def test_an_adverse_event_goes_on_from_every_batch_and_load_behind_it(told):
    found = trace(told, "adverse:A01-0001")
    assert found.notes == ("linked uses: U01-000002",)
    assert _clients(found) == ["C-1", "C-2", "C-3", "C-4", "C-6"]
    assert story.T4 in _items(found)
    assert found.completeness.holds


def test_a_lot_that_was_never_entered_is_followed_by_what_bears_it(told):
    found = trace(told, "consumable:spore_tests/BI-1")
    assert found.notes == ("the lot BI-1 was never entered; what bears its number is followed",)
    assert set(_items(found)) == {story.P2, story.T2, story.P4, story.T5, story.P5}


def test_a_number_that_means_several_things_is_asked_back(told):
    with told.write(by="bench") as unit:
        unit.add_product(story.Product(name="Clay", item_number="5501", maker="Other"))
    with pytest.raises(InputError, match="may mean lot:Saltmarsh Colour/5501, product:Other/5501"):
        trace(told, "5501")


@pytest.mark.parametrize("what", ["serial:999999999", "nothing", "lot:Nobody/5501"])
def test_what_nobody_recorded_is_refused(told, what):
    with pytest.raises(InputError, match="nothing with this name stands in the ledger"):
        trace(told, what)
