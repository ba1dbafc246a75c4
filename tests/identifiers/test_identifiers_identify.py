from datetime import date

import pytest

from tracelabels.errors import IdentifierError
from tracelabels.identifiers import Element, IdentifierMode, LabelIdentity, as_human_readable, identify
from tracelabels.identifiers.dates import resolve_date, resolve_year
from tracelabels.identifiers.identify import GS1_SYMBOLOGIES, LONGEST_TEXT, PLAIN_SYMBOLOGIES

TODAY = date(2026, 11, 25)
GTIN = "0109501101530003"

MODES = [
    ("]d2" + GTIN + "17271130", IdentifierMode.GS1, "(01)09501101530003(17)271130", "]d2"),
    ("]d217271130", IdentifierMode.GS1, "(17)271130", "]d2"),
    ("]Q3" + GTIN, IdentifierMode.GS1, "(01)09501101530003", "]Q3"),
    ("]C110AB", IdentifierMode.GS1, "(10)AB", "]C1"),
    ("]e0" + GTIN, IdentifierMode.GS1, "(01)09501101530003", "]e0"),
    (GTIN + "10AB", IdentifierMode.GS1, "(01)09501101530003(10)AB", None),
    ("10AB\x1d" + GTIN, IdentifierMode.GS1, "(10)AB(01)09501101530003", None),
    ("\x1d" + GTIN, IdentifierMode.GS1, "(01)09501101530003", None),
    ("\x1d10AB", IdentifierMode.GS1, "(10)AB", None),
    ("8004950110153ABC", IdentifierMode.GS1, "(8004)950110153ABC", None),
    ("(17)271130(10)AB", IdentifierMode.GS1, "(17)271130(10)AB", None),
    ("[17]271130[10]A(B", IdentifierMode.GS1, "(17)271130(10)A\\(B", None),
    ("{17}271130{10}AB", IdentifierMode.GS1, "(17)271130(10)AB", None),
    ("]d1(17)271130", IdentifierMode.GS1, "(17)271130", "]d1"),
    ("]d11727113010AB\x1d21010000175", IdentifierMode.IN_HOUSE, "(17)271130(10)AB(21)010000175", "]d1"),
    ("1727113010AB\x1d21010000175", IdentifierMode.IN_HOUSE, "(17)271130(10)AB(21)010000175", None),
    ("]Q121010000175", IdentifierMode.IN_HOUSE, "(21)010000175", "]Q1"),
    ("21010000175\x1d10AB", IdentifierMode.IN_HOUSE, "(21)010000175(10)AB", None),
    ("10A<GS>B", IdentifierMode.IN_HOUSE, "(10)A<GS>B", None),
    ("21010000175\r\n", IdentifierMode.IN_HOUSE, "(21)010000175", None),
    ("]d1https://a/01/09501101530003", IdentifierMode.DIGITAL_LINK, "(01)09501101530003", "]d1"),
    ("HTTPS://a/01/09501101530003", IdentifierMode.DIGITAL_LINK, "(01)09501101530003", None),
]


@pytest.mark.parametrize(("text", "mode", "bracketed", "symbology"), MODES)
def test_how_the_mode_is_decided(text, mode, bracketed, symbology):
    found = identify(text, today=TODAY)
    assert (found.mode, as_human_readable(found.elements), found.symbology_identifier) == (mode, bracketed, symbology)


def test_the_explanation_of_a_conformant_label_is_whole():
    found = identify("]d2" + GTIN + "17271100132611251055<01\x1d21010000175", today=TODAY)
    assert found.elements == (
        Element(ai="01", value="09501101530003"),
        Element(ai="17", value="271100"),
        Element(ai="13", value="261125"),
        Element(ai="10", value="55<01"),
        Element(ai="21", value="010000175"),
    )
    assert found.dates == {"17": date(2027, 11, 30), "13": date(2026, 11, 25)}
    assert (found.unmet, found.doubts) == ((), ())
    assert found.identity == LabelIdentity(
        gtin="09501101530003",
        use_by=date(2027, 11, 30),
        prepared=date(2026, 11, 25),
        lot="55<01",
        serial="010000175",
    )
    assert found.value("99") is None


def test_an_in_house_label_is_told_which_gs1_rules_it_does_not_keep():
    assert identify("17271130132611251055\x1d21010000175", today=TODAY).unmet == (
        "(17) USE BY or EXPIRY needs (01), (02), (03), (255), (8006) or (8026) beside it.",
        "(13) PACK DATE needs (01), (02), (03), (8006) or (8026) beside it.",
        "(10) BATCH/LOT needs (01), (02), (03), (8006) or (8026) beside it.",
        "(21) SERIAL needs (01), (03) or (8006) beside it.",
    )


def test_a_rule_with_two_identifiers_together():
    assert identify("]d2" + GTIN + "250A7", today=TODAY).unmet == (
        "(250) SECONDARY SERIAL needs (01) with (21), (03) with (21) or (8006) with (21) beside it.",
    )
    assert identify("]d2" + GTIN + "250A7\x1d21S", today=TODAY).unmet == ()


def test_a_restricted_number_behind_01_is_doubted():
    assert identify("]d20102012345678903", today=TODAY).doubts == (
        "(01)02012345678903 is a number for restricted circulation, which GS1 does not allow behind (01).",
    )


@pytest.mark.parametrize(
    ("text", "dates"),
    [
        ("(11)991225", {"11": date(1999, 12, 25)}),
        ("(7003)2711301530", {"7003": date(2027, 11, 30)}),
        ("(7007)271101271105", {"7007": date(2027, 11, 1)}),
        ("(7250)19840229", {"7250": date(1984, 2, 29)}),
        ("(17)760101", {"17": date(2076, 1, 1)}),
        ("(17)770101", {"17": date(1977, 1, 1)}),
        ("(17)280200", {"17": date(2028, 2, 29)}),
        ("(10)271130", {}),
    ],
)
def test_dates(text, dates):
    assert identify(text, today=TODAY).dates == dates


@pytest.mark.parametrize(
    ("two_digits", "today", "year"),
    [
        # GS1 General Specifications 7.12: from 49 years back to 50 years ahead.
        (76, 2026, 2076),
        (77, 2026, 1977),
        (0, 1999, 2000),
        (49, 1999, 2049),
        (50, 1999, 1950),
        (99, 2000, 1999),
        (50, 2000, 2050),
        (51, 2000, 1951),
        (0, 2050, 2100),
        (1, 2050, 2001),
        (1, 2051, 2101),
    ],
)
def test_sliding_century(two_digits, today, year):
    assert resolve_year(two_digits, date(today, 6, 1)) == year


def test_a_leap_day_follows_the_century_meant():
    assert resolve_date("000229", date(2026, 1, 1)) == date(2000, 2, 29)
    assert resolve_date("000229", date(2051, 1, 1)) is None
    with pytest.raises(IdentifierError) as error:
        identify("(17)000229", today=date(2051, 1, 1))
    assert str(error.value) == (
        "(17)000229, read on 2051-01-01; expected a day that exists in the century meant; "
        "scan the code again, or correct the date where it was written"
    )


@pytest.mark.parametrize("today", [date.min, date.max])
def test_the_ends_of_the_calendar_raise_nothing_else(today):
    for text in ("(17)990101", "(17)000101", "(17)500100"):
        try:
            identify(text, today=today)
        except IdentifierError as error:
            assert "century" in str(error)  # noqa: PT017  either outcome is right, and only this error


@pytest.mark.parametrize("substitute", ["|", "<GS>", "{GS}", "~"])
def test_a_substitute_for_the_separator_is_replaced_when_asked(substitute):
    text = f"1727113010AB{substitute}21010000175"
    assert identify(text, today=TODAY, gs=substitute).value("21") == "010000175"


SENTENCES = [
    ("", "an empty text; expected application identifiers and their values; scan the code again"),
    ("]d2", "an empty text; expected application identifiers and their values; scan the code again"),
    (
        "HELLO",
        (
            "the text 'HELLO' at character 1; expected a GS1 application identifier there, such as 01, 10, 17 or 21; "
            "scan the code again; if it is a GS1 code, set the scanner to send separators (GS) and nothing else"
        ),
    ),
    (
        "]d217271332",
        (
            "(17)271332, month 13; expected a month from 01 to 12 in (17) USE BY or EXPIRY; "
            "correct the value where it was written; if it was scanned, scan it again"
        ),
    ),
    (
        "]d217270231",
        (
            "(17)270231, day 31 of month 02; expected a day from 01 to 28, or 00 for the last day of the month in "
            "(17) USE BY or EXPIRY; correct the value where it was written; if it was scanned, scan it again"
        ),
    ),
    (
        "]d2" + GTIN + "10",
        (
            "(10), which has no value; expected 1 to 20 characters in (10) BATCH/LOT; "
            "correct the value where it was written; if it was scanned, scan it again"
        ),
    ),
    (
        "]d2" + GTIN + "10A~B",
        (
            "(10)A~B, with '~'; expected only characters of GS1's set 82 (letters A-Z and a-z, digits, and "
            "! \" % & ' ( ) * + , - . / : ; < = > ? _) in (10) BATCH/LOT; "
            "correct the value where it was written; if it was scanned, scan it again"
        ),
    ),
    (
        "]d2" + GTIN + "375",
        (
            "(01) together with (37); expected no (37) beside (01), which GS1 excludes; "
            "leave one of the two out where the code is made"
        ),
    ),
    (
        "]d2" + GTIN + "10A\x1d10B",
        (
            "(10)A and (10)B together; expected the same value wherever (10) is repeated; "
            "scan one label at a time, or correct the code where it was made"
        ),
    ),
    (
        "]E09501101530003",
        (
            "symbology identifier ']E0'; expected ]C1 ]J1 ]Q3 ]d2 ]d8 ]e0 (GS1) or ]C0 ]Q1 ]d1 ]d7 (plain); "
            "scan a GS1 code or one of our own labels"
        ),
    ),
    (
        "]d1" + GTIN + "10AB",
        (
            "(01) in a plain symbol (]d1); expected FNC1 first (such as ]d2) for a GS1 text, or only (17), (13), (10) "
            "and (21) for one of ours; have the label's maker print it as a GS1 code"
        ),
    ),
    (
        "4006381333931",
        (
            "the bare article number 4006381333931; expected application identifiers and their values; "
            "write (01)04006381333931 if it is a GTIN"
        ),
    ),
    (
        "91ABC",
        (
            "(91) without a symbology identifier or a key such as (01); expected a text that shows that it is a GS1 "
            "text; set the scanner to send the symbology identifier (such as ]d2), or write it with brackets"
        ),
    ),
    (
        "(10)A(B",
        (
            "the text '(B' at character 6; expected an application identifier of two to four digits between ( and ); "
            "close the bracket, or write \\( where the bracket belongs to the value"
        ),
    ),
    (
        "(89)A",
        (
            "application identifier '89'; expected one of GS1's application identifiers, two to four digits such as "
            "01, 10, 17 or 21; correct the number in the brackets, or scan the code again"
        ),
    ),
    (
        "https://a/01/09501101530003?10=A",
        (
            "(10) in the query; expected /10/ in the path, behind the key 01; "
            "scan the code again, or correct the address where it was made"
        ),
    ),
    (
        "A" * (LONGEST_TEXT + 1),
        "a text of 8001 characters; expected at most 8000, more than any symbol carries; scan one code at a time",
    ),
]


@pytest.mark.parametrize(("text", "sentence"), SENTENCES)
def test_what_is_refused_says_why(text, sentence):
    with pytest.raises(IdentifierError) as error:
        identify(text, today=TODAY)
    assert str(error.value) == sentence


def test_an_empty_substitute_is_refused():
    with pytest.raises(IdentifierError, match="an empty text as substitute"):
        identify("10A", today=TODAY, gs="")


def test_the_two_kinds_of_symbols_do_not_meet():
    assert GS1_SYMBOLOGIES.isdisjoint(PLAIN_SYMBOLOGIES)


@pytest.mark.parametrize("symbology", sorted(PLAIN_SYMBOLOGIES))
def test_a_plain_symbol_never_claims_gs1(symbology):
    with pytest.raises(IdentifierError):
        identify(symbology + GTIN, today=TODAY)
    with pytest.raises(IdentifierError):
        identify(symbology + "\x1d10A", today=TODAY)
    assert identify(symbology + "10A", today=TODAY).mode is IdentifierMode.IN_HOUSE


def test_the_case_of_a_symbology_identifier_counts():
    # GS1 General Specifications 5.1.3: ]E0 (an article number) is not ]e0 (GS1 DataBar).
    for prefix in ("]E0", "]D2", "]q3", "]c1", "]", "]d"):
        with pytest.raises(IdentifierError):
            identify(prefix + GTIN, today=TODAY)
