"""A case file of an older form is read, told of, and written in the present form."""

import tomllib
from pathlib import Path

import pytest

from calibration.case.document import SCHEMA
from calibration.case.errors import CaseError
from calibration.case.file import case_text, parse_case, read_case, write_case
from calibration.case.migrations import MIGRATIONS, from_draft
from calibration.case.units import CFM, PSI
from model.properties.moist_air import STANDARD_PRESSURE

DRAFT = Path(__file__).with_name("schema_0.toml")


def test_a_draft_is_read_with_a_note():
    case = read_case(DRAFT)
    (remark,) = case.remarks
    assert "has the draft schema 0" in remark
    assert case.unit.expansion == "TXV"
    cleaned, found = case.visits
    assert (cleaned.coil, found.coil) == ("clean", "as found")
    assert cleaned.indoor_airflow == pytest.approx(1210 * CFM)
    assert cleaned.indoor_power == 455.0
    assert found.liquid_pressure == pytest.approx(437 * PSI + STANDARD_PRESSURE)


def test_saved_it_is_of_the_present_form_and_the_draft_is_kept(tmp_path):
    path = tmp_path / "draft.toml"
    path.write_bytes(DRAFT.read_bytes())
    case = read_case(path)
    write_case(case, path)
    again = read_case(path)
    assert again == case
    assert again.remarks == ()
    assert tomllib.loads(path.read_text(encoding="utf-8"))["schema"] == SCHEMA
    assert path.with_name("draft.toml.bak").read_bytes() == DRAFT.read_bytes()


def test_every_older_schema_has_a_way_to_the_present_one():
    assert sorted(MIGRATIONS) == list(range(SCHEMA))


def test_tables_of_the_present_form_pass_unchanged():
    tables = tomllib.loads(case_text(read_case(DRAFT)))
    assert from_draft(tables)[0] == tables


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        ("airflow = 1210", "airflow = 1210\nindoor_airflow = 1200", "airflow: is not known here"),
        ('coil = "fouled"', 'coil = "dirty"', "coil: is 'dirty'"),
        ("[[visits]]", "[[visitors]]", "visitors: is not known here"),
        ("metering", "metring", "metring: is not known here"),
    ],
)
def test_what_a_draft_could_not_hold_is_refused_as_ever(old, new, sentence):
    with pytest.raises(CaseError) as caught:
        parse_case(DRAFT.read_text(encoding="utf-8").replace(old, new))
    assert sentence in str(caught.value)


@pytest.mark.parametrize(
    "tables", [{"visits": 3}, {"visits": [1, None]}, {"unit": []}, {"visits": {}, "unit": 1}]
)
def test_tables_of_no_sense_are_left_for_the_checks(tables):
    moved, _ = from_draft(tables)
    assert set(moved) <= {"visit", "unit"}
    with pytest.raises(CaseError):
        parse_case("schema = 0\nunits = 'US'\nvisits = 3\n")
