"""The published tables and worked examples, each from a file under tests/vectors that names its source on line one."""

import csv
from datetime import date
from pathlib import Path

import pytest

from tracelabels.errors import IdentifierError
from tracelabels.identifiers import (
    Element,
    IdentifierMode,
    as_human_readable,
    build_digital_link,
    encode,
    find_unmet,
    identify,
    mod10_check_digit,
    parse_digital_link,
    parse_element_string,
    parse_human_readable,
)
from tracelabels.identifiers.application_identifiers import (
    ApplicationIdentifier,
    Component,
    require_application_identifier,
)
from tracelabels.identifiers.character_sets import CharacterSet
from tracelabels.identifiers.check_digits import has_valid_check_digit, has_valid_pair
from tracelabels.identifiers.linters import checks
from tracelabels.identifiers.values import find_value_fault

TODAY = date(2026, 11, 25)
GS = "\x1d"


def rows(name: str) -> list[list[str]]:
    """Return the rows of a vector file below its source line and its heading."""
    path = Path(__file__).parents[1] / "vectors" / name
    with path.open(encoding="utf-8", newline="") as file:
        source, _, *body = csv.reader(file, delimiter="\t", quoting=csv.QUOTE_NONE)
    assert source[0].startswith("# Source: ")
    return body


def with_separators(raw: str) -> str:
    assert raw.startswith("^")
    return raw[1:].replace("^", GS)


def entry_of_six_digits(check: str) -> ApplicationIdentifier:
    component = Component(character_set=CharacterSet.NUMERIC, shortest=6, longest=6, optional=False, checks=(check,))
    return ApplicationIdentifier(
        ai="17",
        title="",
        components=(component,),
        needs_separator=False,
        link_key=False,
        link_attribute=True,
        qualifiers=(),
        requires=(),
        excludes=(),
    )


@pytest.mark.parametrize(("check", "text", "fault"), rows("gs1_general_specifications_7.12_dates.tsv"))
def test_dates_of_the_general_specifications(check, text, fault):
    found = find_value_fault(entry_of_six_digits(check), text)
    assert (found is None) == (fault == "")
    assert found is None or fault in found.given


@pytest.mark.parametrize(("body", "check", "_source"), rows("gs1_general_specifications_7.9.1_check_digits.tsv"))
def test_check_digits(body, check, _source):
    assert mod10_check_digit(body) == check
    wrong = [digit for digit in "0123456789" if has_valid_check_digit(body + digit)]
    assert wrong == [check]


@pytest.mark.parametrize("text", [row[0] for row in rows("gs1_general_specifications_7.9.5_check_pairs.tsv")])
def test_check_character_pairs(text):
    assert has_valid_pair(text)
    assert not has_valid_pair(text[:-2] + text[-1] + ("2" if text[-2] != "2" else "3"))


@pytest.mark.parametrize(("check", "text", "passes"), rows("gs1_syntax_dictionary_checks.tsv"))
def test_checks_of_the_syntax_dictionary(check, text, passes):
    assert (checks()[check](text) is None) == (passes == "yes")


@pytest.mark.parametrize(("bracketed", "raw", "met", "_source"), rows("gs1_syntax_engine_element_strings.tsv"))
def test_element_strings_both_ways(bracketed, raw, met, _source):
    text = with_separators(raw)
    elements = parse_human_readable(bracketed)
    payload = encode(elements)
    assert (payload.text, payload.fnc1_first, payload.mode) == (text, True, IdentifierMode.GS1)
    assert parse_element_string(text) == elements
    assert as_human_readable(elements) == bracketed
    assert (not find_unmet(elements)) == (met == "yes")


@pytest.mark.parametrize("prefix", ["]d2", "]Q3", "]C1", "]e0"])
@pytest.mark.parametrize("row", rows("gs1_syntax_engine_element_strings.tsv"))
def test_element_strings_behind_each_symbology_identifier(prefix, row):
    bracketed, raw, met, _ = row
    found = identify(prefix + with_separators(raw), today=TODAY)
    assert (found.mode, found.symbology_identifier) == (IdentifierMode.GS1, prefix)
    assert as_human_readable(found.elements) == bracketed
    assert (not found.unmet) == (met == "yes")


@pytest.mark.parametrize(("text", "_why"), rows("gs1_syntax_engine_refused.tsv"))
def test_texts_that_must_be_refused(text, _why):
    given = "]d2" + with_separators(text) if text.startswith("^") else text
    with pytest.raises(IdentifierError):
        identify(given, today=TODAY)


@pytest.mark.parametrize(
    ("raw", "bracketed"),
    [
        ("^0112345678901231^991234", "(01)12345678901231(99)1234"),
        ("^991234^", "(99)1234"),
        ("^0112345678901231^", "(01)12345678901231"),
    ],
)
def test_a_superfluous_separator_is_tolerated_behind_any_element(raw, bracketed):
    # GS1 Barcode Syntax Engine's unit tests; General Specifications 7.8.6.3.
    assert as_human_readable(parse_element_string(with_separators(raw))) == bracketed


@pytest.mark.parametrize(
    ("signature", "legal"),
    [
        ("AB-_09az", True),
        ("ABC", True),
        ("AB==", True),
        ("ABC=", True),
        ("AB=", False),
        ("A===", False),
        ("ABCD=", False),
        ("A=BC", False),
        ("AB+C", False),
    ],
)
def test_base64url_text_and_its_padding(signature, legal):
    # RFC 4648, section 5; the padding, to a multiple of four characters, may be left out.
    entry = require_application_identifier("8030")
    assert (find_value_fault(entry, signature) is None) == legal


def test_two_separators_in_a_row_are_refused():
    with pytest.raises(IdentifierError):
        parse_element_string(f"10A{GS}{GS}99B")


def test_at_most_64_elements():
    # GS1 Barcode Syntax Engine: more than 64 identifiers in one message are refused.
    assert len(parse_element_string(GS.join(["99A"] * 64))) == 64
    with pytest.raises(IdentifierError, match="more than 64 elements"):
        parse_element_string(GS.join(["99A"] * 65))
    with pytest.raises(IdentifierError, match="more than 64 elements"):
        parse_human_readable("(99)A" * 65)
    with pytest.raises(IdentifierError, match="more than 64 elements"):
        encode([Element(ai="99", value="A")] * 65)


@pytest.mark.parametrize(("uri", "bracketed", "_origin"), rows("gs1_digital_link_uri_syntax.tsv"))
def test_digital_links(uri, bracketed, _origin):
    if bracketed:
        assert as_human_readable(parse_digital_link(uri)) == bracketed
        assert identify(uri, today=TODAY).mode is IdentifierMode.DIGITAL_LINK
        assert identify("]Q1" + uri, today=TODAY).symbology_identifier == "]Q1"
    else:
        with pytest.raises(IdentifierError):
            parse_digital_link(uri)
        with pytest.raises(IdentifierError):
            identify(uri, today=TODAY)


@pytest.mark.parametrize(("bracketed", "stem", "uri"), rows("gs1_digital_link_built.tsv"))
def test_digital_links_built(bracketed, stem, uri):
    elements = parse_human_readable(bracketed)
    if uri:
        assert build_digital_link(elements, stem=stem) == uri
    else:
        with pytest.raises(IdentifierError):
            build_digital_link(elements, stem=stem)
