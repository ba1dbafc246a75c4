"""Each rule on labels that keep it and labels that break it; the limits come from the named standards."""

from dataclasses import replace

import numpy as np
import pytest
from legibility_subjects import code_of

from tracelabels.errors import InputError
from tracelabels.identifiers import IdentifierMode, Payload
from tracelabels.labels import fits, list_layouts, list_sheets, require_layout, require_sheet
from tracelabels.labels.layouts import Shorten
from tracelabels.legibility.findings import Finding, Legibility
from tracelabels.legibility.rules import PrintMethod, Stock, Tint, check_rules
from tracelabels.legibility.rules.extent import in_dots
from tracelabels.legibility.subject import Subject
from tracelabels.legibility.subjects import subject_of_layout
from tracelabels.lengths import Mm, Points
from tracelabels.symbols import (
    DataMatrixShape,
    Symbology,
    TubeAxis,
    write_code_128,
    write_data_matrix,
    write_micro_qr,
    write_qr,
)

FILM = Stock(name="white film", method=PrintMethod.LASER, withstands_steam=True)
TABLE_6 = "GS1 symbol specification table 6 (GS1 General Specifications R26.0 (January 2026))"
TABLE_6_OLDER = "GS1 symbol specification table 6 (GS1 General Specifications, releases before R26.0)"
REGISTRATION = (
    "derived: a label holds the symbol, its quiet zones and a tolerance of 1 to 1.5 mm for laser printers, shared"
)
TYPE = (
    "Regulation (EU) No 1169/2011, Article 13(3), small packs: an x-height of 0.9 mm (from memory, taken as a measure)"
)
CAUTION = "direct-thermal paper turns black in the steriliser, and nothing on it can be read afterwards"


def payload(text="0100000471", *, gs1=False):
    return Payload(text=text, fnc1_first=gs1, mode=IdentifierMode.GS1 if gs1 else IdentifierMode.IN_HOUSE)


def make_subject(symbol, *, x=4, dpi=300, margin=60, bars=80, turns=0, tube=None, axis=None):
    """Return a label that holds one symbol with white round it; a linear one with bars of so many dots."""
    modules = np.rot90(symbol.modules, turns)
    high, wide = modules.shape[0] * x, modules.shape[1] * x
    drawn = np.kron(modules, np.ones((x, x), dtype=bool))
    if symbol.is_linear:
        drawn = np.resize(drawn[0], (bars, wide)) if len(modules) == 1 else np.resize(drawn[:, 0], (bars, high)).T
    picture = np.full((drawn.shape[0] + 2 * margin, drawn.shape[1] + 2 * margin), 255, dtype=np.uint8)
    picture[margin : margin + drawn.shape[0], margin : margin + drawn.shape[1]] = np.where(drawn, 0, 255)
    y = float(bars if symbol.is_linear else x)
    code = code_of(symbol, left=float(margin), top=float(margin), x=float(x), y=y, modules=modules)
    return Subject(label="one", picture=picture, dpi=dpi, code=code, tube_diameter=tube, axis=axis)


def square(**changes: object):
    return make_subject(write_data_matrix(payload(), shape=DataMatrixShape.SQUARE_18), **changes)


def of_rule(subject, rule, **given: object) -> list[Finding]:
    return [finding for finding in check_rules(subject, **given) if finding.rule == rule]


def only(subject, rule, **given: object) -> Finding:
    (finding,) = of_rule(subject, rule, **given)
    return finding


# Module sizes follow from the places in the layout files; 2 dots at 203 dpi are 0.250 mm, just below 0.254.
SHIPPED = [
    ("cap-11", 203, "20x20", 2, ["x_dimension"]),
    ("cap-11", 300, "20x20", 3, []),
    ("cap-11", 600, "20x20", 7, []),
    ("cap-9.5", 203, "20x20", 2, ["x_dimension"]),
    ("cap-9.5", 300, "20x20", 3, []),
    ("cap-9.5", 600, "20x20", 6, []),
    ("flag-0.5", 203, "20x20", 2, ["x_dimension"]),
    ("flag-0.5", 300, "20x20", 3, []),
    ("flag-0.5", 600, "20x20", 7, []),
    ("flag-1.5", 203, "20x20", 2, ["x_dimension"]),
    ("flag-1.5", 300, "20x20", 3, []),
    ("flag-1.5", 600, "20x20", 7, []),
    ("pouch-135", 203, "20x20", 6, []),
    ("pouch-135", 300, "20x20", 9, []),
    ("pouch-135", 600, "20x20", 18, []),
    ("pouch-57", 203, "20x20", 3, []),
    ("pouch-57", 300, "20x20", 5, []),
    ("pouch-57", 600, "20x20", 10, []),
    ("pouch-90", 203, "20x20", 4, []),
    ("pouch-90", 300, "20x20", 6, []),
    ("pouch-90", 600, "20x20", 13, []),
    ("pouch-batches", 203, "18x18", 6, []),
    ("pouch-batches", 300, "18x18", 9, []),
    ("pouch-batches", 600, "18x18", 18, []),
    ("pouch-empty", 203, "18x18", 4, []),
    ("pouch-empty", 300, "18x18", 7, []),
    ("pouch-empty", 600, "18x18", 14, []),
    ("pouch-instruments", 203, "18x18", 4, []),
    ("pouch-instruments", 300, "18x18", 7, []),
    ("pouch-instruments", 600, "18x18", 14, []),
    ("pouch-processed", 203, "20x20", 3, []),
    ("pouch-processed", 300, "20x20", 5, []),
    ("pouch-processed", 600, "20x20", 10, []),
    ("tube-0.5-side", 203, "12x36", 2, ["x_dimension"]),
    ("tube-0.5-side", 300, "12x36", 3, []),
    ("tube-0.5-side", 600, "12x36", 6, []),
    ("tube-1.5-side", 203, "12x36", 3, []),
    ("tube-1.5-side", 300, "12x36", 4, []),
    ("tube-1.5-side", 600, "12x36", 9, []),
    ("tube-2.0-side", 203, "12x36", 3, []),
    ("tube-2.0-side", 300, "12x36", 5, []),
    ("tube-2.0-side", 600, "12x36", 10, []),
    ("tube-empty", 203, "8x32", 2, ["x_dimension"]),
    ("tube-empty", 300, "8x32", 3, []),
    ("tube-empty", 600, "12x26", 7, []),
    ("tube-filled", 203, "20x20", 2, ["x_dimension"]),
    ("tube-filled", 300, "20x20", 3, []),
    ("tube-filled", 600, "20x20", 7, []),
]


def test_every_shipped_layout_at_three_resolutions():
    sheets, found = list_sheets(), []
    for layout in list_layouts():
        sheet = next(sheet for sheet in sheets if fits(layout, sheet))
        for dpi in (203, 300, 600):
            subject = subject_of_layout(layout, sheet, dpi=dpi)
            findings = check_rules(subject, stock=FILM)
            unkept = sorted({finding.rule for finding in findings if finding.verdict is not Legibility.PASS})
            assert all(bool(finding.fix) == (finding.verdict is not Legibility.PASS) for finding in findings)
            found.append((layout.name, dpi, subject.code.version, int(subject.code.x), unkept))
    assert found == SHIPPED


def test_a_label_that_keeps_every_rule_shows_every_rule():
    subject = subject_of_layout(require_layout("tube-1.5-side"), require_sheet("a4-5x13-38.1x21.2"), dpi=300)
    assert [(one.rule, one.verdict.value, one.measured, one.required, one.source) for one in check_rules(subject)] == [
        (
            "x_dimension",
            "pass",
            "X 0.339 mm (4.00 dots at 300 dpi)",
            "minimum 0.254, target 0.380, maximum 0.990 mm",
            TABLE_6,
        ),
        (
            "x_dimension",
            "pass",
            "X 0.339 mm (4.00 dots at 300 dpi)",
            "minimum 0.254, target 0.380, maximum 0.495 mm",
            TABLE_6_OLDER,
        ),
        (
            "whole_dots",
            "pass",
            "modules of 4 dots, edges 0.00 dots off",
            "modules and edges of whole dots",
            "arithmetic of the printer's grid: an edge between two dots is moved to one of them",
        ),
        (
            "quiet_zone",
            "pass",
            "6.2 modules (2.12 mm) on the left, where it is narrowest",
            "1 module (0.34 mm) for Data Matrix",
            "ISO/IEC 16022 (as the GS1 General Specifications quote it)",
        ),
        (
            "one_sixth",
            "pass",
            "4.06 mm round a tube of 10.30 mm, 45 degrees",
            "at most 5.39 mm, 60 degrees",
            "rule as commonly stated, one sixth of the circumference (a public training text cites GS1 for it)",
        ),
        (
            "axial_nonuniformity",
            "pass",
            "0.026 predicted, grade 4",
            "at most 0.10 (grade 2); 0.06 for grade 4",
            "ISO/IEC 15415:2011, axial non-uniformity; predicted from the cylinder in closed form, simulated",
        ),
        (
            "grid_nonuniformity",
            "pass",
            "0.059 predicted, grade 4",
            "at most 0.63 (grade 2); 0.38 for grade 4",
            "ISO/IEC 15415:2011, grid non-uniformity; predicted from the cylinder in closed form, simulated",
        ),
        (
            "orientation",
            "pass",
            "the long side lies along the tube",
            "the long side along the tube",
            "common practice, no source: what runs round a tube turns out of sight first",
        ),
        (
            "registration",
            "pass",
            "4.15 mm from the quiet zone to the label's edge",
            "0.50 mm, 0.75 mm with ease",
            REGISTRATION,
        ),
        (
            "type_size",
            "pass",
            "item_number in 4.75 pt, where 4.75 pt are legible",
            "4.75 pt for words, 3.75 pt for dates and serials",
            TYPE,
        ),
        (
            "text_whole",
            "pass",
            "6 essential facts, all whole",
            "every essential fact whole",
            "own rule: nothing essential is ever cut",
        ),
        (
            "contrast",
            "pass",
            "75% predicted on black on white (assumed), grade 4",
            "at least 40 % (grade 2); 70 % for grade 4",
            "ISO/IEC 15415:2011 and 15416, symbol contrast",
        ),
    ]


# GS1 General Specifications R26.0 5.12.3.6: Data Matrix 0.254 / 0.380 / 0.990 mm, older releases 0.495 at most;
# GS1-128 0.170 / 0.495 / 0.495 mm. A plain code claims nothing and is only advised.
@pytest.mark.parametrize(
    ("gs1", "x", "dpi", "verdicts", "fix"),
    [
        (True, 2, 203, ["fail", "warn"], "X of 3 dots (0.375 mm) at 203 dpi"),
        (False, 2, 203, ["warn", "warn"], "X of 3 dots (0.375 mm) at 203 dpi"),
        (True, 3, 300, ["pass", "pass"], ""),
        (True, 6, 300, ["pass", "warn"], ""),
        (True, 12, 300, ["warn", "warn"], "X of 11 dots (0.931 mm) at 300 dpi"),
        (False, 12, 300, ["pass", "pass"], ""),
    ],
)
def test_x_dimension_of_data_matrix(gs1, x, dpi, verdicts, fix):
    text = "010950110153000310A1" if gs1 else "0100000471"
    subject = make_subject(write_data_matrix(payload(text, gs1=gs1)), x=x, dpi=dpi)
    findings = of_rule(subject, "x_dimension")
    assert [finding.verdict.value for finding in findings] == verdicts
    assert [finding.source for finding in findings] == [TABLE_6, TABLE_6_OLDER]
    assert findings[0].fix == fix


def test_x_dimension_names_the_largest_module_of_the_older_release():
    subject = make_subject(write_data_matrix(payload("010950110153000310A1", gs1=True)), x=6)
    assert of_rule(subject, "x_dimension")[1].fix == in_dots(5, 300) == "X of 5 dots (0.423 mm) at 300 dpi"


def test_x_dimension_of_gs1_128_and_of_kinds_that_the_table_does_not_list():
    bars = make_subject(write_code_128(payload("0109501101530003", gs1=True)), x=2, dpi=300)
    assert only(bars, "x_dimension").required == "minimum 0.170, target 0.495, maximum 0.495 mm"
    assert only(bars, "x_dimension").verdict is Legibility.FAIL  # 2 dots are 0.169 mm
    assert only(bars, "x_dimension").fix == "X of 3 dots (0.254 mm) at 300 dpi"
    gs1_qr = make_subject(write_qr(payload("0109501101530003", gs1=True)))
    assert only(gs1_qr, "x_dimension").verdict is Legibility.WARN
    assert only(gs1_qr, "x_dimension").required == "no limits: the table lists no QR"
    assert only(make_subject(write_qr(payload())), "x_dimension").verdict is Legibility.PASS


def test_another_table_may_be_asked_for():
    findings = of_rule(square(x=4), "x_dimension", table="8")
    assert [finding.required for finding in findings] == ["minimum 0.750, target 0.750, maximum 1.520 mm"]


@pytest.mark.parametrize(
    ("dpi", "x_mm", "verdict", "measured", "fix"),
    [
        (
            203,
            0.30,
            "fail",
            "modules of 2.398 dots: some come out with 2, some with 3, edges 0.00 dots off",
            "X of 3 dots (0.375 mm) at 203 dpi, or X of 2 dots (0.250 mm) at 203 dpi if there is no more room",
        ),
        (
            300,
            0.30,
            "warn",
            "modules of 3.543 dots: some come out with 3, some with 4, edges 0.00 dots off",
            "X of 4 dots (0.339 mm) at 300 dpi, or X of 3 dots (0.254 mm) at 300 dpi if there is no more room",
        ),
        (
            600,
            0.30,
            "warn",
            "modules of 7.087 dots: some come out with 7, some with 8, edges 0.00 dots off",
            "X of 8 dots (0.339 mm) at 600 dpi, or X of 7 dots (0.296 mm) at 600 dpi if there is no more room",
        ),
        (300, 0.254, "pass", "modules of 3 dots, edges 0.00 dots off", ""),
        (300, 4 * 25.4 / 300, "pass", "modules of 4 dots, edges 0.00 dots off", ""),
    ],
)
def test_whole_dots(dpi, x_mm, verdict, measured, fix):
    subject = square()
    x = x_mm / 25.4 * dpi
    subject = replace(subject, dpi=dpi, code=replace(subject.code, x=x, y=x))
    finding = only(subject, "whole_dots")
    assert (finding.verdict.value, finding.measured, finding.fix) == (verdict, measured, fix)


def test_whole_modules_between_the_dots_are_warned_of():
    subject = square()
    finding = only(replace(subject, code=replace(subject.code, left=60.4)), "whole_dots")
    assert (finding.verdict, finding.fix) == (
        Legibility.WARN,
        "place the symbol 0.40 dots aside, so that its edges stand on whole dots",
    )


# ISO/IEC 16022: 1 module; ISO/IEC 18004: 4, Micro QR 2 (from memory); ISO/IEC 15417: 10, left and right only.
@pytest.mark.parametrize(
    ("symbol", "needed"),
    [
        (write_data_matrix(payload()), 1),
        (write_qr(payload()), 4),
        (write_micro_qr(payload()), 2),
        (write_code_128(payload()), 10),
    ],
)
@pytest.mark.parametrize(("short", "verdict"), [(0, "pass"), (1, "fail")])
@pytest.mark.parametrize("turns", [0, 1, 2, 3])
def test_quiet_zone_on_every_side(symbol, needed, short, verdict, turns):
    subject = make_subject(symbol, turns=turns)
    clear = needed * 4 - short
    extent = subject.picture.shape[1] - 60 if turns % 2 == 0 else subject.picture.shape[0] - 60
    picture = subject.picture.copy()
    if turns == 0:
        picture[70, 59 - clear] = 0
    elif turns == 2:
        picture[70, extent + clear] = 0
    elif turns == 1:
        picture[extent + clear, 70] = 0
    else:
        picture[59 - clear, 70] = 0
    finding = only(replace(subject, picture=picture), "quiet_zone")
    assert finding.verdict.value == verdict
    side = ("on the left", "below", "on the right", "above")[turns]
    assert finding.measured.endswith(f"{side}, where it is narrowest")
    assert finding.measured.startswith(f"{clear / 4:.1f} modules ({clear * 25.4 / 300:.2f} mm)")


def test_quiet_zone_ends_at_the_labels_edge():
    finding = only(square(margin=2), "quiet_zone")
    assert (finding.verdict, finding.fix) == (Legibility.FAIL, "move the symbol or what is on the left by 0.17 mm")


def test_text_above_a_linear_code_is_no_breach():
    subject = make_subject(write_code_128(payload()))
    picture = subject.picture.copy()
    picture[58, 60:100] = 0
    assert only(replace(subject, picture=picture), "quiet_zone").verdict is Legibility.PASS


# Derived, not published: X of 0.254 mm (3 dots at 300 dpi) and 0.339 mm (4 dots) on tubes; W / D with the grades of
# ISO/IEC 15415:2011 axial non-uniformity.
CURVED = [
    (6.2, 3, {12: 4, 14: 4, 16: 3, 18: 2, 20: 1, 22: 0}),
    (7.8, 3, {12: 4, 14: 4, 16: 4, 18: 4, 20: 3, 22: 2}),
    (7.8, 4, {12: 4, 14: 3, 16: 2, 18: 1, 20: 0, 22: 0}),
    (10.33, 3, {12: 4, 14: 4, 16: 4, 18: 4, 20: 4, 22: 4}),
    (10.33, 4, {12: 4, 14: 4, 16: 4, 18: 4, 20: 3, 22: 2}),
    (10.8, 4, {12: 4, 14: 4, 16: 4, 18: 4, 20: 3, 22: 2}),
]
BY_GRADE = {4: "pass", 3: "pass", 2: "pass", 1: "warn", 0: "fail"}


@pytest.mark.parametrize(
    ("diameter", "x", "side", "grade"),
    [(diameter, x, side, grade) for diameter, x, row in CURVED for side, grade in row.items()],
)
def test_a_square_on_a_tube(diameter, x, side, grade):
    symbol = write_data_matrix(payload("123456"), shape=DataMatrixShape(f"{side}x{side}"))
    subject = make_subject(symbol, x=x, tube=Mm(diameter), axis=TubeAxis.WIDTH)
    finding = only(subject, "axial_nonuniformity")
    assert finding.measured.endswith(f"predicted, grade {grade}")
    assert finding.verdict.value == BY_GRADE[grade]
    # The rule of 60 degrees, W / D <= pi / 6 = 0.524, sits just inside grade 4 (W / D <= 0.596).
    inside = side * x * 25.4 / 300 / diameter <= np.pi / 6
    assert (only(subject, "one_sixth").verdict is Legibility.PASS) == inside
    assert not inside or grade == 4


def test_what_keeps_within_the_arc_is_named():
    subject = square(x=4, tube=Mm(7.8), axis=TubeAxis.WIDTH)
    finding = only(subject, "one_sixth")
    assert (finding.measured, finding.required) == (
        "6.10 mm round a tube of 7.80 mm, 90 degrees",
        "at most 4.08 mm, 60 degrees",
    )
    assert finding.fix == "a rectangle with its short side round the tube, or a tube of at least 11.6 mm"
    smaller = only(square(x=8, tube=Mm(10.8), axis=TubeAxis.WIDTH), "one_sixth")
    assert smaller.fix.startswith("X of 3 dots (0.254 mm) at 300 dpi, a rectangle with its short side round the tube")


@pytest.mark.parametrize(("axis", "turns", "arc"), [("width", 0, 2.71), ("height", 0, 10.84), ("height", 1, 2.71)])
def test_the_side_that_lies_round_the_tube_counts(axis, turns, arc):
    symbol = write_data_matrix(payload(), shape=DataMatrixShape.RECTANGLE_8_32)
    subject = make_subject(symbol, turns=turns, tube=Mm(10.3), axis=TubeAxis(axis))
    assert only(subject, "one_sixth").measured.startswith(f"{arc:.2f} mm round a tube of 10.30 mm")


def test_the_closed_form_holds_up_to_half_of_the_tube():
    # a = W / D = 1.524: 1 - sin a / a = 0.3446 over the mean 0.8277.
    subject = square(x=10, tube=Mm(10.0), axis=TubeAxis.WIDTH)
    assert only(subject, "axial_nonuniformity").measured == "0.416 predicted, grade 0"


def test_a_symbol_round_more_than_half_of_the_tube():
    subject = square(x=10, tube=Mm(9.0), axis=TubeAxis.WIDTH)
    for rule in ("axial_nonuniformity", "grid_nonuniformity"):
        finding = only(subject, rule)
        assert finding.verdict is Legibility.FAIL
        assert finding.measured == "none: the symbol reaches round more than half of the tube"


def test_a_flat_label_has_no_rules_of_the_tube():
    rules = {finding.rule for finding in check_rules(square())}
    assert rules == {"x_dimension", "whole_dots", "quiet_zone", "contrast"}


# ISO 15394 Annex A.9 (from a transcript): ladder orientation on tightly curved surfaces.
@pytest.mark.parametrize(
    ("turns", "axis", "verdict", "measured"),
    [
        (0, TubeAxis.WIDTH, "pass", "bars like the rungs of a ladder"),
        (1, TubeAxis.HEIGHT, "pass", "bars like the rungs of a ladder"),
        (0, TubeAxis.HEIGHT, "fail", "bars along the tube, like a picket fence"),
        (1, TubeAxis.WIDTH, "fail", "bars along the tube, like a picket fence"),
    ],
)
def test_orientation_of_a_linear_code(turns, axis, verdict, measured):
    subject = make_subject(write_code_128(payload()), turns=turns, tube=Mm(10.3), axis=axis)
    finding = only(subject, "orientation")
    assert (finding.verdict.value, finding.measured) == (verdict, measured)


def test_a_fence_within_one_sixth_is_warned_of():
    # EAN-like sizes: a width W wants a tube of at least 6 W / pi, 47.9 mm for 25.1 mm.
    subject = make_subject(write_code_128(payload()), x=3, tube=Mm(50.0), axis=TubeAxis.HEIGHT)
    assert only(subject, "orientation").verdict is Legibility.WARN


@pytest.mark.parametrize(("axis", "verdict"), [(TubeAxis.WIDTH, "pass"), (TubeAxis.HEIGHT, "warn")])
def test_orientation_of_a_rectangle(axis, verdict):
    symbol = write_data_matrix(payload(), shape=DataMatrixShape.RECTANGLE_8_32)
    assert only(make_subject(symbol, tube=Mm(10.3), axis=axis), "orientation").verdict.value == verdict


@pytest.mark.parametrize(
    ("margin", "verdict", "measured"),
    [
        (14, "pass", "0.85 mm from the quiet zone to the label's edge"),
        (9, "warn", "0.42 mm from the quiet zone to the label's edge"),
        (3, "fail", "-0.08 mm from the quiet zone to the label's edge"),
    ],
)
def test_registration(margin, verdict, measured):
    subject = replace(square(margin=margin), sheet=require_sheet("a4-5x13-38.1x21.2"))
    finding = only(subject, "registration")
    assert (finding.verdict.value, finding.measured) == (verdict, measured)


def test_registration_on_a_disc_counts_from_the_corners():
    # 18 modules of 4 dots with quiet zone: 80 dots, half a diagonal 56.6; a disc of 152 dots leaves 19.4 dots.
    subject = replace(square(margin=40), sheet=require_sheet("a4-round-13x18-11"))
    assert only(subject, "registration").measured.startswith("1.65 mm")


def _text_subject(**content: object):
    subject = subject_of_layout(require_layout("tube-1.5-side"), require_sheet("a4-5x13-38.1x21.2"), dpi=300)
    return replace(subject, content=replace(subject.content, **content))


def _with_field(subject, name, **changes: object):
    fields = tuple(replace(one, **changes) if one.content == name else one for one in subject.layout.fields)
    return replace(subject, layout=replace(subject.layout, fields=fields))


def test_an_essential_text_that_does_not_fit():
    finding = only(_text_subject(product="Rosehip " * 20), "text_whole")
    assert finding.verdict is Legibility.FAIL
    assert finding.fix == "a layout with more room, or a shorter text"
    assert finding.measured.startswith("product 'Rosehip Rosehip")


def test_an_essential_text_that_was_cut():
    subject = _with_field(_text_subject(product="Rosehip " * 20), "product", shorten=Shorten.ABBREVIATE)
    assert only(subject, "text_whole").verdict is Legibility.FAIL
    assert only(subject, "text_whole").measured == "product is abbreviated"


def test_a_text_that_may_be_cut_is_warned_of():
    finding = only(_text_subject(volume="0.25 mL in a tube of 1.5 mL"), "text_whole")
    assert (finding.verdict, finding.measured) == (
        Legibility.WARN,
        "6 essential facts, all whole; volume is abbreviated",
    )


def test_a_required_fact_that_is_missing():
    finding = only(_text_subject(product=None), "text_whole")
    assert (finding.verdict, finding.measured, finding.fix) == (
        Legibility.FAIL,
        "product is missing",
        "add what is missing",
    )


@pytest.mark.parametrize(("name", "verdict"), [("product", "fail"), ("volume", "warn")])
def test_type_below_the_legible_size(name, verdict):
    # An x-height of 0.9 mm asks for 4.75 pt of this face: Regulation (EU) No 1169/2011, Article 13(3) (from memory).
    subject = _with_field(_text_subject(volume="1 mL"), name, largest=Points(4.0), smallest=Points(3.0))
    finding = only(subject, "type_size")
    assert (finding.verdict.value, finding.measured) == (verdict, f"{name} in 4 pt, where 4.75 pt are legible")


def test_nothing_is_said_of_the_words_of_a_foreign_page():
    assert of_rule(square(), "type_size") == of_rule(square(), "text_whole") == []


# ISO/IEC 15415:2011 symbol contrast: 70 % grade 4, 55 % 3, 40 % 2, 20 % 1.
@pytest.mark.parametrize(
    ("light", "dark", "measured", "verdict"),
    [
        (0.80, 0.09, "71% predicted on film, grade 4", "pass"),
        (0.80, 0.24, "56% predicted on film, grade 3", "pass"),
        (0.60, 0.19, "41% predicted on film, grade 2", "pass"),
        (0.60, 0.21, "39% predicted on film, grade 1", "warn"),
        (0.40, 0.21, "19% predicted on film, grade 0", "fail"),
    ],
)
def test_contrast(light, dark, measured, verdict):
    stock = Stock(name="film", light=light, dark=dark)
    finding = only(square(), "contrast", stock=stock)
    assert (finding.measured, finding.verdict.value) == (measured, verdict)


@pytest.mark.parametrize("symbol", [write_data_matrix(payload()), write_code_128(payload())])
@pytest.mark.parametrize("turns", [0, 1])
def test_grey_ink_in_the_file_costs_contrast(symbol, turns):
    subject = make_subject(symbol, turns=turns)
    faint = replace(subject, picture=np.where(subject.picture == 0, 153, 255).astype(np.uint8))
    finding = only(faint, "contrast")
    assert finding.measured == "30% predicted on black on white (assumed), grade 1"  # 0.4 of 75 %
    assert finding.fix == "draw the symbol in full black on white"


@pytest.mark.parametrize(
    ("ink", "stock", "verdict", "measured"),
    [
        (Tint.BLACK, Tint.WHITE, "pass", "black ink on white stock"),
        (Tint.BLUE, Tint.WHITE, "pass", "blue ink on white stock"),
        (Tint.RED, Tint.WHITE, "fail", "red ink on white stock: red light does not see the ink"),
        (Tint.BLACK, Tint.RED, "warn", "black ink on red stock: red light sees the stock white"),
        (Tint.BLACK, Tint.GREEN, "warn", "black ink on green stock: red light sees the stock dark"),
    ],
)
def test_colours_under_red_light(ink, stock, verdict, measured):
    finding = only(square(), "colour", stock=Stock(name="s", ink_tint=ink, stock_tint=stock))
    assert (finding.verdict.value, finding.measured) == (verdict, measured)


@pytest.mark.parametrize(
    ("stock", "verdict", "measured"),
    [
        (Stock(name="film", withstands_steam=True), "pass", "film withstands steam"),
        (Stock(name="paper", withstands_steam=False), "fail", "paper does not withstand steam"),
        (
            Stock(name="roll", method=PrintMethod.DIRECT_THERMAL, withstands_steam=True),
            "fail",
            f"roll is direct thermal: {CAUTION}",
        ),
    ],
)
def test_steam(stock, verdict, measured):
    finding = only(square(), "steam", stock=stock)
    assert (finding.verdict.value, finding.measured) == (verdict, measured)


@pytest.mark.parametrize("stock", [None, Stock(name="film")])
def test_steam_says_nothing_where_nobody_knows(stock):
    assert of_rule(square(), "steam", stock=stock) == []


def test_a_label_that_is_stuck_on_after_processing_may_be_of_any_stock():
    subject = replace(square(), layout=require_layout("pouch-processed"))
    thermal = Stock(name="roll", method=PrintMethod.DIRECT_THERMAL)
    assert only(subject, "steam", stock=thermal).verdict is Legibility.PASS


def test_a_reflectance_that_is_none_is_refused():
    with pytest.raises(InputError) as caught:
        Stock(name="film", light=80)
    assert str(caught.value) == (
        "a reflectance 'light' of 80 for label stock film; expected a share from 0 to 1; divide per cents by 100"
    )


def test_kinds_of_symbol_have_a_quiet_zone_each():
    from tracelabels.legibility.rules.quiet_zones import REQUIRED

    assert set(REQUIRED) == set(Symbology)
