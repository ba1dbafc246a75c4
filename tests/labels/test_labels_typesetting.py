"""The run: order, skipping, copies, corrections, refusals; what is drawn as readable text in millimetres."""

import dataclasses
import hashlib
import tracemalloc
from datetime import date

import numpy as np
import pypdf
import pytest

from tracelabels.errors import IdentifierError, LabelError, NoRoomError
from tracelabels.identifiers import LabelIdentity, format_serial
from tracelabels.labels import (
    LabelContent,
    LotKind,
    Printer,
    list_layouts,
    list_sheets,
    require_layout,
    require_sheet,
    typeset,
)
from tracelabels.labels import fits as fit_of
from tracelabels.labels.typesetting import LabelRun
from tracelabels.lengths import Mm
from tracelabels.paper import Face, rasterise_page

PRINTER = Printer(dpi=300)
TUBE, SHEET = require_layout("tube-1.5-side"), require_sheet("a4-5x13-38.1x21.2")


def several(content: LabelContent, count: int):
    """Yield so many labels with serials of their own."""
    for number in range(count):
        identity = dataclasses.replace(content.identity, serial=format_serial(1, number))
        yield dataclasses.replace(content, identity=identity)


def test_labels_go_row_by_row_and_page_by_page(full):
    run = typeset(several(full, 67), layout=TUBE, sheet=SHEET, printer=PRINTER)
    assert run.pages == 2
    places = [(label.page, label.row, label.column, label.index, label.copy) for label in run.placed]
    assert places[:7] == [(0, 0, column, column, 1) for column in range(5)] + [(0, 1, 0, 5, 1), (0, 1, 1, 6, 1)]
    assert places[64:] == [(0, 12, 4, 64, 1), (1, 0, 0, 65, 1), (1, 0, 1, 66, 1)]
    assert run.warnings == ()


def test_skipped_labels_stay_empty_on_the_first_page_only(full):
    run = typeset(several(full, 66), layout=TUBE, sheet=SHEET, printer=PRINTER, skip=63)
    assert [(label.page, label.slot) for label in run.placed][:4] == [(0, 63), (0, 64), (1, 0), (1, 1)]
    page = rasterise_page(run.pdf, index=0, dpi=300)
    assert (page[: run.placed[0].top - 300] == 255).all()


def test_each_copy_says_which_it_is_and_carries_the_same_code(full):
    run = typeset(several(full, 2), layout=TUBE, sheet=SHEET, printer=PRINTER, copies=3)
    assert [(label.index, label.copy, label.payload.text) for label in run.placed] == [
        (index, copy, f"17271130132611251055 01\x1d21{format_serial(1, index)}".replace(" ", ""))
        for index in range(2)
        for copy in (1, 2, 3)
    ]
    text = pypdf.PdfReader(_stream(run.pdf)).pages[0].extract_text()
    assert [text.count(f"{copy}/3") for copy in (1, 2, 3, 4)] == [2, 2, 2, 0]


def test_the_text_can_be_selected_and_the_font_is_embedded(full):
    run = typeset([full], layout=require_layout("pouch-90"), sheet=require_sheet("a4-3x7-63.5x38.1"), printer=PRINTER)
    page = pypdf.PdfReader(_stream(run.pdf)).pages[0]
    for words in (
        "Rosehip",
        "2027-11-30",
        "2026-11-25",
        "5501",
        "01000 0175",
        "R-12",
        "Bench 1",
        "0231",
        "2026-11-26",
        "KT",
    ):
        assert words in page.extract_text()
    fonts = [font.get_object() for font in page["/Resources"]["/Font"].get_object().values()]
    used = [font for font in fonts if font["/BaseFont"] != "/Helvetica"]
    assert used
    assert all("/FontFile2" in font["/FontDescriptor"].get_object() for font in used)


def test_labels_that_share_some_facts_keep_their_own(full):
    identity = dataclasses.replace(full.identity, lot="7720", serial=format_serial(1, 18))
    other = dataclasses.replace(full, identity=identity, lot_kind=LotKind.PREPARATION)
    third = dataclasses.replace(full, identity=dataclasses.replace(identity, lot="8801"))
    run = typeset([full, other, third, full], layout=TUBE, sheet=SHEET, printer=PRINTER)
    words = pypdf.PdfReader(_stream(run.pdf)).pages[0].extract_text()
    parts = ("Rosehip", "5501", "7720", "8801", "Batch", "Prep. no.")
    assert [words.count(part) for part in parts] == [4, 2, 1, 1, 3, 1]


ROLL = """
title = "Mine"
[roll]
width = {width}
gap = 3
[label]
width = {width}
height = {height}
"""


def test_a_turned_label_is_the_upright_one_turned(full, sheet_from):
    # The code of this layout stands in a corner, so that a wrong turn would show.
    layout = require_layout("pouch-57")
    upright = sheet_from(ROLL.format(width=48, height=25))
    turned = sheet_from(ROLL.format(width=25, height=48))
    one, two = (typeset([full], layout=layout, sheet=sheet, printer=PRINTER) for sheet in (upright, turned))
    (flat,), (risen,) = one.placed, two.placed
    width = round(48 / 25.4 * 300)
    assert abs(risen.left - flat.top) <= 1
    assert abs(risen.top - (width - flat.left - flat.width)) <= 1
    assert np.array_equal(risen.modules, np.rot90(flat.modules))
    as_upright = np.rot90(rasterise_page(two.pdf, index=0, dpi=300), -1)
    plain = rasterise_page(one.pdf, index=0, dpi=300)
    height, length = min(plain.shape[0], as_upright.shape[0]), min(plain.shape[1], as_upright.shape[1])
    # Letters may be off by a part of a dot; shrunk to a ninth, the two pictures are alike.
    small = [_shrunk(page[:height, :length], 9) for page in (plain, as_upright)]
    assert np.abs(small[0] - small[1]).mean() < 6
    assert np.abs(small[0] - small[1][::-1, ::-1]).mean() > 20


def _shrunk(page, by):
    rows, columns = page.shape[0] // by * by, page.shape[1] // by * by
    return page[:rows, :columns].reshape(rows // by, by, columns // by, by).mean(axis=(1, 3))


def test_the_same_input_gives_the_same_bytes(full):
    digests = {
        hashlib.sha256(typeset(several(full, 70), layout=TUBE, sheet=SHEET, printer=PRINTER).pdf).hexdigest()
        for _ in range(2)
    }
    assert len(digests) == 1


def test_contents_are_taken_one_by_one(full):
    taken = []

    def watched():
        for content in several(full, 3):
            taken.append(content.identity.serial)
            yield content
        yield dataclasses.replace(full, product=None)
        pytest.fail("more was taken after a label that is refused")

    with pytest.raises(LabelError):
        typeset(watched(), layout=TUBE, sheet=SHEET, printer=PRINTER)
    assert len(taken) == 3


def test_an_offset_moves_the_page_by_whole_dots_and_a_scale_leaves_symbols_as_they_are(full):
    contents = list(several(full, 65))
    plain = typeset(contents, layout=TUBE, sheet=SHEET, printer=PRINTER)
    moved = typeset(contents, layout=TUBE, sheet=SHEET, printer=Printer(dpi=300, offset_x=Mm(0.51), offset_y=Mm(-0.9)))
    shifts = {(two.left - one.left, two.top - one.top) for one, two in zip(plain.placed, moved.placed, strict=True)}
    assert shifts == {(6, -11)}
    one, two = (rasterise_page(run.pdf, index=0, dpi=300) for run in (plain, moved))
    # What lies on whole dots is moved exactly; the edges of letters may be rounded by a grey level or so.
    ours, theirs = one[11:-100, 100:-100].astype(int), two[: -100 - 11, 106:-94].astype(int)
    assert np.abs(ours - theirs).max() <= 8
    wide = typeset(contents, layout=TUBE, sheet=SHEET, printer=Printer(dpi=300, scale_x=1.003, scale_y=0.998))
    assert [label.symbol for label in wide.placed] == [label.symbol for label in plain.placed]
    assert wide.placed[-1].left - plain.placed[-1].left in {
        6,
        7,
    }  # 0.3 % of the last column's 167.2 mm are 5.9 dots, of
    # its label's left edge and the first margin 6; the frame is centred in whole dots


def test_outlines_are_drawn_on_the_edges_of_labels_that_are_used(full):
    run = typeset(several(full, 2), layout=TUBE, sheet=SHEET, printer=PRINTER, outlines=True)
    page = rasterise_page(run.pdf, index=0, dpi=300)
    middle = round((10.7 + 10.6) / 25.4 * 300)
    columns = [round((4.75 + column * 40.6) / 25.4 * 300) for column in range(3)]
    dark = [bool((page[middle, column - 1 : column + 2] < 255).any()) for column in columns]
    assert dark == [True, True, False]


def _stream(pdf: bytes):
    import io

    return io.BytesIO(pdf)


REFUSALS = [
    (
        {"product": "Driftwood-Umbra Areola Blend for Very Warm Undertones No. 4"},
        LabelError,
        (
            "label 1 (serial 010000175): product 'Driftwood-Umbra Areola Blend for Very Warm "
            "Undertones No. 4' in a place of "
            "17.4 x 6.1 mm; expected a text that fits whole at 5 pt; it needs 4 lines of that width, where "
            "there is room for 3: "
            "choose a layout with more room or a shorter text"
        ),
    ),
    (
        {"item_number": "R-12-0000-0000-XL"},
        LabelError,
        (
            "label 1 (serial 010000175): item_number 'R-12-0000-0000-XL' in a place of 1 line of 7.8 mm; "
            "expected a text that fits whole at 4.75 pt; it needs 1 line of 17.1 mm: "
            "choose a layout with more room or a shorter text"
        ),
    ),
    (
        {"product": None},
        LabelError,
        (
            "label 1 (serial 010000175): a label without product; "
            "expected a value for it, as layout tube-1.5-side shows it on every label; add it, or choose another layout"
        ),
    ),
    (
        {"product": "Rose ☃"},
        LabelError,
        (
            "label 1 (serial 010000175): the character '☃' (SNOWMAN, U+2603) in 'Rose ☃'; "
            "expected characters that the text face has (Latin, Greek, Cyrillic); write it with other characters"
        ),
    ),
]


@pytest.mark.parametrize(("change", "kind", "sentence"), REFUSALS)
def test_a_label_that_cannot_be_set_is_named(full, change, kind, sentence):
    with pytest.raises(kind) as caught:
        typeset([dataclasses.replace(full, **change)], layout=TUBE, sheet=SHEET, printer=PRINTER)
    assert str(caught.value) == sentence


def test_a_code_without_room_and_a_wrong_identity_name_the_label_too(full):
    long = dataclasses.replace(full, identity=dataclasses.replace(full.identity, lot="L" * 20))
    with pytest.raises(NoRoomError, match=r"^label 2 \(serial 010000175\): a free space of 5\.64 x 5\.64 mm; "):
        typeset(
            [full, long], layout=require_layout("cap-9.5"), sheet=require_sheet("a4-round-15x21-9.5"), printer=PRINTER
        )
    wrong = dataclasses.replace(full, identity=LabelIdentity(lot="x" * 21, serial="1"))
    with pytest.raises(IdentifierError, match=r"^label 1 \(serial 1\): "):
        typeset([wrong], layout=TUBE, sheet=SHEET, printer=PRINTER)


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (
            {"skip": 65},
            (
                "65 labels to skip on a4-5x13-38.1x21.2; expected a number from 0 to 64, as a page has 65 labels; "
                "count the labels that are gone from the top left, row by row"
            ),
        ),
        (
            {"skip": -1},
            (
                "-1 labels to skip on a4-5x13-38.1x21.2; expected a number from 0 to 64, as a page has 65 labels; "
                "count the labels that are gone from the top left, row by row"
            ),
        ),
        ({"copies": 0}, "0 copies; expected a number from 1 to 1000; change the number"),
        (
            {"copies": 2, "layout": dataclasses.replace(TUBE, fields=TUBE.fields[:-1])},
            (
                "2 copies in layout tube-1.5-side, which has no place for 'copy'; "
                "expected a layout that shows which copy a label is; "
                "add a field with show = 'copy' to the layout, or print one copy"
            ),
        ),
    ],
)
def test_counts_that_make_no_sense_are_refused(full, arguments, sentence):
    with pytest.raises(LabelError) as caught:
        typeset([full], **{"layout": TUBE, "sheet": SHEET, "printer": PRINTER, **arguments})
    assert str(caught.value) == sentence


def test_no_labels_at_all():
    with pytest.raises(LabelError) as caught:
        typeset([], layout=TUBE, sheet=SHEET, printer=PRINTER)
    assert str(caught.value) == "no labels; expected at least one; add a row to the list"


def test_a_small_module_is_a_warning_that_names_the_table(full):
    run = typeset(
        [full], layout=require_layout("tube-0.5-side"), sheet=require_sheet("roll-28x13"), printer=Printer(dpi=203)
    )
    assert len(run.warnings) == 1
    assert "0.250 mm" in run.warnings[0]
    assert "table 6" in run.warnings[0]


def test_the_list_of_placed_labels_stays_small(full):
    count = 2000
    tracemalloc.start()
    run = typeset(several(full, count), layout=TUBE, sheet=SHEET, printer=PRINTER)
    held, _ = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert len(run.placed) == count
    assert held / count < 1500  # bytes a label, the PDF included: 100,000 labels stay under 150 MB


class RecordedFragment:
    """Writes down what is drawn, in millimetres."""

    def __init__(self) -> None:
        self.lines = []

    def text(self, text, *, left, baseline, size, face=Face.REGULAR, quarter_turns=0):
        turned = " turned" if quarter_turns else ""
        weight = " bold" if face is Face.BOLD else ""
        self.lines.append(f"  text  {left:7.3f} {baseline:7.3f}  {size:g} pt{weight}{turned}  {text}")

    def line(self, *, from_, to, thickness):
        self.lines.append(f"  line  {from_[0]:7.3f} {from_[1]:7.3f}  to {to[0]:7.3f} {to[1]:7.3f}  {thickness:g} thick")

    def rectangle(self, *, left, top, width, height, radius, thickness):
        self.lines.append(
            f"  edge  {left:7.3f} {top:7.3f}  {width:g} x {height:g}  radius {radius:g}  {thickness:g} thick"
        )


class RecordedPaper:
    """Writes down pages, fragments and symbols."""

    def __init__(self) -> None:
        self.lines = []

    def begin_page(self):
        self.lines.append("page")

    def fragment(self):
        return RecordedFragment()

    def stamp(self, fragment, *, left, top, quarter_turns=0):
        self.lines.append(f" at {left:.3f} {top:.3f} mm, {quarter_turns} quarter turns")
        self.lines.extend(fragment.lines)

    def symbol(self, modules, *, left, top, x):
        rows, columns = modules.shape
        self.lines.append(f" symbol of {columns} x {rows} modules of {x} dots, at {left} {top} dots")


@pytest.mark.parametrize("layout", list_layouts(), ids=lambda layout: layout.name)
def test_drawings_in_millimetres(layout, content_for, matches_snapshot):
    sheet = next(sheet for sheet in list_sheets() if fit_of(layout, sheet))
    paper = RecordedPaper()
    run = LabelRun(paper, layout=layout, sheet=sheet, printer=PRINTER, outlines=True)
    run.add(content_for(layout, 17), index=0)
    other = content_for(layout, 18)
    unknown = dataclasses.replace(other, lot_kind=LotKind.PREPARATION, product="Driftwood-Umbra Blend", operator=None)
    if layout.name != "pouch-processed":
        unknown = dataclasses.replace(unknown, steriliser=None, load_number=None, processed_on=None)
    else:
        unknown = dataclasses.replace(unknown, operator="AB", processed_on=date(2026, 12, 1))
    run.add(unknown, index=1, copies=2)
    text = f"{layout.name} on {sheet.name} at 300 dpi\n" + "\n".join(paper.lines) + "\n"
    matches_snapshot(text, f"labels/{layout.name}.txt")
