"""The printer, and where its corrections put the labels."""

import pytest

from tracelabels.errors import LabelError
from tracelabels.labels import Printer, require_fit, require_layout, require_sheet
from tracelabels.labels.grid import spots_of
from tracelabels.lengths import Mm


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        (
            {"dpi": 0},
            (
                "a printer resolution of 0 dpi; expected a number from 72 to 4800; "
                "look it up in the printer's manual: 203, 300 and 600 are usual"
            ),
        ),
        (
            {"dpi": 300, "offset_x": Mm(25.0)},
            "a printer offset_x of 25 mm; expected at most 20 mm either way; measure it on the alignment page",
        ),
        (
            {"dpi": 300, "offset_y": Mm(float("nan"))},
            "a printer offset_y of nan mm; expected at most 20 mm either way; measure it on the alignment page",
        ),
        (
            {"dpi": 300, "scale_y": 0.9},
            (
                "a printer scale_y of 0.9; expected a factor from 0.95 to 1.05; "
                "measure it on the alignment page, and print at 100 %, not fitted to the page"
            ),
        ),
    ],
)
def test_what_no_printer_has_is_refused(wrong, sentence):
    with pytest.raises(LabelError) as caught:
        Printer(**wrong)
    assert str(caught.value) == sentence


def spots(printer):
    layout, sheet = require_layout("tube-1.5-side"), require_sheet("a4-5x13-38.1x21.2")
    return spots_of(sheet, layout, printer=printer, quarter_turns=require_fit(layout, sheet))


def test_the_frame_lies_in_the_middle_of_the_label():
    # 38.1 x 21.2 mm labels, a turned frame of 37 x 20 mm, one dot 25.4 / 300 mm.
    first = spots(Printer(dpi=300))[0]
    dot = 25.4 / 300
    assert (first.left * dot, first.top * dot) == pytest.approx((4.75 + 0.55, 10.7 + 0.6), abs=dot)
    assert (first.label_left, first.label_top) == pytest.approx((4.75, 10.7), abs=dot / 2)


def test_an_offset_moves_every_label_by_the_same_whole_dots():
    plain, moved = spots(Printer(dpi=300)), spots(Printer(dpi=300, offset_x=Mm(1.0), offset_y=Mm(-0.5)))
    assert {(two.left - one.left, two.top - one.top) for one, two in zip(plain, moved, strict=True)} == {(12, -6)}


def test_a_scale_stretches_the_distances_between_labels():
    plain, wide = spots(Printer(dpi=300)), spots(Printer(dpi=300, scale_x=1.004))
    first, last = 0, 4
    assert wide[first].left - plain[first].left == 0  # 0.4 % of 4.75 mm are 0.2 dots
    assert wide[last].left - plain[last].left == 8  # 0.4 % of 4.75 + 4 x 40.6 mm are 7.9 dots
    assert [spot.top for spot in wide] == [spot.top for spot in plain]


def test_corrections_that_push_labels_off_the_page_are_refused():
    with pytest.raises(LabelError) as caught:
        spots(Printer(dpi=300, offset_x=Mm(-8.0)))
    assert str(caught.value) == (
        "printer corrections that push labels of a4-5x13-38.1x21.2 2.71 mm off the page; "
        "expected every label on the page; measure offset and scale again on the alignment page"
    )
