"""Which layout goes on which label."""

import pytest

from tracelabels.errors import LabelError
from tracelabels.labels import fits, list_layouts, list_sheets, require_fit, require_layout, require_sheet

FITTING = {
    "cap-11": {"a4-round-13x18-11", "letter-round-13x17-11", "roll-round-11"},
    "cap-9.5": {"a4-round-15x21-9.5", "letter-round-14x18-9.5"},
    "tube-1.5-side": {"a4-5x13-38.1x21.2", "roll-2x38x21"},
    "tube-empty": {"a4-7x27-25.4x10", "roll-28x13"},
    "pouch-90": {"a4-3x7-63.5x38.1", "a4-3x8-63.5x33.9"},
}


@pytest.mark.parametrize("name", FITTING)
def test_shipped_layouts_on_shipped_sheets(name):
    layout = require_layout(name)
    assert {sheet.name for sheet in list_sheets() if fits(layout, sheet)} == FITTING[name]


@pytest.mark.parametrize(
    ("layout", "sheet", "turns"),
    [("tube-1.5-side", "a4-5x13-38.1x21.2", 1), ("pouch-90", "a4-3x7-63.5x38.1", 0), ("cap-11", "roll-round-11", 0)],
)
def test_a_layout_is_turned_only_if_it_must(layout, sheet, turns):
    assert require_fit(require_layout(layout), require_sheet(sheet)) == turns


@pytest.mark.parametrize(
    ("layout", "sheet", "sentence"),
    [
        (
            "pouch-135",
            "a4-5x13-38.1x21.2",
            (
                "layout pouch-135 on sheet a4-5x13-38.1x21.2: a label of 38.1 x 21.2 mm is too small "
                "for it, either way round; "
                "expected labels with one side of 95 to 110 mm and the other of 55 to 75 mm; "
                "choose another sheet or another layout"
            ),
        ),
        (
            "tube-1.5-side",
            "a4-2x4-99.1x67.7",
            (
                "layout tube-1.5-side on sheet a4-2x4-99.1x67.7: a label of 99.1 x 67.7 mm is too large for it, "
                "either way round; expected labels with one side of 20 to 22 mm and the other of 37 to 39 mm; "
                "choose another sheet or another layout"
            ),
        ),
        (
            "cap-11",
            "roll-50x25",
            (
                "layout cap-11 on sheet roll-50x25: cap-11 is for discs, roll-50x25 has rectangular labels; "
                "expected discs of 11 to 13 mm; choose another sheet or another layout"
            ),
        ),
        (
            "pouch-57",
            "roll-round-11",
            (
                "layout pouch-57 on sheet roll-round-11: pouch-57 is for rectangular labels, roll-round-11 has discs; "
                "expected labels with one side of 48 to 52 mm and the other of 25 to 28 mm; "
                "choose another sheet or another layout"
            ),
        ),
    ],
)
def test_what_does_not_go_is_refused_with_what_would(layout, sheet, sentence):
    with pytest.raises(LabelError) as caught:
        require_fit(require_layout(layout), require_sheet(sheet))
    assert str(caught.value) == sentence


def test_a_reason_is_given_just_when_it_does_not_fit():
    for layout in list_layouts():
        for sheet in list_sheets():
            fit = fits(layout, sheet)
            assert bool(fit) == (fit.reason == "")
