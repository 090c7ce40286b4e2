"""Single entries of a case file as people type them."""

import pytest

from calibration.case.entries import number_of
from calibration.case.errors import CaseError
from calibration.case.file import case_text, parse_case
from calibration.costs.season_case import season_case
from tests.calibration.sample_case import changed


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


@pytest.mark.parametrize("name", ["No 5\u00a0B", "\U0001f468\u200d\U0001f527", "\u06cc\u200c\u062e"])
def test_spaces_that_do_not_break_and_joiners_are_text(name):
    case = parse_case(changed(('name = "Sample"', f'name = "{name}"')))
    assert case.unit.name == name
    assert parse_case(case_text(case)).unit.name == name


@pytest.mark.parametrize(
    ("old", "new"),
    [("cooling_hours = 1300.0", "cooling_hours = 8761"), ("restores = 0.9", "restores = 0")],
)
def test_what_no_command_can_use_is_no_entry_either(old, new):
    name = new.split(" ", maxsplit=1)[0]
    with pytest.raises(CaseError, match=f"{name}: is .* is expected"):
        parse_case(changed((old, new)))


def test_the_limits_of_hours_and_restored_share_can_be_used():
    hours = ("cooling_hours = 1300.0", "cooling_hours = 8760")
    case = parse_case(changed(hours, ("restores = 0.9", "restores = 0.01")))
    assert season_case(case).cleaning is not None
