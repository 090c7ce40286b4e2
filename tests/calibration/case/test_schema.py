"""Entries of a case file that are unknown, missing or of the wrong sort, each in one sentence."""

import copy

import pytest

from calibration.case.errors import Problems
from calibration.case.schema import note_structural_problems

GOOD = {
    "units": "US",
    "unit": {
        "name": "Invented unit",
        "refrigerant": "R410A",
        "expansion": "TXV",
        "rated_capacity": 36000.0,
        "rated_eer": 12.0,
    },
    "visit": [{"coil": "clean", "outdoor_db": 82.0, "return_db": 75.0}],
}


def problems_of(**changes):
    document = copy.deepcopy(GOOD)
    for path, value in changes.items():
        *tables, name = path.split("__")
        inner = document
        for table in tables:
            inner = inner[int(table) if table.isdigit() else table]
        if value is None:
            del inner[name]
        else:
            inner[name] = value
    problems = Problems(document)
    note_structural_problems(document, problems)
    return [str(problem) for problem in problems.found]


def test_a_good_document_has_no_problem():
    assert problems_of() == []


@pytest.mark.parametrize(
    ("changes", "start", "part"),
    [
        ({"units": "metric"}, "units: ", '"US" or "SI" is expected'),
        ({"unit__rated_capacity": "36000"}, "[unit] rated_capacity: ", "number"),
        ({"unit__rated_capacity": True}, "[unit] rated_capacity: ", "true"),
        ({"unit__rated_capacity": float("nan")}, "[unit] rated_capacity: ", "number"),
        ({"unit__rated_capacity": None}, "[unit] rated_capacity: ", ""),
        ({"unit__rated_capasity": 36000.0}, "[unit] rated_capasity: ", "did you mean rated_capacity?"),
        ({"visit__0__outdoor_dp": 80.0}, "visit 1 (clean), outdoor_dp: ", "did you mean outdoor_db?"),
        ({"visit__0__coil": 5}, "visit 1, coil: ", ""),
        ({"visit": {"coil": "clean"}}, "visit: ", ""),
        ({"season": {"tariff": {"energy_price": "0.2"}}}, "[season.tariff] energy_price: ", "number"),
    ],
)
def test_a_wrong_entry_has_its_place_and_what_is_expected(changes, start, part):
    (line,) = problems_of(**changes)
    assert line.startswith(start)
    assert part in line
    assert len(line) > len(start) + 5


def test_all_problems_are_found_at_once():
    assert len(problems_of(unit__rated_capacity="a", unit__rated_eer="b", visit__0__coil=5)) == 3
