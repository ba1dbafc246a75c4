"""Sheets: the arithmetic of the page, and the geometry of those that are shipped."""

import pytest

from tracelabels.labels import list_sheets, require_sheet

A4 = """
title = "Mine"
[page]
width = 210
height = 297
[grid]
left = {left}
top = {top}
pitch_x = {pitch_x}
pitch_y = {pitch_y}
columns = 5
rows = 13
[label]
width = 38.1
height = 21.2
"""
GEOMETRY = {"left": 4.75, "top": 10.7, "pitch_x": 40.6, "pitch_y": 21.2}


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        # The geometry of a public list that is impossible (13 mm left margin): refused with the sum that shows it.
        (
            {"left": 13.0},
            (
                "mine.toml: labels leave the page: left 13 + 4 x pitch 40.6 + label 38.1 = 213.50 mm "
                "on a page 210 mm wide; "
                "expected 5 columns that end within 210 mm; correct left, pitch, label size or columns"
            ),
        ),
        (
            {"top": 25.0},
            (
                "mine.toml: labels leave the page: top 25 + 12 x pitch 21.2 + label 21.2 = 300.60 mm "
                "on a page 297 mm high; "
                "expected 13 rows that end within 297 mm; correct top, pitch, label size or rows"
            ),
        ),
        (
            {"pitch_x": 38.0},
            (
                "mine.toml: 5 columns of labels overlap: pitch_x is 38 mm, a label's width is 38.1 mm; "
                "expected a pitch_x of at least 38.1 mm; measure pitch_x from one label's edge to the same "
                "edge of the next"
            ),
        ),
        (
            {"pitch_y": 21.0},
            (
                "mine.toml: 13 rows of labels overlap: pitch_y is 21 mm, a label's height is 21.2 mm; "
                "expected a pitch_y of at least 21.2 mm; measure pitch_y from one label's edge to the same "
                "edge of the next"
            ),
        ),
    ],
)
def test_impossible_sheets_are_refused_with_the_numbers(sheet_from, refusal_of, change, sentence):
    assert refusal_of(sheet_from, A4.format(**{**GEOMETRY, **change})) == sentence


def test_labels_may_end_at_the_very_edge(sheet_from):
    assert sheet_from(A4.format(**{**GEOMETRY, "left": 210 - 4 * 40.6 - 38.1})).slots == 65


def test_corners_go_row_by_row(sheet_from):
    sheet = sheet_from(A4.format(**GEOMETRY))
    assert [sheet.corner(slot) for slot in (0, 1, 5)] == [(4.75, 10.7), (4.75 + 40.6, 10.7), (4.75, 10.7 + 21.2)]


# Page, label, grid and pitch as read in a public list of sheet geometries; margins by arithmetic (the grid stands in
# the middle). Those marked M are from memory.
LISTED = [
    ("a4-3x7-63.5x38.1", (63.5, 38.1), (3, 7), (7.21, 15.15), (66.04, 38.1)),
    ("a4-5x13-38.1x21.2", (38.1, 21.2), (5, 13), (4.7, 10.7), (40.6, 21.2)),
    ("a4-4x16-45.7x16.9", (45.7, 16.9), (4, 16), (9.8, 13.3), (48.2, 16.9)),
    ("a4-4x10-48.5x25.4", (48.5, 25.4), (4, 10), (8.0, 21.5), (48.5, 25.4)),
    ("a4-3x9-63.5x29.6", (63.5, 29.6), (3, 9), (7.2, 15.3), (66.0, 29.6)),
    ("a4-3x8-63.5x33.9", (63.5, 33.9), (3, 8), (7.2, 12.9), (66.0, 33.9)),
    ("a4-7x27-25.4x10", (25.4, 10.0), (7, 27), (8.6, 13.5), (27.9, 10.0)),  # M
    ("letter-3x10-66.7x25.4", (66.675, 25.4), (3, 10), (4.76, 12.7), (69.85, 25.4)),
    ("letter-4x20-44.5x12.7", (44.45, 12.7), (4, 20), (7.62, 12.7), (52.07, 12.7)),  # M
]


@pytest.mark.parametrize(("name", "label", "grid", "margins", "pitch"), LISTED)
def test_shipped_sheets_agree_with_the_list(name, label, grid, margins, pitch):
    sheet = require_sheet(name)
    assert (sheet.label_width, sheet.label_height) == label
    assert (sheet.columns, sheet.rows) == grid
    assert (sheet.left, sheet.top) == pytest.approx(margins, abs=0.1)
    assert (sheet.pitch_x, sheet.pitch_y) == pitch
    assert (sheet.page_width, sheet.page_height) == ((210, 297) if name.startswith("a4") else (215.9, 279.4))


def test_what_is_shipped():
    sheets = list_sheets()
    assert len(sheets) >= 14
    assert {sheet.label_width for sheet in sheets if sheet.is_round} == {9.5, 11.0}
    assert sum(sheet.is_roll for sheet in sheets) >= 2
    assert {sheet.page_width for sheet in sheets if not sheet.is_roll} == {210.0, 215.9}


@pytest.mark.parametrize("sheet", list_sheets(), ids=lambda sheet: sheet.name)
def test_shipped_sheets_stand_in_the_middle_of_the_page(sheet):
    right = sheet.left + (sheet.columns - 1) * sheet.pitch_x + sheet.label_width
    low = sheet.top + (sheet.rows - 1) * sheet.pitch_y + sheet.label_height
    assert sheet.page_width - right == pytest.approx(sheet.left, abs=0.15)
    if not sheet.is_roll:
        assert sheet.page_height - low == pytest.approx(sheet.top, abs=0.35)


@pytest.mark.parametrize("sheet", list_sheets(), ids=lambda sheet: sheet.name)
def test_a_sheet_is_named_by_its_geometry(sheet):
    size = f"{sheet.label_width:.1f}".removesuffix(".0") if sheet.is_round else None
    assert sheet.name.endswith(size or f"{_short(sheet.label_width)}x{_short(sheet.label_height)}")
    if not sheet.is_roll:
        assert f"-{sheet.columns}x{sheet.rows}-" in sheet.name


def _short(length: float) -> str:
    return f"{round(length + 1e-6, 1):g}"


ROLL = """
title = "Mine"
[roll]
width = 82
across = 2
pitch_x = 41
gap = 3
[label]
width = 38
height = 21
"""


def test_a_roll_has_a_page_for_each_row(sheet_from):
    sheet = sheet_from(ROLL)
    assert (sheet.page_width, sheet.page_height, sheet.slots, sheet.left, sheet.is_roll) == (82, 21, 2, 1.5, True)


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (
            ROLL + "[page]\nwidth = 1\nheight = 1\n",
            "mine.toml: a roll has no [page]; expected [roll] with its width; remove [page]",
        ),
        (
            ROLL + "[grid]\nleft = 1\n",
            (
                "mine.toml: tables [grid] and [roll] both stand here; "
                "expected [page] and [grid] for a sheet, or [roll] for a roll; keep or add the one that it is"
            ),
        ),
        (
            'title = "Mine"\n[label]\nwidth = 38\nheight = 21\n',
            (
                "mine.toml: there is neither [grid] nor [roll]; "
                "expected [page] and [grid] for a sheet, or [roll] for a roll; keep or add the one that it is"
            ),
        ),
        (
            ROLL.replace("width = 82", "width = 70"),
            (
                "mine.toml: labels leave the page: left 0 + 1 x pitch 41 + label 38 = 79.00 mm on a page 70 mm wide; "
                "expected 2 columns that end within 70 mm; correct left, pitch, label size or columns"
            ),
        ),
        (
            ROLL + "round = true\n",
            "mine.toml: label: 'width' stands beside round = true; expected a diameter alone; remove 'width'",
        ),
        (
            ROLL + "diameter = 5\n",
            "mine.toml: label: 'diameter' stands without round = true; expected width and height; add round = true",
        ),
    ],
)
def test_rolls_and_discs_that_contradict_themselves(sheet_from, refusal_of, text, sentence):
    assert refusal_of(sheet_from, text) == sentence
