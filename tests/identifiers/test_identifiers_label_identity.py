import string
import timeit
from datetime import date

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from tracelabels.errors import IdentifierError
from tracelabels.identifiers import (
    IdentifierMode,
    LabelIdentity,
    Payload,
    compose_label,
    format_serial,
    identify,
    mod10_check_digit,
)
from tracelabels.identifiers.character_sets import CHARACTER_SET_82
from tracelabels.identifiers.check_digits import is_restricted_circulation
from tracelabels.identifiers.lost_separator import hides_serial

TODAY = date(2026, 11, 25)
TUBE = LabelIdentity(use_by=date(2027, 11, 30), prepared=TODAY, lot="5501", serial="010000175")
OWNED = LabelIdentity(gtin="09501101530003", use_by=date(2027, 11, 30), prepared=TODAY, lot="5501", serial="010000175")


def ascii_codewords(payload: Payload) -> int:
    """Return the data codewords in ASCII encodation: a pair of digits, another character and FNC1 take one each.

    ISO/IEC 16022:2006, 5.2.3: the pairs are found from the left.
    """
    at, count = 0, int(payload.fnc1_first)
    while at < len(payload.text):
        pair = payload.text[at : at + 2]
        at += 2 if len(pair) == 2 and set(pair) <= set(string.digits) else 1
        count += 1
    return count


def test_a_tube_in_house_fits_18_codewords_and_with_gtin_30():
    # ISO/IEC 16022:2006, table 7: 18x18 has 18 data codewords, 22x22 has 30.
    assert compose_label(TUBE, IdentifierMode.IN_HOUSE) == Payload(
        text="1727113013261125105501\x1d21010000175", fnc1_first=False, mode=IdentifierMode.IN_HOUSE
    )
    assert ascii_codewords(compose_label(TUBE, IdentifierMode.IN_HOUSE)) == 18
    assert compose_label(OWNED, IdentifierMode.GS1) == Payload(
        text="01095011015300031727113013261125105501\x1d21010000175", fnc1_first=True, mode=IdentifierMode.GS1
    )
    assert ascii_codewords(compose_label(OWNED, IdentifierMode.GS1)) == 27


@pytest.mark.parametrize(
    ("payload", "codewords"),
    [
        # The budget table of ISO/IEC 16022 ASCII encodation: (01)+(17) 13, (01)+(10) six mixed characters 16, with
        # (17) 20.
        (compose_label(LabelIdentity(gtin="09501101530003", use_by=TODAY), IdentifierMode.GS1), 13),
        (compose_label(LabelIdentity(gtin="09501101530003", lot="AB-XYZ"), IdentifierMode.GS1), 16),
        (compose_label(LabelIdentity(gtin="09501101530003", use_by=TODAY, lot="AB-XYZ"), IdentifierMode.GS1), 20),
        (compose_label(LabelIdentity(serial="010000175"), IdentifierMode.IN_HOUSE), 6),
    ],
)
def test_codewords_of_smaller_labels(payload, codewords):
    assert ascii_codewords(payload) == codewords


def test_a_cap_disc_may_carry_the_serial_alone():
    payload = compose_label(LabelIdentity(serial="010000175"), IdentifierMode.IN_HOUSE)
    assert payload.text == "21010000175"
    assert identify("]d1" + payload.text, today=TODAY).identity == LabelIdentity(serial="010000175")


def test_a_digital_link_of_a_label():
    assert compose_label(OWNED, IdentifierMode.DIGITAL_LINK) == Payload(
        text="https://id.gs1.org/01/09501101530003/10/5501/21/010000175?13=261125&17=271130",
        fnc1_first=False,
        mode=IdentifierMode.DIGITAL_LINK,
    )


def values(shortest: int = 1) -> st.SearchStrategy[str]:
    return st.text(st.sampled_from(CHARACTER_SET_82), min_size=shortest, max_size=20)


def own_gtins() -> st.SearchStrategy[str]:
    bodies = st.text(st.sampled_from(string.digits), min_size=13, max_size=13)
    numbers = bodies.map(lambda body: body + mod10_check_digit(body))
    return numbers.filter(lambda gtin: not is_restricted_circulation(gtin))


# From 49 years before to 50 years after the day of reading, within the century that a code may carry.
days = st.dates(date(2000, 1, 1), date(2076, 12, 31))
identities = st.builds(
    LabelIdentity,
    use_by=st.none() | days,
    prepared=st.none() | days,
    lot=st.none() | values(),
    serial=st.none() | values() | st.builds(format_serial, st.integers(0, 99), st.integers(0, 999_999)),
)


@settings(deadline=None)
@given(identities, st.sampled_from(["", "]d1", "]Q1"]))
def test_an_in_house_label_is_recognised_when_it_comes_back(identity, prefix):
    assume(identity != LabelIdentity())
    assume(identity.serial is not None or identity.lot is None or not hides_serial(identity.lot))
    payload = compose_label(identity, IdentifierMode.IN_HOUSE)
    found = identify(prefix + payload.text, today=TODAY)
    assert (found.mode, found.identity) == (IdentifierMode.IN_HOUSE, identity)
    assert not payload.fnc1_first


@settings(deadline=None)
@given(identities, own_gtins(), st.sampled_from(["", "]d2", "]Q3", "]C1", "\x1d"]))
def test_a_conformant_label_is_recognised_when_it_comes_back_and_keeps_every_rule(identity, gtin, prefix):
    assume(identity.serial is not None or identity.lot is None or not hides_serial(identity.lot))
    fields = {name: getattr(identity, name) for name in ("use_by", "prepared", "lot", "serial")}
    owned = LabelIdentity(gtin=gtin, **fields)
    payload = compose_label(owned, IdentifierMode.GS1)
    found = identify(prefix + payload.text, today=TODAY)
    assert (found.mode, found.identity, found.unmet) == (IdentifierMode.GS1, owned, ())
    assert payload.fnc1_first
    link = compose_label(owned, IdentifierMode.DIGITAL_LINK)
    assert identify(link.text, today=TODAY).identity == owned


@settings(deadline=None)
@given(identities, st.integers(0, 99), st.integers(0, 999_999), values())
def test_a_lost_separator_never_passes_in_house(identity, site, number, lot):
    # Every label of ours that has a batch and a serial of ours: without its separator it is refused.
    label = LabelIdentity(
        use_by=identity.use_by, prepared=identity.prepared, lot=lot, serial=format_serial(site, number)
    )
    text = compose_label(label, IdentifierMode.IN_HOUSE).text.replace("\x1d", "")
    with pytest.raises(IdentifierError):
        identify(text, today=TODAY)


@settings(deadline=None)
@given(values(), st.integers(0, 99), st.integers(0, 999_999), own_gtins())
def test_a_lost_separator_is_refused_or_doubted_on_a_conformant_label(lot, site, number, gtin):
    label = LabelIdentity(gtin=gtin, lot=lot, serial=format_serial(site, number))
    text = compose_label(label, IdentifierMode.GS1).text.replace("\x1d", "")
    try:
        found = identify("]d2" + text, today=TODAY)
    except IdentifierError:
        assert len(lot) > 20 - len("21010000175")
    else:
        assert len(found.doubts) == 1
        assert "swallowed" in found.doubts[0]


def test_a_lost_separator_has_its_sentence():
    with pytest.raises(IdentifierError) as error:
        identify("]d1172711301326112510550121010000175", today=TODAY)
    assert str(error.value) == (
        "(10)550121010000175, which seems to have swallowed another element; expected a separator (GS) between batch "
        "and serial; set the scanner to send the separator, or type batch and serial from the label"
    )


def test_a_separator_lost_between_serial_and_batch_in_the_other_order_is_noticed_too():
    with pytest.raises(IdentifierError, match="swallowed another element"):
        identify("2101000017510AB", today=TODAY)
    assert len(identify("]d20109501101530003" + "2101000017510AB", today=TODAY).doubts) == 1
    # Beside its batch the same serial is whole, whatever it looks like.
    assert identify("10X\x1d2101000017510AB", today=TODAY).value("21") == "01000017510AB"


def test_a_separator_lost_before_another_serial_is_doubted():
    found = identify("17271130105501" + "21SN001", today=TODAY)
    assert found.value("10") == "550121SN001"
    assert found.doubts == (
        "(10)550121SN001 has 21 inside and no (21) beside it: if the label shows a serial, a separator was lost.",
    )


def test_a_batch_that_looks_like_a_lost_separator_is_not_printed_without_its_serial():
    with pytest.raises(IdentifierError) as error:
        compose_label(LabelIdentity(lot="550121010000175"), IdentifierMode.IN_HOUSE)
    assert str(error.value) == (
        "batch 550121010000175 without a serial; expected a batch that does not end in 21 and a serial of ours, as if "
        "a separator had been lost; put the serial on the label too, or use another batch or preparation number"
    )
    both = LabelIdentity(lot="550121010000175", serial="010000175")
    assert identify(compose_label(both, IdentifierMode.IN_HOUSE).text, today=TODAY).identity == both


REFUSALS = [
    (
        LabelIdentity(gtin="09501101530003", serial="010000175"),
        IdentifierMode.IN_HOUSE,
        (
            "GTIN '09501101530003' in the in-house mode; expected no GTIN, since an in-house code claims nothing of "
            "GS1's; leave the GTIN out, or set the practice's own GS1 company prefix and the mode gs1"
        ),
    ),
    (
        LabelIdentity(serial="010000175"),
        IdentifierMode.GS1,
        (
            "a GS1 code without GTIN; expected a GTIN from the practice's own company prefix, which batch, dates and "
            "serial need beside them; give the GTIN, or use the mode in_house"
        ),
    ),
    (
        LabelIdentity(gtin="02012345678903", serial="010000175"),
        IdentifierMode.GS1,
        (
            "GTIN 02012345678903; expected no number for restricted circulation (prefix 02, 04, 20 to 29 or 0000000) "
            "behind (01); use a GTIN from the practice's own company prefix, or the mode in_house"
        ),
    ),
    (
        LabelIdentity(gtin="09501101530004", serial="010000175"),
        IdentifierMode.GS1,
        (
            "(01)09501101530004, check digit 4; expected the check digit 3 after 0950110153000 in (01) GTIN; "
            "correct the value where it was written; if it was scanned, scan it again"
        ),
    ),
    (
        LabelIdentity(gtin="9501101530003", serial="010000175"),
        IdentifierMode.GS1,
        (
            "(01)9501101530003, 13 characters long; expected 14 characters in (01) GTIN; "
            "correct the value where it was written; if it was scanned, scan it again"
        ),
    ),
    (
        LabelIdentity(),
        IdentifierMode.IN_HOUSE,
        (
            "a label that says nothing in its code; expected at least one of use-by, date prepared, batch and serial; "
            "fill in the serial at least"
        ),
    ),
    (
        LabelIdentity(lot="A" * 21),
        IdentifierMode.IN_HOUSE,
        (
            "(10)AAAAAAAAAAAAAAAAAAAAA, 21 characters long; expected 1 to 20 characters in (10) BATCH/LOT; "
            "correct or shorten the value; if it was scanned, set the scanner to send separators (GS), "
            "one may be lost behind it"
        ),
    ),
    (
        LabelIdentity(lot="A 1"),
        IdentifierMode.IN_HOUSE,
        (
            "(10)A 1, with a space; expected only characters of GS1's set 82 (letters A-Z and a-z, digits, and "
            "! \" % & ' ( ) * + , - . / : ; < = > ? _) in (10) BATCH/LOT; "
            "correct the value where it was written; if it was scanned, scan it again"
        ),
    ),
    (
        LabelIdentity(use_by=date(1927, 11, 30)),
        IdentifierMode.IN_HOUSE,
        "the date 1927-11-30; expected a year from 2000 to 2099, since a code keeps two digits of it; correct the year",
    ),
]


@pytest.mark.parametrize(("identity", "mode", "sentence"), REFUSALS)
def test_what_is_refused_says_why(identity, mode, sentence):
    with pytest.raises(IdentifierError) as error:
        compose_label(identity, mode)
    assert str(error.value) == sentence


@pytest.mark.parametrize("lot", ["", "Ä1", "A\x1d1", "A\n", "\ud800"])
@pytest.mark.parametrize("mode", [IdentifierMode.IN_HOUSE, IdentifierMode.GS1, IdentifierMode.DIGITAL_LINK])
def test_a_batch_or_serial_outside_the_set_is_refused_in_every_mode(lot, mode):
    gtin = None if mode is IdentifierMode.IN_HOUSE else "09501101530003"
    with pytest.raises(IdentifierError):
        compose_label(LabelIdentity(gtin=gtin, lot=lot), mode)
    with pytest.raises(IdentifierError):
        compose_label(LabelIdentity(gtin=gtin, serial=lot), mode)


@pytest.mark.parametrize(
    "body",
    ["0021234567890", "0041234567890", "0201234567890", "1291234567890", "0000000012345", "0000002012345"],
)
def test_restricted_circulation_numbers_never_stand_behind_01(body):
    # GS1 General Specifications R26.0, 1.2.2.2.1; the last, a number of 8 digits, is from memory.
    with pytest.raises(IdentifierError):
        compose_label(LabelIdentity(gtin=body + mod10_check_digit(body)), IdentifierMode.GS1)


def test_composing_costs_no_more_than_parsing():
    # A ratio, not a time: composing checks everything and must stay far below reading the same text back.
    text = "]d2" + compose_label(OWNED, IdentifierMode.GS1).text
    compose = min(timeit.repeat(lambda: compose_label(OWNED, IdentifierMode.GS1), number=300, repeat=5))
    read = min(timeit.repeat(lambda: identify(text, today=TODAY), number=300, repeat=5))
    assert compose < read
