"""Advice: the best layout first, and the smallest change that turns a fail into a pass, with its numbers."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from tracelabels.identifiers import IdentifierMode, LabelIdentity
from tracelabels.labels import ContentLine, LabelContent, fits, list_layouts, list_sheets, require_layout, require_sheet
from tracelabels.legibility import advice
from tracelabels.legibility.advice import Adviser, ChangeKind, Setting
from tracelabels.legibility.findings import Legibility
from tracelabels.legibility.reshaping import reshape
from tracelabels.legibility.rules.extent import extent_of
from tracelabels.legibility.subjects import subject_of_layout
from tracelabels.lengths import Mm
from tracelabels.symbols import ShapeFamily, read_symbols, shapes_of

CONTENT = LabelContent(
    identity=LabelIdentity(use_by=date(2027, 11, 30), prepared=date(2026, 11, 25), lot="TW26K04", serial="010004710"),
    mode=IdentifierMode.IN_HOUSE,
    product="Rosehip",
    item_number="R-12",
)
TUBE_SHEET = "a4-5x13-38.1x21.2"


def with_lot(lot):
    return replace(CONTENT, identity=replace(CONTENT.identity, lot=lot))


def adviser(judge=None, *, layouts=None):
    chosen = list_layouts() if layouts is None else [require_layout(name) for name in layouts]
    return Adviser(layouts=chosen, sheets=list_sheets(), judge=judge)


def reads_from(x_mm):
    """Return a judge that passes modules from a size on, warns of those a tenth smaller, and fails the rest."""

    def judge(subject):
        if subject.x_dimension >= x_mm:
            return Legibility.PASS
        return Legibility.WARN if subject.x_dimension >= 0.9 * x_mm else Legibility.FAIL

    return judge


def setting(layout, sheet, dpi, *, content=CONTENT, tube=None):
    return Setting(
        content=content, layout=require_layout(layout), sheet=require_sheet(sheet), dpi=dpi, tube_diameter=tube
    )


def ranked(tried):
    return [
        (one.setting.layout.name, one.verdict.value, one.subject.code.version, int(one.subject.code.x)) for one in tried
    ]


@pytest.mark.parametrize(
    ("tube", "dpi", "expected"),
    [
        (
            10.8,
            300,
            [
                ("tube-2.0-side", "pass", "12x36", 5),
                ("tube-1.5-side", "pass", "12x36", 4),
                ("flag-1.5", "pass", "20x20", 3),
            ],
        ),
        (7.8, 300, [("flag-0.5", "pass", "20x20", 3), ("tube-0.5-side", "pass", "12x36", 3)]),
        (7.8, 203, [("flag-0.5", "warn", "20x20", 2), ("tube-0.5-side", "warn", "12x36", 2)]),
        (
            None,
            300,
            [("pouch-135", "pass", "20x20", 9), ("pouch-90", "pass", "20x20", 6), ("pouch-57", "pass", "20x20", 5)],
        ),
    ],
)
def test_layouts_by_verdict_then_module(tube, dpi, expected):
    tried, refused = adviser().rank_layouts(CONTENT, dpi=dpi, tube_diameter=None if tube is None else Mm(tube))
    assert ranked(tried) == expected
    assert refused == ()


def test_the_module_goes_before_the_ease_of_the_text():
    (first, second, *_), _ = adviser().rank_layouts(CONTENT, dpi=300)
    small = replace(first, subject=replace(first.subject, code=replace(first.subject.code, x=2.0)))
    assert sorted([small, second], key=advice._rank) == [second, small]


def test_the_judge_goes_before_the_module():
    def likes_flags(subject):
        return Legibility.PASS if subject.tube_diameter is None else Legibility.WARN

    tried, _ = adviser(likes_flags).rank_layouts(CONTENT, dpi=300, tube_diameter=Mm(10.3))
    assert [one.setting.layout.name for one in tried] == ["flag-1.5", "tube-2.0-side", "tube-1.5-side"]


def test_the_judge_is_not_asked_about_what_the_rules_refuse():
    asked = []

    def judge(subject):
        asked.append(subject)
        return Legibility.PASS

    thin = setting("tube-1.5-side", TUBE_SHEET, 300, tube=Mm(4.5))
    gone = adviser(judge).try_setting(replace(thin, tube_diameter=Mm(2.4)))
    assert gone.verdict is Legibility.FAIL  # round more than half of the tube
    assert asked == []


def test_the_same_question_gets_the_same_answer_whatever_the_order_of_layouts():
    layouts, sheets = list_layouts(), list_sheets()
    one = Adviser(layouts=layouts, sheets=sheets).rank_layouts(CONTENT, dpi=300)
    other = Adviser(layouts=layouts[::-1], sheets=sheets).rank_layouts(CONTENT, dpi=300)
    assert ranked(one[0]) == ranked(other[0])


def test_a_roll_stays_a_roll():
    tried, _ = adviser().rank_layouts(CONTENT, dpi=300, sheet=require_sheet("roll-50x25"))
    assert {one.setting.layout.name: one.setting.sheet.name for one in tried} == {
        "pouch-135": "roll-100x60",
        "pouch-57": "roll-50x25",
        "pouch-90": "a4-3x7-63.5x38.1",
    }


def test_what_cannot_be_set_is_named():
    content = replace(CONTENT, product="Rosehip and Driftwood, blended, thinned and strained twice")
    tried, refused = adviser().rank_layouts(content, dpi=300, tube_diameter=Mm(7.8))
    assert tried == ()
    assert [sentence.partition(": ")[0] for sentence in refused] == ["flag-0.5", "tube-0.5-side"]
    assert adviser().rank_layouts(content, dpi=300, tube_diameter=Mm(25.0)) == (
        (),
        ("no layout at hand is for a tube of 25.0 mm and shows all that this label says",),
    )


def test_several_batches_go_on_the_layout_that_shows_them():
    content = replace(
        CONTENT, product=None, item_number=None, identity=replace(CONTENT.identity, lot=None),
        lines=(ContentLine(name="Rosehip", lot="5501"), ContentLine(name="Clay", lot="5502")),
    )  # fmt: skip
    tried, _ = adviser().rank_layouts(content, dpi=300)
    assert [one.setting.layout.name for one in tried if one.verdict is Legibility.PASS] == ["pouch-batches"]


@pytest.mark.parametrize(
    ("given", "judge", "kind", "sentence"),
    [
        (  # larger X: 4 dots where 0.35 mm are needed, 5 dots on the wider layout
            setting("tube-1.5-side", TUBE_SHEET, 300),
            reads_from(0.35),
            ChangeKind.LARGER_X,
            (
                "layout tube-2.0-side on a4-5x13-38.1x21.2: 12x36 modules, X of 5 dots (0.423 mm) at 300 dpi "
                "instead of X of 4 dots (0.339 mm) at 300 dpi"
            ),
        ),
        (  # larger X, the smaller of two larger pouch labels
            setting("pouch-57", "a4-4x10-48.5x25.4", 300),
            reads_from(0.45),
            ChangeKind.LARGER_X,
            (
                "layout pouch-90 on a4-3x7-63.5x38.1: 20x20 modules, X of 6 dots (0.508 mm) at 300 dpi instead of "
                "X of 5 dots (0.423 mm) at 300 dpi"
            ),
        ),
        (  # finer dots: 8 of 600 dpi lie between 3 and 4 of 300 dpi, and nothing else is larger
            setting("cap-9.5", "a4-round-15x21-9.5", 203),
            reads_from(0.254),
            ChangeKind.DPI,
            (
                "a printer of 300 dpi: 20x20 modules, X of 3 dots (0.254 mm) at 300 dpi instead of "
                "X of 2 dots (0.250 mm) at 203 dpi"
            ),
        ),
        (  # fewer characters: (17)4 + (13)4 + (10)1 + TW26K0471 6 + GS 1 + (21)6 are the 22 codewords of 20x20
            setting("cap-9.5", "a4-round-15x21-9.5", 300, content=with_lot("TW26K0471-2B93XC")),
            None,
            ChangeKind.SHORTER_LOT,
            "a batch of 9 characters instead of 16: 20x20 modules, X of 3 dots (0.254 mm) at 300 dpi",
        ),
        (  # a tube too thin for the side, where only the flat cap serves
            setting("tube-1.5-side", TUBE_SHEET, 300, tube=Mm(6.0)),
            None,
            ChangeKind.CAP,
            (
                "the code on the cap: layout cap-11 on a4-round-13x18-11: 20x20 modules, X of 3 dots (0.254 mm) at "
                "300 dpi instead of X of 4 dots (0.339 mm) at 300 dpi"
            ),
        ),
    ],
)
def test_the_smallest_change_that_passes(given, judge, kind, sentence):
    before = adviser(judge).try_setting(given)
    assert before is None or before.verdict is not Legibility.PASS
    change = adviser(judge).find_change(given)
    assert (change.kind, change.sentence, change.after.verdict) == (kind, sentence, Legibility.PASS)


def test_a_square_instead_of_a_rectangle():
    def wants_squares(subject):
        rows, columns = subject.code.modules.shape
        return Legibility.PASS if rows == columns else Legibility.FAIL

    # A layout alone, so that no flag of the same set, which is larger in X, is found first.
    change = adviser(wants_squares, layouts=["tube-2.0-side"]).find_change(setting("tube-2.0-side", TUBE_SHEET, 300))
    assert change.kind is ChangeKind.SHAPE
    assert change.sentence == (
        "a square of 20x20 modules instead of 12x36: 20x20 modules, X of 3 dots (0.254 mm) at 300 dpi "
        "instead of X of 5 dots (0.423 mm) at 300 dpi"
    )
    (reading,) = read_symbols(change.after.subject.picture)
    assert reading.text == change.after.subject.code.text


def test_a_warning_is_the_second_best_answer_to_a_fail():
    change = adviser(reads_from(0.45)).find_change(setting("tube-1.5-side", TUBE_SHEET, 300), dpis=(300,))
    assert (change.kind, change.after.verdict) == (ChangeKind.LARGER_X, Legibility.WARN)


def test_no_change_helps():
    assert adviser(reads_from(2.0)).find_change(setting("tube-1.5-side", TUBE_SHEET, 300)) is None


@pytest.mark.parametrize("name", ["tube-1.5-side", "tube-2.0-side", "pouch-57", "pouch-90"])
@pytest.mark.parametrize("family", [ShapeFamily.SQUARE, ShapeFamily.RECTANGLE])
def test_a_reshaped_code_still_says_the_same_within_its_place(name, family):
    layout = require_layout(name)
    sheet = next(sheet for sheet in list_sheets() if fits(layout, sheet))
    subject = subject_of_layout(layout, sheet, dpi=300, content=CONTENT)
    turns = fits(layout, sheet).quarter_turns
    other = reshape(subject, layout, quarter_turns=turns, shapes=shapes_of(family))
    (reading,) = read_symbols(other.picture)
    assert (reading.text, reading.version) == (subject.code.text, other.code.version)
    code = other.code
    rows, columns = code.modules.shape
    x = int(code.x)
    cut = other.picture[int(code.top) :, int(code.left) :][: rows * x, : columns * x]
    assert np.array_equal(cut[x // 2 :: x, x // 2 :: x] < 128, code.modules)
    left = other.picture.copy()
    left[int(code.top) :, int(code.left) :][: rows * x, : columns * x] = 255
    box = extent_of(subject.code)
    assert left[round(box.top) : round(box.bottom), round(box.left) : round(box.right)].min() == 255
    place = (layout.symbol.height, layout.symbol.width) if turns else (layout.symbol.width, layout.symbol.height)
    assert (columns + 2) * x * subject.dot <= place[0]
    assert (rows + 2) * x * subject.dot <= place[1]


def test_no_shape_no_room():
    layout, sheet = require_layout("tube-1.5-side"), require_sheet(TUBE_SHEET)
    subject = subject_of_layout(layout, sheet, dpi=300, content=CONTENT)
    assert reshape(subject, layout, quarter_turns=1, shapes=shapes_of(ShapeFamily.SQUARE)[-1:]) is None
