import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tracelabels.errors import IdentifierError
from tracelabels.identifiers import Serial, format_serial, is_serial, parse_serial
from tracelabels.identifiers.serial import _DAMM_ROWS, damm_check_digit

DIGITS = range(10)


def test_published_worked_example():
    # The example that goes with the published table of order 10: 572 has the check digit 4.
    assert damm_check_digit("572") == "4"
    assert damm_check_digit("5724") == "0"


def test_the_table_is_a_weakly_totally_anti_symmetric_quasigroup():
    # Damm 2004: a quasigroup (a Latin square) with zeros on the diagonal, in which (c*x)*y = (c*y)*x only if x = y.
    # From the first follows that every single error is noticed, from both that every swap of neighbours is, at any
    # length.
    table = _DAMM_ROWS
    assert all(sorted(row) == list(DIGITS) for row in table)
    assert all(sorted(row[n] for row in table) == list(DIGITS) for n in DIGITS)
    assert all(table[n][n] == 0 for n in DIGITS)
    for c, x, y in itertools.product(DIGITS, repeat=3):
        assert x == y or table[table[c][x]][y] != table[table[c][y]][x]


def test_every_single_error_and_every_swap_of_neighbours_is_noticed():
    # Exhaustive: whatever stands before, an error or a swap begins at one of ten interim digits; it must lead to
    # another interim digit, and any digit behind it must keep two different interim digits different.
    for interim, right, wrong in itertools.product(DIGITS, repeat=3):
        if right == wrong:
            continue
        after_right, after_wrong = _DAMM_ROWS[interim][right], _DAMM_ROWS[interim][wrong]
        assert after_right != after_wrong
        assert _DAMM_ROWS[after_right][wrong] != _DAMM_ROWS[after_wrong][right]
        assert all(_DAMM_ROWS[right][behind] != _DAMM_ROWS[wrong][behind] for behind in DIGITS)


def test_errors_and_swaps_at_every_place_of_2000_serials():
    # The same through the public functions, all places and all wrong digits of a sample.
    for n in range(2_000):
        serial = format_serial(n % 100, n * 7919 % 1_000_000)
        for at, digit in itertools.product(range(9), "0123456789"):
            wrong = serial[:at] + digit + serial[at + 1 :]
            assert is_serial(wrong) == (wrong == serial)
        for at in range(8):
            swapped = serial[:at] + serial[at + 1] + serial[at] + serial[at + 2 :]
            assert is_serial(swapped) == (swapped == serial)


@settings(deadline=None)
@given(site=st.integers(0, 99), number=st.integers(0, 999_999))
def test_format_then_parse_is_the_identity(site, number):
    text = format_serial(site, number)
    assert len(text) == 9
    assert text.isascii()
    assert text.isdigit()
    assert parse_serial(text) == Serial(site=site, number=number)


@settings(deadline=None)
@given(st.text())
def test_parse_serial_raises_nothing_but_its_error(text):
    try:
        assert format_serial(parse_serial(text).site, parse_serial(text).number) == text
    except IdentifierError:
        assert not is_serial(text)


def test_the_sentences():
    with pytest.raises(IdentifierError) as error:
        parse_serial("010000157")
    assert str(error.value) == (
        "serial '010000157'; expected a check digit that agrees with the other eight digits; "
        "type it again: a digit is wrong, or two neighbours are swapped"
    )
    with pytest.raises(IdentifierError) as error:
        parse_serial("01000017")
    assert str(error.value) == (
        "serial '01000017'; expected nine digits (two for the site, six for the running number, one check digit); "
        "scan the code, or type the serial again from the label"
    )
    with pytest.raises(IdentifierError) as error:
        format_serial(100, 1)
    assert str(error.value) == (
        "site 100; expected a site number from 0 to 99; give each site its own number of at most two digits"
    )
    with pytest.raises(IdentifierError) as error:
        format_serial(1, 1_000_000)
    assert str(error.value) == (
        "running number 1000000; expected a running number from 0 to 999999; "
        "open a new site number when a site has used up its running numbers"
    )


@pytest.mark.parametrize(
    "text",
    [
        "\u0660\u0661\u0662\u0663\u0664\u0665\u0666\u0667\u0668",
        "01000017\u0665",
        " 10000175",
        "0100001750",
        "",
        "\ud800",
    ],
)
def test_digits_of_other_scripts_and_stray_characters_are_no_serial(text):
    assert not is_serial(text)
