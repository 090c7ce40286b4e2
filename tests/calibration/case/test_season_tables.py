"""The tables of a season: a bill is read, written and refused with its place."""

import datetime as dt

import pytest

from calibration.case.errors import CaseError
from calibration.case.file import case_text, parse_case
from tests.calibration.sample_case import SAMPLE

DAYS = "first_day = 2026-06-20\nlast_day = 2026-07-19\n"


def with_bill(text):
    return f"{SAMPLE}\n[season.bill]\n{text}"


def problem_of(text):
    with pytest.raises(CaseError) as error:
        parse_case(with_bill(text))
    (problem,) = error.value.problems
    return str(problem)


def test_a_bill_is_read_in_si_and_written_again():
    case = parse_case(with_bill(f"kwh = 1240\nother_kwh = 410\nmean_outdoor = 79.5\n{DAYS}"))
    bill = case.season.bill
    assert bill.kwh == pytest.approx(1240 * 3.6e6)
    assert bill.other_kwh == pytest.approx(410 * 3.6e6)
    assert bill.mean_outdoor == pytest.approx((79.5 + 459.67) / 1.8)
    assert (bill.first_day, bill.last_day, bill.days) == (dt.date(2026, 6, 20), dt.date(2026, 7, 19), 30)
    assert parse_case(case_text(case)) == case


def test_a_bill_may_be_of_months():
    bill = parse_case(with_bill("kwh = 2900\nmonths = [6, 7, 8]\n")).season.bill
    assert bill.months == (6, 7, 8) and bill.days is None and bill.other_kwh is None


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (DAYS, "[season.bill] kwh: is missing; a number in kWh, for example 1400, is expected"),
        ("kwh = 900\n", "[season.bill] first_day: is missing; first_day and last_day, or months,"),
        ("kwh = 900\nfirst_day = 2026-07-01\n", "[season.bill] last_day: is missing"),
        (f"kwh = 900\nmonths = [7]\n{DAYS}", "[season.bill] months: is given beside first_day or last_day"),
        (
            "kwh = 900\nfirst_day = 2026-07-01\nlast_day = 2026-06-01\n",
            "[season.bill] last_day: is 2026-06-01; a day within a year after first_day, 2026-07-01,",
        ),
        (f"kwh = 900\nother_kwh = 950\n{DAYS}", "[season.bill] other_kwh: less than kwh is expected"),
        (f"kwh = 0\n{DAYS}", "[season.bill] kwh: is 0 kWh; 1 to 100000000 kWh is expected"),
        (f"kwh = 900\nother = 3\n{DAYS}", "[season.bill] other: is not known here; did you mean"),
        (
            "kwh = 900\nfirst_day = 7\nlast_day = 2026-06-01\n",
            "[season.bill] first_day: is 7; a date such as 2026-05-14 is expected",
        ),
    ],
)
def test_a_bill_that_says_too_little_or_too_much_is_refused(text, sentence):
    assert problem_of(text).startswith(sentence)
