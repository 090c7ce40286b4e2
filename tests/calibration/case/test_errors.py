"""Sentences about what is wrong with a case file, and where."""

import datetime as dt

import pytest

from calibration.case.errors import (
    MOST_PROBLEMS,
    CaseError,
    Problem,
    Problems,
    did_you_mean,
    in_unit,
    number_text,
    place_in_words,
    shortened,
)
from calibration.case.units import TEMPERATURE

DOCUMENT = {"visit": [{"label": "spring"}, {"coil": "as found"}, {}], "season": {}}


@pytest.mark.parametrize(
    ("path", "words"),
    [
        ((), ""),
        (("units",), "units"),
        (("unit", "altitude"), "[unit] altitude"),
        (("visit", 0, "return_wb"), "visit 1 (spring), return_wb"),
        (("visit", 1, "return_wb"), "visit 2 (as found), return_wb"),
        (("visit", 2), "visit 3"),
        (("visit", 7, "date"), "visit 8, date"),
        (("season", "tariff", "periods", 1, "price"), "[season.tariff.periods] 2, price"),
        (("season", "tariff", "months", 0), "[season.tariff] months, entry 1"),
    ],
)
def test_place_of_an_entry_in_words(path, words):
    assert place_in_words(path, DOCUMENT) == words


def test_every_problem_is_a_line_and_many_are_counted():
    assert str(CaseError([Problem(("a",), "a", "is 1"), Problem((), "", "is bad")])) == "a: is 1\nis bad"
    problems = Problems(DOCUMENT)
    for number in range(MOST_PROBLEMS + 3):
        problems.add(("visit", number, "date"), "is wrong")
    assert problems.full
    lines = str(problems.error()).splitlines()
    assert len(lines) == MOST_PROBLEMS + 1
    assert lines[-1] == "and 3 more"
    assert problems.has(("visit", 0, "date"))
    assert problems.at(("visit", 0))
    assert not problems.at(("season",))


def test_the_nearest_known_word_is_proposed():
    assert did_you_mean("Return_web", ["return_wb", "supply_wb"]) == "did you mean return_wb?"
    assert did_you_mean("zzz", ["one", "two"]) == "known are one, two"
    assert did_you_mean("zzz", [f"entry{number}" for number in range(20)]) == "there is no such entry"


def test_numbers_are_shown_as_they_were_typed():
    assert in_unit(301.2, TEMPERATURE, "US") == "301.2 °F".replace("°F", TEMPERATURE.label("US"))
    assert number_text(0.1234567) == "0.123457"
    assert number_text(35000) == "35000"
    assert number_text(1234567.0) == "1234567"


def test_any_entry_fits_one_line():
    deep: list[object] = []
    for _ in range(500):
        deep = [deep]
    for value in (deep, "x" * 1000, "\x1b[31m" * 50, {"a": ["b"] * 1000}, 10**50):
        text = shortened(value)
        assert len(text) <= 60
        assert text.isprintable()
    assert shortened(True) == "true"
    assert shortened(dt.date(2026, 5, 14)) == "2026-05-14"
