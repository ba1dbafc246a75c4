"""One place, one answer; places in reading order."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracelabels.scanning.guards import Candidate, as_candidate
from tracelabels.scanning.merging import Found, in_reading_order, merge, same_place
from tracelabels.scanning.reading import ScanMode
from tracelabels.symbols import RawReading, Symbology

TODAY = date(2026, 11, 25)


def square(x, y, side=40):
    return ((x, y), (x + side, y), (x + side, y + side), (x, y + side))


def found(text, corners, *, deep=False):
    raw = RawReading(
        text=text,
        data=text.encode(),
        symbology_identifier="]d1",
        symbology_name="Data Matrix",
        symbology=Symbology.DATA_MATRIX,
        version="18x18",
        corners=corners,
        unused_error_correction=0.5,
    )
    candidate: Candidate = as_candidate(raw, deep=deep, today=TODAY)
    return Found(candidate=candidate, corners=corners, how="deep" if deep else "plain")


def texts(merged):
    return [one.candidate.raw.text for one in merged.agreed]


@pytest.mark.parametrize("mode", ScanMode)
def test_the_same_symbol_twice_is_one_reading_the_first(mode):
    merged = merge([found("A", square(0, 0)), found("A", square(3, 2, 36), deep=True)], mode)
    assert [one.how for one in merged.agreed] == ["plain"]
    assert merged.disputed == ()


@pytest.mark.parametrize("mode", ScanMode)
def test_the_same_text_at_two_places_is_two_readings(mode):
    merged = merge([found("A", square(0, 0)), found("A", square(100, 0))], mode)
    assert texts(merged) == ["A", "A"]


@pytest.mark.parametrize("mode", ScanMode)
def test_two_deep_texts_for_one_place_are_none(mode):
    merged = merge([found("A", square(0, 0), deep=True), found("B", square(2, 2), deep=True)], mode)
    assert merged.agreed == ()
    assert merged.disputed == (square(2, 2),)


def test_a_third_voice_does_not_settle_a_dispute():
    voices = [found(text, square(0, 0), deep=True) for text in ("A", "B", "A")]
    merged = merge(voices, ScanMode.OWN)
    assert merged.agreed == ()
    assert len(merged.disputed) >= 1


def test_own_labels_a_plain_and_a_deep_text_that_differ_are_none():
    merged = merge([found("A", square(0, 0)), found("B", square(2, 2), deep=True)], ScanMode.OWN)
    assert merged.agreed == ()


def test_any_code_a_plain_text_stands_against_a_deep_one():
    merged = merge([found("A", square(0, 0)), found("B", square(2, 2), deep=True)], ScanMode.ANY)
    assert texts(merged) == ["A"]
    assert merged.disputed == ()


def test_any_code_plain_texts_are_kept_even_one_inside_another():
    merged = merge([found("OUTER", square(0, 0, 200)), found("INNER", square(80, 80))], ScanMode.ANY)
    assert texts(merged) == ["OUTER", "INNER"]


def test_turned_symbols_hold_their_middle():
    turned = ((50, 0), (100, 50), (50, 100), (0, 50))
    assert same_place(turned, square(30, 30))
    assert same_place(square(30, 30), tuple(reversed(turned)))
    assert not same_place(turned, square(0, 0, 20))


def test_reading_order_is_by_rows_even_if_a_row_is_a_little_askew():
    boxes = [square(200, 8), square(0, 0), square(100, 95), square(0, 100), square(100, 15)]
    assert in_reading_order(boxes) == [1, 4, 0, 3, 2]


@given(st.lists(st.tuples(st.integers(0, 999), st.integers(0, 999)), max_size=12))
def test_reading_order_names_each_place_once(places):
    order = in_reading_order([square(x, y) for x, y in places])
    assert sorted(order) == list(range(len(places)))
