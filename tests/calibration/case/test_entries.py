"""Single entries of a case file as people type them."""

import pytest

from calibration.case.entries import number_of


@pytest.mark.parametrize(
    ("text", "number"),
    [("95", 95.0), (" 95.5 ", 95.5), ("95,5", 95.5), ("36,000", 36000.0), ("1,234.5", 1234.5), ("−3", -3.0),
     ("1e3", 1000.0), ("0,125", 125.0), ("12,34", 12.34)],
)  # fmt: skip
def test_numbers_as_people_type_them(text, number):
    assert number_of(text) == number


@pytest.mark.parametrize(
    "text", ["", "abc", "1.2.3", "nan", "inf", "1e999", "12 psi", "0x10", "1_000", "1.234,5"]
)
def test_what_is_no_number(text):
    with pytest.raises(ValueError):
        number_of(text)
