"""Each guard refuses what it is there for, and no own label."""

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracelabels.errors import IdentifierError
from tracelabels.identifiers import (
    IdentifierMode,
    LabelIdentity,
    compose_label,
    format_serial,
    identify,
)
from tracelabels.scanning.guards import GUARDS, as_candidate, find_refusal
from tracelabels.scanning.reading import ScanMode
from tracelabels.symbols import RawReading, Symbology

TODAY = date(2026, 11, 25)
IDENTITY = LabelIdentity(
    gtin=None, use_by=date(2027, 11, 30), prepared=date(2026, 11, 20), lot="R4711", serial=format_serial(1, 27)
)
OWN = RawReading(
    text=compose_label(IDENTITY, IdentifierMode.IN_HOUSE).text,
    data=b"",
    symbology_identifier="]d1",
    symbology_name="Data Matrix",
    symbology=Symbology.DATA_MATRIX,
    version="18x18",
    corners=((0, 0), (1, 0), (1, 1), (0, 1)),
    unused_error_correction=0.5,
)

# Guard: a reading that it must refuse.
EXAMPLES = {
    "says nothing, or what cannot be printed": replace(OWN, text=""),
    "a kind of symbol that is not printed here": replace(
        OWN, symbology=None, symbology_name="Aztec Code", symbology_identifier="]z0"
    ),
    "a size of symbol that is not printed here": replace(
        OWN, symbology=Symbology.MICRO_QR, symbology_name="Micro QR Code", symbology_identifier="]Q1", version="M2"
    ),
    "a deep reading of a kind with a weak check": replace(
        OWN, symbology=None, symbology_name="ITF", symbology_identifier="]I0", unused_error_correction=None
    ),
    "a deep reading that used up all its error correction": replace(OWN, unused_error_correction=0.0),
    "a payload that is not printed here": replace(OWN, text="HTTP://EXAMPLE.COM"),
    "a deep reading whose own serial fails its check digit": replace(
        OWN, text=OWN.text.replace(format_serial(1, 27), str(int(format_serial(1, 27)) + 1).zfill(9))
    ),
}


def refused_by(raw, mode, *, deep):
    guard = find_refusal(as_candidate(raw, deep=deep, today=TODAY), mode)
    return None if guard is None else guard.name


def test_the_table_is_whole():
    assert [guard.name for guard in GUARDS] == list(EXAMPLES)
    assert all(guard.evidence for guard in GUARDS)


@pytest.mark.parametrize("guard", GUARDS, ids=lambda guard: guard.name)
def test_each_guard_refuses_its_example_where_it_applies(guard):
    candidate = as_candidate(EXAMPLES[guard.name], deep=True, today=TODAY)
    assert guard.refuses(candidate)
    assert not guard.refuses(as_candidate(OWN, deep=True, today=TODAY))
    for mode in guard.modes:
        assert find_refusal(candidate, mode) is not None


@pytest.mark.parametrize("mode", ScanMode)
@pytest.mark.parametrize("deep", [False, True])
@pytest.mark.parametrize(
    "change",
    [
        {},
        {"symbology": Symbology.QR, "symbology_name": "QR Code", "symbology_identifier": "]Q1", "version": "2"},
        {
            "symbology": Symbology.MICRO_QR,
            "symbology_name": "Micro QR Code",
            "symbology_identifier": "]Q1",
            "version": "M4",
        },
        {
            "symbology": Symbology.CODE_128,
            "symbology_name": "Code 128",
            "symbology_identifier": "]C0",
            "version": None,
            "unused_error_correction": None,
        },
        {"version": "8x32"},
    ],
)
def test_own_labels_pass(mode, deep, change):
    assert refused_by(replace(OWN, **change), mode, deep=deep) is None


def test_own_labels_with_a_company_prefix_pass():
    identity = replace(IDENTITY, gtin="09506000134352")  # the example number of GS1's own documents
    payload = compose_label(identity, IdentifierMode.GS1)
    assert refused_by(replace(OWN, text=payload.text, symbology_identifier="]d2"), ScanMode.OWN, deep=True) is None


@pytest.mark.parametrize("version", ["M1", "M2", "M3"])
def test_small_micro_qr_is_refused(version):
    raw = replace(OWN, symbology=Symbology.MICRO_QR, symbology_name="Micro QR Code", version=version)
    assert refused_by(raw, ScanMode.OWN, deep=False) == "a size of symbol that is not printed here"


def test_a_lot_alone_is_not_what_a_label_says():
    """A foreign Code 128 of digits that happens to begin with 10."""
    raw = replace(OWN, text="102030405060708090")
    assert as_candidate(raw, deep=False, today=TODAY).identification is not None
    assert refused_by(raw, ScanMode.OWN, deep=False) == "a payload that is not printed here"


def test_an_element_string_of_gs1_in_a_plain_symbol_is_refused():
    raw = replace(OWN, text="(17)271130(21)010000175")
    assert refused_by(raw, ScanMode.OWN, deep=False) == "a payload that is not printed here"


def test_a_serial_of_another_form_is_left_alone():
    identity = replace(IDENTITY, serial="A17-3")
    raw = replace(OWN, text=compose_label(identity, IdentifierMode.IN_HOUSE).text)
    assert refused_by(raw, ScanMode.OWN, deep=True) is None


raws = st.builds(
    RawReading,
    text=st.one_of(st.text(max_size=20), st.from_regex(r"\A17(27|28)(0[1-9]|1[0-2])3010[A-Z0-9]{1,9}\Z")),
    data=st.just(b""),
    symbology_identifier=st.sampled_from(["]d1", "]d2", "]Q1", "]Q3", "]C0", "]C1", "]E0", "]z0"]),
    symbology_name=st.sampled_from(["Data Matrix", "QR Code", "Micro QR Code", "Code 128", "EAN-13", "Aztec Code"]),
    symbology=st.one_of(st.none(), st.sampled_from(Symbology)),
    version=st.sampled_from([None, "18x18", "8x48", "8x32", "2", "M1", "M3", "M4"]),
    corners=st.just(((0, 0), (1, 0), (1, 1), (0, 1))),
    unused_error_correction=st.one_of(st.none(), st.floats(-1.0, 1.0)),
)


@given(raws)
def test_plain_answers_of_any_code_are_kept_as_they_are(raw):
    assert refused_by(raw, ScanMode.ANY, deep=False) is None


@given(raws, st.booleans())
def test_what_is_believed_as_own_says_something_that_is_printed_here(raw, deep):
    if refused_by(raw, ScanMode.OWN, deep=deep) is not None:
        return
    assert raw.symbology is not None
    assert raw.text.replace("\x1d", "").isprintable()
    assert raw.text.strip()
    says = identify(raw.symbology_identifier + raw.text, today=TODAY)
    assert says.mode is IdentifierMode.DIGITAL_LINK or {e.ai for e in says.elements} <= {"01", "10", "13", "17", "21"}
    assert not deep or raw.unused_error_correction is None or raw.unused_error_correction > 0.0


@given(raws)
def test_going_deeper_or_asking_for_own_labels_never_believes_more(raw):
    believed = {(mode, deep): refused_by(raw, mode, deep=deep) is None for mode in ScanMode for deep in (False, True)}
    for mode in ScanMode:
        assert believed[mode, False] or not believed[mode, True]
    for deep in (False, True):
        assert believed[ScanMode.ANY, deep] or not believed[ScanMode.OWN, deep]


@given(st.integers(1, 999_999), st.integers(0, 8), st.integers(1, 9))
def test_any_one_wrong_digit_of_an_own_serial_is_noticed_in_a_deep_reading(number, place, shift):
    serial = format_serial(1, number)
    wrong = serial[:place] + str((int(serial[place]) + shift) % 10) + serial[place + 1 :]
    identity = replace(IDENTITY, serial=serial)
    text = compose_label(identity, IdentifierMode.IN_HOUSE).text
    assert text.count(serial) == 1
    name = "a deep reading whose own serial fails its check digit"
    assert refused_by(replace(OWN, text=text), ScanMode.OWN, deep=True) is None
    assert refused_by(replace(OWN, text=text.replace(serial, wrong)), ScanMode.OWN, deep=True) == name


def test_texts_that_do_not_parse_carry_no_identification():
    with pytest.raises(IdentifierError):
        identify("]d1HELLO", today=TODAY)
    assert as_candidate(replace(OWN, text="HELLO"), deep=False, today=TODAY).identification is None
