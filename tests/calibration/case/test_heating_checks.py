"""A visit in heating: what is refused, where it is kept, and the way back into the file."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from calibration.case.document import case_from_document, document_of
from calibration.case.errors import CaseError

CASES = Path(__file__).resolve().parents[3] / "cases"
DOCUMENT = tomllib.loads((CASES / "heat_pump.toml").read_text(encoding="utf-8"))


def with_visit(unit=None, **changes):
    visits = [dict(one) for one in DOCUMENT["visit"]]
    visits[-1] |= changes
    visits[-1] = {name: value for name, value in visits[-1].items() if value is not None}
    return DOCUMENT | {"visit": visits, "unit": DOCUMENT["unit"] | (unit or {})}


def test_visits_are_kept_by_the_mode_that_the_unit_ran_in():
    case = case_from_document(DOCUMENT)
    assert [one.label for one in case.visits] == ["spring, coil clean", "late summer, as found"]
    assert [one.label for one in case.heating_visits] == ["autumn, heating, as found"]
    assert case.found_visits == case.visits[1:]


def test_a_visit_in_heating_reads_back_as_it_was_typed():
    document = document_of(case_from_document(DOCUMENT))
    typed, back = DOCUMENT["visit"][-1], document["visit"][-1]
    assert back["mode"] == "heating"
    assert {name: back[name] for name in typed} == typed
    assert case_from_document(document).heating_visits == case_from_document(DOCUMENT).heating_visits


def test_return_humidity_is_not_needed_in_heating():
    assert case_from_document(with_visit(outdoor_rh=None)).heating_visits[0].outdoor_rh is None


@pytest.mark.parametrize(
    ("changes", "part"),
    [
        ({"supply_db": 60.0}, "more than return_db, 69.9 degF, is expected in heating"),
        ({"suction_pressure": 190}, "below the outdoor air, 51.0 degF, is expected"),
        ({"liquid_pressure": 150}, "above the return air, 69.9 degF, is expected"),
        ({"outdoor_db": 80.0}, "75.0 degF or less is expected in heating"),
        ({"suction_temperature": 0.0}, "superheat would be"),
        ({"liquid_temperature": 140.0}, "subcooling would be"),
        ({"outdoor_rh": None, "outdoor_wb": 60.0}, "outdoor_db, 51 degF, or less is expected"),
        ({"outdoor_wb": 44.0}, "is given beside outdoor_wb; one of the two is expected"),
        ({"unit": {"heat_pump": False}}, "heat_pump = true under [unit] is expected then"),
    ],
)
def test_what_cannot_be_is_refused(changes, part):
    with pytest.raises(CaseError) as error:
        case_from_document(with_visit(**changes))
    assert part in str(error.value)


def test_what_would_be_refused_in_cooling_is_right_in_heating():
    """A supply 26 K warmer than the return; a coil that evaporates below freezing."""
    assert case_from_document(DOCUMENT).heating_visits[0].supply_db > 300.0
    with pytest.raises(CaseError):
        case_from_document(with_visit(mode="cooling"))
