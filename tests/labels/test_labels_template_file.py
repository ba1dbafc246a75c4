"""A file that a practice edits: each mistake is one whole sentence that names file, key and value."""

import pytest

from tracelabels.errors import TemplateError
from tracelabels.labels import load_sheet
from tracelabels.templates import MAX_BYTES, read_table

GOOD = """
title = "Mine"
[page]
width = 210
height = 297
[grid]
left = 5.0
top = 10.7
pitch_x = 40.6
pitch_y = 21.2
columns = 5
rows = 13
[label]
width = 38.1
height = 21.2
"""

CASES = [
    (
        ("pitch_x = 40.6", "pich_x = 40.6"),
        (
            "mine.toml: key 'pich_x' of grid is not a key that is known here; "
            "expected one of left, top, pitch_x, pitch_y, columns, rows; write 'pitch_x'"
        ),
    ),
    (
        ("[label]", "[lable]"),
        (
            "mine.toml: key 'lable' is not a key that is known here; expected one of title, page, grid, roll, "
            "label; write 'label'"
        ),
    ),
    (
        ("columns = 5", "columns = 5.0"),
        "mine.toml: key 'columns' of grid = 5.0; expected a whole number from 1 to 200; change the value",
    ),
    (
        ("columns = 5", "columns = true"),
        "mine.toml: key 'columns' of grid = true; expected a whole number from 1 to 200; change the value",
    ),
    (
        ("left = 5.0", "left = -1"),
        "mine.toml: key 'left' of grid = -1; expected a number from 0 to 1200; change the value",
    ),
    (
        ("left = 5.0", "left = nan"),
        "mine.toml: key 'left' of grid = nan; expected a number from 0 to 1200; change the value",
    ),
    (
        ("left = 5.0", 'left = "5"'),
        "mine.toml: key 'left' of grid = '5'; expected a number from 0 to 1200; change the value",
    ),
    (("left = 5.0\n", ""), "mine.toml: key 'left' of grid is missing; expected a number from 0 to 1200; add the key"),
    (
        ('title = "Mine"', "title = 7"),
        "mine.toml: key 'title' = 7; expected a text in quotes that is not empty; change the value",
    ),
    (
        ('title = "Mine"', 'title = " "'),
        "mine.toml: key 'title' = ' '; expected a text in quotes that is not empty; change the value",
    ),
    (
        ("[page]\nwidth = 210\nheight = 297", "page = 7"),
        "mine.toml: key 'page' = 7; expected a table [page]; change the value",
    ),
    (
        ("left = 5.0", "left 5.0"),
        (
            "mine.toml: no TOML (Expected '=' after a key in a key/value pair (at line 7, column 6)); "
            "expected key = value lines under [table] heads; mend that line"
        ),
    ),
]


def test_the_good_file_is_read(sheet_from):
    assert sheet_from(GOOD).slots == 65


@pytest.mark.parametrize(("change", "sentence"), CASES)
def test_each_mistake_is_one_sentence(sheet_from, refusal_of, change, sentence):
    assert GOOD.count(change[0]) == 1
    assert refusal_of(sheet_from, GOOD.replace(*change)) == sentence


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (b"title = \xff", "x.toml: byte 9 is not UTF-8; expected a text file in UTF-8; save it with that encoding"),
        (
            b"#" * (MAX_BYTES + 1),
            "x.toml: a file of 200001 bytes; expected at most 200000 bytes; give a sheet, layout or programme file",
        ),
        (
            b"a=" + b"[" * 50_000,
            "x.toml: values nested too deeply; expected a sheet, layout or programme file; give another file",
        ),
    ],
)
def test_bytes_that_are_no_template(tmp_path, data, sentence):
    path = tmp_path / "x.toml"
    path.write_bytes(data)
    with pytest.raises(TemplateError) as caught:
        read_table(path)
    assert str(caught.value) == sentence


def test_a_missing_file(tmp_path):
    with pytest.raises(TemplateError) as caught:
        load_sheet(tmp_path / "gone.toml")
    assert str(caught.value) == (
        "gone.toml: the file cannot be read (No such file or directory); "
        "expected a readable TOML file; check the name and the folder"
    )
