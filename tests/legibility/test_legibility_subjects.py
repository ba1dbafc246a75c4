"""Labels under check: cut whole out of our own pages, and measured on anybody's."""

import io
import re
from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from PIL import Image
from reportlab.lib.units import mm
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen import canvas

from tracelabels.errors import RasterError
from tracelabels.identifiers import IdentifierMode, LabelIdentity, Payload, format_serial
from tracelabels.labels import LabelContent, Printer, require_layout, require_sheet, typeset
from tracelabels.legibility.findings import Legibility
from tracelabels.legibility.rules import check_rules
from tracelabels.legibility.samples import sample_content
from tracelabels.legibility.subjects import subject_of_layout, subjects_of_pdf, subjects_of_typeset
from tracelabels.lengths import Mm, nearest_dots
from tracelabels.paper import Paper, rasterise_page
from tracelabels.symbols import (
    DataMatrixShape,
    QRLevel,
    Symbology,
    TubeAxis,
    read_symbols,
    write_code_128,
    write_data_matrix,
    write_micro_qr,
    write_qr,
)

TEXT = "1727113013261125105501\x1d2101000004"


def payload(text, *, gs1=False):
    return Payload(text=text, fnc1_first=gs1, mode=IdentifierMode.GS1 if gs1 else IdentifierMode.IN_HOUSE)


def contents(count):
    return [
        LabelContent(
            identity=LabelIdentity(
                use_by=date(2027, 11, 30), prepared=date(2026, 11, 25), lot="5501", serial=format_serial(1, number)
            ),
            mode=IdentifierMode.IN_HOUSE,
            product="Rosehip",
            item_number="R-12",
        )
        for number in range(1, count + 1)
    ]


def foreign(modules, x_mm, *, places=((20.0, 40.0),), angle=0.0, picture=False, words=True, others=()):
    """Draw symbols as a plain script would: a rectangle for each dark module, places from the page's top left."""
    out = io.BytesIO()
    rows, columns = modules.shape
    wide = max(left for left, _ in places) + columns * x_mm + 25
    high = max(top for _, top in places) + rows * x_mm + 10
    page = canvas.Canvas(out, pagesize=(wide * mm, high * mm))
    for number, (left, top) in enumerate(places):
        modules = others[number - 1] if number and others else modules
        page.saveState()
        page.translate(left * mm, (high - top - rows * x_mm) * mm)
        page.rotate(angle)
        if picture:
            pixels = np.where(np.kron(modules, np.ones((5, 5), dtype=bool)), 0, 255).astype(np.uint8)
            page.drawImage(ImageReader(Image.fromarray(pixels)), 0, 0, columns * x_mm * mm, rows * x_mm * mm)
        else:
            for row, column in zip(*np.nonzero(modules), strict=True):
                page.rect(column * x_mm * mm, (rows - 1 - row) * x_mm * mm, x_mm * mm, x_mm * mm, stroke=0, fill=1)
        if words:
            page.drawString((columns * x_mm + 5) * mm, 0, "Rosehip")
        page.restoreState()
    page.save()
    return out.getvalue()


# Labels of our own


@pytest.mark.parametrize(
    ("layout", "sheet", "axis"),
    [
        ("tube-1.5-side", "a4-5x13-38.1x21.2", TubeAxis.HEIGHT),  # lies turned on the sheet
        ("tube-0.5-side", "roll-28x13", TubeAxis.HEIGHT),
        ("pouch-57", "a4-4x10-48.5x25.4", None),
    ],
)
@pytest.mark.parametrize("dpi", [203, 300, 600])
def test_labels_of_a_run_are_cut_at_their_edges(layout, sheet, axis, dpi):
    on, chosen, printer = require_sheet(sheet), require_layout(layout), Printer(dpi=dpi)
    says = contents(3)
    run = typeset(says, layout=chosen, sheet=on, printer=printer, title="run")
    subjects = list(subjects_of_typeset(run, says, layout=chosen, sheet=on, dpi=dpi))
    assert [subject.label for subject in subjects] == [one.identity.serial for one in says]
    for subject, content, label in zip(subjects, says, run.placed, strict=True):
        code = subject.code
        assert subject.picture.shape == (nearest_dots(on.label_height, dpi), nearest_dots(on.label_width, dpi))
        assert (subject.content, subject.layout, subject.sheet, subject.axis) == (content, chosen, on, axis)
        assert (code.text, code.version, code.x, code.y) == (
            label.payload.text,
            label.symbol.version,
            label.x,
            label.x,
        )
        rows, columns = code.modules.shape
        cut = subject.picture[int(code.top) :, int(code.left) :][
            : rows * label.x : label.x, : columns * label.x : label.x
        ]
        assert np.array_equal(cut < 128, code.modules)


def test_corrections_of_the_printer_move_the_cut_with_the_label():
    layout, sheet, says = require_layout("tube-1.5-side"), require_sheet("a4-5x13-38.1x21.2"), contents(2)
    plain = typeset(says, layout=layout, sheet=sheet, printer=Printer(dpi=300), title="run")
    moved_printer = Printer(dpi=300, offset_x=Mm(1.3), offset_y=Mm(-0.7))
    moved = typeset(says, layout=layout, sheet=sheet, printer=moved_printer, title="run")
    first = next(subjects_of_typeset(plain, says, layout=layout, sheet=sheet, dpi=300))
    second = next(subjects_of_typeset(moved, says, layout=layout, sheet=sheet, dpi=300, printer=moved_printer))
    assert np.array_equal(first.code.modules, second.code.modules)
    assert (first.code.left, first.code.top) == (second.code.left, second.code.top)
    box = np.s_[int(first.code.top) :, int(first.code.left) :]
    assert np.array_equal(first.picture[box][:48, :144], second.picture[box][:48, :144])


def test_a_label_that_hangs_over_the_page_is_cut_on_bare_paper():
    layout, sheet, says = require_layout("tube-0.5-side"), require_sheet("roll-28x13"), contents(1)
    run = typeset(says, layout=layout, sheet=sheet, printer=Printer(dpi=300), title="run")
    wide = replace(sheet, label_width=Mm(sheet.page_width + 4), left=Mm(-2.0))
    (subject,) = subjects_of_typeset(
        run, says, layout=replace(layout, widest=Mm(90), highest=Mm(90)), sheet=wide, dpi=300
    )
    assert subject.picture.shape == (154, 425)
    assert (subject.picture[:, :23] == 255).all()


def test_the_tube_at_hand_goes_before_the_layouts_but_never_on_a_flat_label():
    side, cap = require_layout("tube-1.5-side"), require_layout("cap-11")
    assert subject_of_layout(side, require_sheet("a4-5x13-38.1x21.2"), dpi=300).tube_diameter == 10.3
    on_thick = subject_of_layout(side, require_sheet("a4-5x13-38.1x21.2"), dpi=300, tube_diameter=Mm(13.0))
    assert on_thick.tube_diameter == 13.0
    flat = subject_of_layout(cap, require_sheet("a4-round-13x18-11"), dpi=300, tube_diameter=Mm(13.0))
    assert (flat.tube_diameter, flat.axis) == (None, None)


def test_a_layout_is_shown_with_the_longest_words_that_it_takes_legibly():
    layout = require_layout("tube-1.5-side")
    content = sample_content(layout)
    assert content.product == "Rosehip, Oat Milk, Driftwood and Clay, blended and"
    assert (content.identity.lot, content.identity.serial) == ("TW26K047", "010004710")
    subject = subject_of_layout(layout, require_sheet("a4-5x13-38.1x21.2"), dpi=300)
    assert subject.content == content
    assert read_symbols(subject.picture)[0].text == "172711301326112510TW26K047\x1d21010004710"


def test_an_empty_tubes_sample_says_its_serial_alone_and_gs1_mode_has_a_gtin():
    assert sample_content(require_layout("tube-empty")).identity == LabelIdentity(serial="010004710")
    gs1 = sample_content(require_layout("pouch-57"), mode=IdentifierMode.GS1)
    assert gs1.identity.gtin == "09501101530003"  # figure 2.6.14-3 of the GS1 General Specifications


# Pages of anybody's

KINDS = {
    "gs1_data_matrix": write_data_matrix(payload("0109501101530003172711301022", gs1=True)),
    "data_matrix": write_data_matrix(payload(TEXT)),
    "rectangle": write_data_matrix(payload("17271130102255"), shape=DataMatrixShape.RECTANGLE_8_32),
    "extended": write_data_matrix(payload("17271130102255"), shape=DataMatrixShape.EXTENDED_8_48),
    "qr": write_qr(payload(TEXT), level=QRLevel.Q),
    "micro_qr": write_micro_qr(payload("0100000471")),
    "code_128": write_code_128(payload("01000004718")),
}


@pytest.mark.parametrize("kind", list(KINDS))
@pytest.mark.parametrize("turns", [0, 1, 2, 3])
def test_every_kind_in_every_turn_is_measured_to_a_twentieth_of_a_dot(kind, turns):
    symbol = KINDS[kind]
    drawn = np.repeat(symbol.modules, 30, axis=0) if symbol.is_linear else symbol.modules
    drawn = np.rot90(drawn, turns)
    dpi, x = 300, 0.27 / 25.4 * 300
    (subject,), problems = subjects_of_pdf(foreign(drawn, 0.27, words=False), dpi=dpi)
    code = subject.code
    assert problems == ()
    # The reader tells extended rectangles apart by an identifier of their own, the writer does not.
    identifier = "]d7" if kind == "extended" else symbol.symbology_identifier
    assert (code.symbology, code.symbology_identifier) == (symbol.symbology, identifier)
    assert (code.text, code.version) == (symbol.payload.text, symbol.version)
    assert np.array_equal(code.modules, np.rot90(symbol.modules, turns))
    assert code.x == pytest.approx(x, abs=0.01)
    assert code.y == pytest.approx(30 * x if symbol.is_linear else x, abs=0.3 if symbol.is_linear else 0.01)
    margin = {"qr": 10, "micro_qr": 6, "code_128": 22}.get(kind, 4) * code.x
    left, top = 20.0 / 25.4 * dpi, 40.0 / 25.4 * dpi
    along, ends = (0.05, 0.1) if turns % 2 == 0 else (0.1, 0.05)  # a bar ends on a whole pixel of the measuring picture
    linear = symbol.is_linear
    assert code.left == pytest.approx(left - np.floor(left - margin), abs=along if linear else 0.05)
    assert code.top == pytest.approx(top - np.floor(top - margin), abs=ends if linear else 0.05)


@pytest.mark.parametrize(("dpi", "x_mm"), [(203, 0.25), (203, 0.30), (300, 0.25), (300, 4 * 25.4 / 300), (600, 0.30)])
@pytest.mark.parametrize("picture", [False, True])
def test_a_sheet_of_a_plain_script_is_measured(dpi, x_mm, picture):
    symbol = KINDS["data_matrix"]
    places = [(5 + column * 40.6, 20 + row * 21.2) for row in range(3) for column in range(5)]
    subjects, problems = subjects_of_pdf(foreign(symbol.modules, x_mm, places=places, picture=picture), dpi=dpi)
    assert problems == ()
    assert [subject.label for subject in subjects] == [f"page 1, code {number}" for number in range(1, 16)]
    # The renderer widens a picture to whole pixels of 1 / 3600 inch, where it is measured.
    of_module, of_edge = (0.02, 0.17) if picture else (0.005, 0.05)
    assert max(abs(one.code.x - x_mm / 25.4 * dpi) for one in subjects) < of_module
    assert max(abs(one.code.y - x_mm / 25.4 * dpi) for one in subjects) < of_module
    fractions = [(place / 25.4 * dpi) % 1 for place, _ in places]
    off = [abs((one.code.left - wanted + 0.5) % 1 - 0.5) for one, wanted in zip(subjects, fractions, strict=True)]
    assert max(off) < of_edge


def test_modules_off_the_dots_are_caught():
    (subject,), _ = subjects_of_pdf(foreign(KINDS["data_matrix"].modules, 0.30), dpi=203)
    (finding,) = [one for one in check_rules(subject) if one.rule == "whole_dots"]
    assert (finding.verdict, finding.fix) == (
        Legibility.FAIL,
        "X of 3 dots (0.375 mm) at 203 dpi, or X of 2 dots (0.250 mm) at 203 dpi if there is no more room",
    )
    assert re.match(
        r"modules of 2\.39\d dots: some come out with 2, some with 3, edges 0\.\d\d dots off", finding.measured
    )


def test_our_own_sheet_made_for_another_printer_is_caught():
    paper = Paper(width=Mm(60), height=Mm(40), dpi=300, title="made for 300 dpi")
    paper.begin_page()
    paper.symbol(KINDS["data_matrix"].modules, left=100, top=80, x=3)
    pdf = paper.finish()
    (right,), _ = subjects_of_pdf(pdf, dpi=300)
    (wrong,), _ = subjects_of_pdf(pdf, dpi=203)
    assert [one.verdict.value for one in check_rules(right) if one.rule == "whole_dots"] == ["pass"]
    assert [one.verdict.value for one in check_rules(wrong) if one.rule == "whole_dots"] == ["fail"]
    assert wrong.code.x == pytest.approx(3 * 203 / 300, abs=0.005)


def test_our_own_pages_measure_as_they_were_set():
    layout, sheet, says = require_layout("tube-1.5-side"), require_sheet("a4-5x13-38.1x21.2"), contents(7)
    run = typeset(says, layout=layout, sheet=sheet, printer=Printer(dpi=300), title="run")
    own = list(subjects_of_typeset(run, says, layout=layout, sheet=sheet, dpi=300))
    measured, problems = subjects_of_pdf(run.pdf, dpi=300, sheet=sheet, tube_diameter=Mm(10.3), axis=TubeAxis.HEIGHT)
    assert problems == ()
    for one, other in zip(own, measured, strict=True):
        assert np.array_equal(one.picture, other.picture)
        assert np.array_equal(one.code.modules, other.code.modules)
        assert (one.code.text, one.code.version) == (other.code.text, other.code.version)
        assert (other.code.left, other.code.top, other.code.x, other.code.y) == pytest.approx(
            (one.code.left, one.code.top, one.code.x, one.code.y), abs=0.05
        )
        assert (one.tube_diameter, one.axis, one.sheet) == (other.tube_diameter, other.axis, other.sheet)


def test_a_code_off_all_labels_of_the_sheet_is_cut_round_itself():
    pdf = foreign(KINDS["data_matrix"].modules, 0.3, places=((1.5, 1.5),), words=False)
    (subject,), _ = subjects_of_pdf(pdf, dpi=300, sheet=require_sheet("a4-5x13-38.1x21.2"))
    assert subject.sheet is None
    assert max(subject.picture.shape) < 100


@pytest.mark.parametrize(
    ("kind", "turns", "axis"),
    [
        ("rectangle", 0, TubeAxis.WIDTH),
        ("rectangle", 1, TubeAxis.HEIGHT),
        ("code_128", 0, TubeAxis.WIDTH),
        ("code_128", 1, TubeAxis.HEIGHT),
    ],
)
def test_a_foreign_code_lies_with_its_long_side_along_the_tube_unless_said_otherwise(kind, turns, axis):
    symbol = KINDS[kind]
    drawn = np.rot90(np.repeat(symbol.modules, 30, axis=0) if symbol.is_linear else symbol.modules, turns)
    pdf = foreign(drawn, 0.254, words=False)
    assert [one.axis for one in subjects_of_pdf(pdf, dpi=300, tube_diameter=Mm(10.3))[0]] == [axis]
    assert [one.axis for one in subjects_of_pdf(pdf, dpi=300)[0]] == [None]
    asked = subjects_of_pdf(pdf, dpi=300, tube_diameter=Mm(10.3), axis=TubeAxis.WIDTH)[0]
    assert [one.axis for one in asked] == [TubeAxis.WIDTH]


def test_pages_and_codes_that_cannot_be_measured_are_named():
    empty = foreign(np.zeros((4, 4), dtype=bool), 0.3)
    assert subjects_of_pdf(empty, dpi=300) == ((), ("page 1: no code was read on it",))
    leaning = foreign(KINDS["data_matrix"].modules, 0.35, angle=10.0, words=False)
    subjects, problems = subjects_of_pdf(leaning, dpi=300)
    assert subjects == ()
    (problem,) = problems
    assert re.fullmatch(
        r"page 1, [\d.]+ mm from the left and [\d.]+ mm from the top: the code stands askew by 1[01] degrees", problem
    )
    slightly = foreign(KINDS["data_matrix"].modules, 0.35, angle=1.5, words=False)
    _, problems = subjects_of_pdf(slightly, dpi=300)
    assert [problem.partition(": ")[2] for problem in problems] == [
        "the code was read, but its modules lie on no even grid"
    ]


def test_a_kind_that_is_not_ours_is_named():
    from barcode import EAN13

    dark = np.array([bit == "1" for bit in EAN13("9501101530003").build()[0]])
    _, problems = subjects_of_pdf(foreign(np.repeat(dark[None, :], 60, axis=0), 0.33, words=False), dpi=300)
    assert [problem.partition(": ")[2] for problem in problems] == ["a code of the kind EAN-13 is not checked"]


def test_codes_come_row_by_row_although_a_row_is_not_quite_level():
    texts = ("0100000101", "0100000202", "0100000303")
    symbols = [write_data_matrix(payload(text)).modules for text in texts]
    pdf = foreign(symbols[0], 0.3, places=((60.0, 20.0), (20.0, 20.5), (20.0, 60.0)), others=symbols[1:])
    assert [one.code.text for one in subjects_of_pdf(pdf, dpi=300)[0]] == [texts[1], texts[0], texts[2]]


def test_another_writers_codewords_are_taken_from_the_page():
    from tracelabels.symbols import read_symbols as read

    # The same text as 20x20 and as 22x22 has other padding; a sampled matrix that reads is believed as it is.
    wide = write_data_matrix(payload(TEXT), shape=DataMatrixShape.SQUARE_22)
    (subject,), _ = subjects_of_pdf(foreign(wide.modules, 0.3), dpi=300)
    assert subject.code.version == "22x22"
    assert np.array_equal(subject.code.modules, wide.modules)
    assert read(rasterise_page(foreign(wide.modules, 0.3), index=0, dpi=300))[0].text == TEXT


def test_what_is_no_pdf_is_refused():
    with pytest.raises(RasterError):
        subjects_of_pdf(b"no PDF", dpi=300)


def test_symbologies_have_a_test_each():
    assert {symbol.symbology for symbol in KINDS.values()} == set(Symbology)
