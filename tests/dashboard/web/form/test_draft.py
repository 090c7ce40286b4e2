"""A case while it is typed: switching units loses nothing, and faults stand at their fields."""

import dataclasses
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calibration.case.file import parse_case, read_case
from calibration.case.keys import keys_of
from dashboard.web.form.draft import Draft, draft_of, key_at, new_draft

CASES = Path(__file__).resolve().parents[4] / "cases"
FILES = sorted(CASES.rglob("*.toml"))
CAPACITY = ("unit", "rated_capacity")


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_draft_of_a_case_is_that_case(path):
    case = read_case(path)
    draft = draft_of(case)
    assert draft.checked(case.units).case == case
    assert draft.changes() == 0


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_case_written_in_the_other_system_is_the_same_in_si(path):
    case = read_case(path)
    other = "SI" if case.units == "US" else "US"
    moved = draft_of(case).checked(other).case
    assert moved is not None
    assert dataclasses.replace(moved, units=case.units) == case


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_looking_at_it_in_the_other_system_changes_nothing(path):
    case = read_case(path)
    draft = draft_of(case)
    other = "SI" if case.units == "US" else "US"
    for field in list(draft.entries):
        draft.put(field, draft.text(field, other), other)  # what a field does that is left as it is shown
    assert draft.changes() == 0


@settings(derandomize=True, deadline=None)
@given(
    st.sampled_from([key for key in keys_of("visit").values() if key.form == "number" and key.quantity]),
    st.floats(0.01, 9999.0),
)
def test_a_number_is_again_what_was_typed_after_us_si_us(key, number):
    draft, path, text = Draft(visits=[1]), ("visit", 1, key.name), f"{number:.4g}"
    draft.put(path, text, "US")
    assert key.quantity is not None
    shown = float(draft.text(path, "SI"))
    exact = key.quantity.from_si(key.quantity.to_si(float(text), "US"), "SI")
    assert shown == pytest.approx(exact, rel=1e-4, abs=1e-4)
    draft.put(path, draft.text(path, "SI"), "SI")
    assert draft.text(path, "US") == text


def test_what_is_typed_in_the_other_system_counts_there():
    draft = new_draft("US")
    draft.put(CAPACITY, "36000", "US")
    assert draft.text(CAPACITY, "SI") == "10551"
    draft.put(CAPACITY, "10.5", "SI")
    assert draft.checked("SI").problems[CAPACITY].startswith("is 10.5 W;")
    draft.put(CAPACITY, "10500", "SI")
    draft.put(("unit", "name"), "typed", "SI")
    assert draft.checked("US").case.unit.rated_capacity == pytest.approx(10500.0, rel=1e-12)


def test_faults_stand_at_the_fields_of_their_visits():
    draft = new_draft("US")
    clean, found = draft.visits
    draft.put(("visit", found, "suction_pressure"), "abc", "US")
    problems = draft.checked("US").problems
    assert "a number in psi is expected" in problems["visit", found, "suction_pressure"]
    assert problems["visit", found, "outdoor_db"].startswith("is missing")
    assert not any(path[:2] == ("visit", clean) for path in problems), "nothing was typed for the clean visit"


def test_a_visit_without_readings_is_left_out():
    draft = new_draft("US")
    draft.put(("unit", "name"), "nameplate only", "US")
    draft.put(CAPACITY, "36,000", "US")
    assert draft.checked("US").case.visits == ()


def test_parts_that_no_form_shows_are_kept():
    case = read_case(CASES / "demo.toml")
    document = (CASES / "demo.toml").read_text(encoding="utf-8")
    periods = "[[season.tariff.periods]]\nprice = 0.4\nmonths = [6, 7]\nhours = [14, 20]\n"
    case = parse_case(document.replace("[cleaning]", f"{periods}\n[cleaning]"))
    draft = draft_of(case)
    draft.put(("cleaning", "price"), "99", "US")
    saved = draft.checked("US").case
    assert saved.season.tariff.periods == case.season.tariff.periods
    assert saved.cleaning.price == 99.0


def test_rows_of_prices_change_places():
    """Where two hold for an hour the first counts, so their order is part of the case."""
    text = (CASES / "demo.toml").read_text()
    periods = "".join(f"[[season.tariff.periods]]\nprice = {price}\nmonths = [7]\n\n" for price in (0.2, 0.3))
    draft = draft_of(parse_case(text.replace("[cleaning]", f"{periods}\n[cleaning]")))
    place = ("season", "tariff", "periods")
    serial = draft.serial
    draft.swap_rows(place, *draft.rows(place))
    prices = [one.price for one in draft.checked("US").case.season.tariff.periods]
    assert prices == [0.3, 0.2]
    assert draft.serial != serial, "the fields show what they hold now"
    draft.undo()
    assert [one.price for one in draft.checked("US").case.season.tariff.periods] == [0.2, 0.3]


def test_visits_are_added_copied_and_taken_out():
    case = read_case(CASES / "demo.toml")
    draft = draft_of(case)
    first, second = draft.visits
    copy = draft.copy_visit(first)
    assert draft.visits == [first, copy, second]
    assert ("visit", copy, "label") not in draft.entries
    draft.put(("visit", copy, "label"), "again", "US")
    draft.drop_visit(second)
    assert [visit.label for visit in draft.checked("US").case.visits] == ["spring, coil clean", "again"]
    assert draft.changes() > 0


@settings(derandomize=True, deadline=None)
@given(st.dictionaries(st.sampled_from(list(keys_of("visit"))), st.text(max_size=40), max_size=8))
def test_whatever_is_typed_gives_a_case_or_sentences(entries):
    draft = new_draft("US")
    draft.put(("unit", "name"), "x", "US")
    draft.put(CAPACITY, "36000", "US")
    for name, text in entries.items():
        draft.put(("visit", 1, name), text, "US")
    checked = draft.checked("US")
    assert (checked.case is None) == bool(checked.problems or checked.others)
    assert all(key_at(path) is not None for path in checked.problems)


def test_a_series_is_converted_and_again_what_was_typed():
    draft, path = Draft(), ("season", "daily_ranges")
    draft.put(path, "18, 20", "US")
    assert draft.text(path, "SI") == "10, 11.111"
    draft.put(path, draft.text(path, "SI"), "SI")
    assert draft.text(path, "US") == "18, 20"
    draft.put(path, "18, warm", "US")
    assert draft.text(path, "SI") == "18, warm"


def test_rows_of_a_tariff_are_typed_like_visits_and_problems_stand_at_their_fields():
    draft = draft_of(read_case(CASES / "demo.toml"))
    blocks, first = ("season", "tariff", "blocks"), ("season", "tariff", "blocks", 4)
    before = draft.rows(blocks)
    draft.put((*first, "above"), "600", "US")
    draft.put((*first, "adds"), "many", "US")
    assert draft.rows(blocks) == [*before, 4]
    assert "a number" in draft.checked("US").problems[*first, "adds"]
    draft.put((*first, "adds"), "", "US")
    assert draft.checked("US").problems[*first, "adds"].startswith("is missing")
    draft.put((*first, "adds"), "0.06", "US")
    added = draft.checked("US").case.season.tariff.blocks[-1]
    assert added.adds == pytest.approx(0.06)
    assert draft_of(draft.checked("US").case).checked("US").case == draft.checked("US").case
    for name in ("above", "adds"):
        draft.put((*first, name), "", "US")
    assert draft.rows(blocks) == before
    assert draft.changes() == 0


def test_a_period_left_half_typed_is_named_by_its_own_row():
    draft = draft_of(read_case(CASES / "demo.toml"))
    place = ("season", "tariff", "periods")
    taken = max(draft.rows(place), default=0)
    draft.put((*place, taken + 2, "hours"), "14, 20", "US")
    draft.put((*place, taken + 1, "price"), "0.31", "US")
    draft.put((*place, taken + 1, "months"), "6, 7", "US")
    problems = draft.checked("US").problems
    assert set(problems) == {(*place, taken + 2, "price")}
    draft.put((*place, taken + 2, "price"), "0.2", "US")
    periods = draft.checked("US").case.season.tariff.periods
    assert [one.months for one in periods][-2] == (6, 7)
    assert periods[-1].hours == (14, 20)
