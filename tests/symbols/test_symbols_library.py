"""Bracketing a GS1 text for the writer, against the whole table of identifiers."""

import pytest

from tracelabels.identifiers import Element, encode
from tracelabels.identifiers.application_identifiers import application_identifiers
from tracelabels.symbols.library import in_brackets

TABLE = application_identifiers()


def test_the_first_two_digits_fix_the_length_of_every_identifier():
    lengths = {}
    for ai, entry in TABLE.items():
        lengths.setdefault(ai[:2], set()).add((len(ai), entry.needs_separator))
    assert [two for two, found in lengths.items() if len(found) != 1] == []


def test_every_identifier_first_and_last():
    for ai, entry in TABLE.items():
        value = "1" * entry.longest
        behind = "\x1d" if entry.needs_separator else ""
        assert in_brackets(f"{ai}{value}{behind}10AB(1") == f"[{ai}]{value}[10]AB(1"
        assert in_brackets(f"10AB\x1d{ai}{value}") == f"[10]AB[{ai}]{value}"
    assert len(TABLE) > 100


def test_the_separators_of_a_conformant_text_are_all_taken_up():
    elements = [
        Element(ai="01", value="09501101530003"),
        Element(ai="17", value="271130"),
        Element(ai="10", value="A(B"),
        Element(ai="21", value="1"),
    ]
    assert in_brackets(encode(elements).text) == "[01]09501101530003[17]271130[10]A(B[21]1"


@pytest.mark.parametrize(
    ("text", "bracketed"),
    [("", ""), ("1", "[1]"), ("0500", "[05]00"), ("\x1d", "[\x1d]"), ("17271", "[17]271"), ("10\x1d", "[10]")],
)
def test_what_is_no_element_string_is_left_to_the_writer(text, bracketed):
    assert in_brackets(text) == bracketed
