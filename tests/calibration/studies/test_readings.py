"""Gross errors put into the published tests (Kim and others 2006, NISTIR 7350, Appendix D) are found."""

from dataclasses import replace

import pytest

from calibration.case.units import PSI
from calibration.studies import readings
from calibration.studies.laboratory import laboratory_rows, laboratory_visit
from calibration.studies.readings import (
    ERRORS,
    FALSE_WANTED,
    FIRST_WANTED,
    INNOCENT_WANTED,
    GrossError,
    readings_study,
    share_placed,
    with_wet_bulbs,
)
from tests.method_pages import printed_rows


@pytest.fixture(scope="module")
def study():
    return readings_study()


def test_the_wrong_reading_comes_first_and_no_innocent_one_beside_it(study):
    assert len(study.trials) == 9 * len(ERRORS)
    assert study.first >= FIRST_WANTED
    assert study.innocent <= INNOCENT_WANTED
    assert study.met


def test_the_method_page_has_these_shares(study):
    rows = printed_rows("calibration/README.md", "study readings")
    shares = (study.first, study.innocent, study.false_alarms)
    required = (FIRST_WANTED, INNOCENT_WANTED, FALSE_WANTED)
    printed = [[f"{share:.0%}", f"{limit:.0%}"] for share, limit in zip(shares, required, strict=True)]
    assert [[cell.replace(" ", "") for cell in cells] for cells in rows.values()] == printed


def test_untouched_tests_have_no_suspect(study):
    assert len(study.untouched) == 9
    assert study.false_alarms <= FALSE_WANTED


def test_no_kind_of_error_is_overlooked(study):
    for error in ERRORS:
        assert share_placed(study.of(error), 2) >= 0.75, error.words


def test_a_real_fault_may_be_there_too(monkeypatch):
    # Test 5, a neighbour to fit it to and one more, three errors, any fault allowed beside them.
    rows = laboratory_rows()
    some = [rows[place] for place in (0, 3, 4)]
    monkeypatch.setattr(readings, "laboratory_rows", lambda path: some)
    monkeypatch.setattr(readings, "ERRORS", (ERRORS[1], ERRORS[4], ERRORS[9]))
    study = readings_study(as_found=True)
    assert study.first == 1.0
    assert study.false_alarms == 0.0


def test_an_error_is_put_into_one_reading_alone():
    visit = with_wet_bulbs(laboratory_visit(laboratory_rows()[0]))
    changed = GrossError("liquid_pressure", "", shift=15 * PSI).put_into(visit)
    assert changed.liquid_pressure == pytest.approx(visit.liquid_pressure + 15 * PSI)
    assert replace(changed, liquid_pressure=visit.liquid_pressure) == visit


def test_wet_bulbs_say_what_the_dew_points_said():
    import psychrolib

    psychrolib.SetUnitSystem(psychrolib.SI)
    visit = laboratory_visit(laboratory_rows()[1])
    bulbs = with_wet_bulbs(visit)
    assert bulbs.return_dewpoint is None
    # PsychroLib's own formulas (ASHRAE Handbook Fundamentals 2017, ch. 1); it solves to 0.001 K.
    expected = psychrolib.GetTWetBulbFromTDewPoint(
        visit.return_db - 273.15, visit.return_dewpoint - 273.15, visit.ambient_pressure
    )
    assert bulbs.return_wb - 273.15 == pytest.approx(expected, abs=0.05)
