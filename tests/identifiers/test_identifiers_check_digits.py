import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tracelabels.errors import IdentifierError
from tracelabels.identifiers import as_gtin_14, has_valid_check_digit


@pytest.mark.parametrize(
    ("text", "gtin"),
    [
        # Examples of GS1 (check digit page), HL7 FHIR (device) and the check csum (8 digits).
        ("6291041500213", "06291041500213"),
        ("00844588003288", "00844588003288"),
        ("844588003288", "00844588003288"),
        ("02345673", "00000002345673"),
    ],
)
def test_shorter_numbers_get_zeros_before(text, gtin):
    assert as_gtin_14(text) == gtin
    assert has_valid_check_digit(gtin)


def test_a_gtin_that_is_none_says_why():
    with pytest.raises(IdentifierError) as error:
        as_gtin_14("6291041500214")
    assert str(error.value) == (
        "GTIN '6291041500214'; expected a check digit of 3 after 629104150021; "
        "type the number below the bar code of the product again"
    )
    with pytest.raises(IdentifierError) as error:
        as_gtin_14("62910414")
    assert "expected a check digit of" in str(error.value)
    with pytest.raises(IdentifierError) as error:
        as_gtin_14("629104150021O")
    assert str(error.value) == (
        "GTIN '629104150021O'; expected 8, 12, 13 or 14 digits; "
        "type the number below the bar code of the product, check digit included"
    )


@settings(deadline=None)
@given(st.text(st.sampled_from("0123456789"), min_size=2, max_size=18), st.data())
def test_every_single_wrong_digit_is_noticed(body, data):
    # GS1 General Specifications 7.9.1: the weights 3 and 1 have no factor in common with 10.
    right = next(digits for digits in (body + digit for digit in "0123456789") if has_valid_check_digit(digits))
    at = data.draw(st.integers(0, len(right) - 1))
    digit = data.draw(st.sampled_from([digit for digit in "0123456789" if digit != right[at]]))
    assert not has_valid_check_digit(right[:at] + digit + right[at + 1 :])
