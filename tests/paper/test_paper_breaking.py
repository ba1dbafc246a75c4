"""Text broken into lines: nothing is wider than its column, nothing is lost."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracelabels.lengths import Points
from tracelabels.paper import Face, shown, text_width, wrapped

SIZE = Points(8.0)


@given(st.text(st.characters(codec="utf-8", categories=("L", "N", "P", "Zs")), max_size=80), st.floats(5.0, 60.0))
def test_no_line_is_wider_than_asked_and_every_character_stands_in_one(text, width):
    lines = wrapped(text, Face.REGULAR, SIZE, width)
    assert all(text_width(line, Face.REGULAR, SIZE) <= width for line in lines)
    assert "".join(lines).replace(" ", "") == "".join(shown(text).split())


def test_a_column_narrower_than_a_letter_takes_one_letter_a_line():
    assert wrapped("abc", Face.REGULAR, SIZE, 0.1) == ["a", "b", "c"]


@pytest.mark.parametrize(("text", "lines"), [("", [""]), ("one", ["one"]), ("  one  two ", ["one two"])])
def test_spaces_are_set_once(text, lines):
    assert wrapped(text, Face.REGULAR, SIZE, 40.0) == lines
