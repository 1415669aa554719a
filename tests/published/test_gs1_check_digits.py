"""GS1 check digit calculator and General Specifications: the printed worked example and other lengths."""

import pytest

from naptuft.boxing.code import carton_gtin, check_digit, valid_gtin, valid_sscc
from naptuft.errors import DesignError


def test_the_worked_example_of_gs1():
    """629104150021: weighted sum 57, next ten 60, check digit 3."""
    assert check_digit("629104150021") == 3
    assert valid_gtin("6291041500213")


@pytest.mark.parametrize(
    "code", ["4006381333931", "036000291452", "73513537", "00614141999996", "10614141000415", "9780306406157"]
)
def test_codes_printed_in_standards_and_textbooks_are_valid(code):
    """EAN-13, UPC-A, EAN-8, GTIN-14 and ISBN-13 specimens in GS1, Wikipedia and ISBN manuals (from memory)."""
    assert valid_gtin(code)


def test_the_carton_code_of_gs1s_specification():
    """Serial shipping container code 376104250021234569 in the GS1 check digit page (from memory)."""
    assert valid_sscc("376104250021234569")
    assert not valid_sscc("376104250021234560")


def test_one_wrong_digit_is_always_found():
    """Weights 3 and 1 have no factor in common with ten."""
    code = "6291041500213"
    for place in range(13):
        for digit in "0123456789":
            wrong = code[:place] + digit + code[place + 1 :]
            assert valid_gtin(wrong) == (wrong == code)


def test_a_carton_keeps_the_item_and_gets_its_own_digit():
    """Indicator in front, check digit worked out anew."""
    carton = carton_gtin("6291041500213", 1)
    assert carton[1:13] == "629104150021"
    assert valid_gtin(carton)
    with pytest.raises(DesignError, match="indicator"):
        carton_gtin("6291041500213", 9)
