"""A nameplate and readings that cannot both be true are refused in a sentence, before any work."""

import pytest

from calibration.case.errors import CaseError
from calibration.case.file import parse_case
from tests.calibration.sample_case import SAMPLE, changed


def problems_of(*changes):
    with pytest.raises(CaseError) as caught:
        parse_case(changed(("discharge_pressure", "discharge_pressure"), *changes))
    return [str(problem) for problem in caught.value.problems]


def test_a_capacity_ten_times_too_high_is_named_beside_a_reading():
    assert problems_of(("rated_capacity = 36000.0", "rated_capacity = 360000.0")) == [
        "[unit] rated_capacity: is 360000 Btu/h; indoor_airflow of visit 1 is 1180 cfm, 0.098 times what it "
        "means: another capacity or reading is expected"
    ]


def test_a_capacity_ten_times_too_low_is_named_too():
    (problem,) = problems_of(("rated_capacity = 36000.0", "rated_capacity = 3600.0"))
    assert problem.startswith(
        "[unit] rated_capacity: is 3600 Btu/h; indoor_airflow of visit 1 is 1180 cfm, 9.8"
    )


def test_one_reading_ten_times_off_is_named_and_not_the_nameplate():
    assert problems_of(("outdoor_power = 2620.0", "outdoor_power = 26200.0")) == [
        "visit 1 (clean), outdoor_power: is 26200 W, 8.7 times what the nameplate means; 1/4 to 4 times is "
        "expected"
    ]


def test_a_low_pressure_cut_out_above_the_suction_pressure():
    problems = problems_of(("low_pressure_limit = 50.0", "low_pressure_limit = 150.0"))
    assert problems == [
        f"visit {visit}, suction_pressure: is {psi} psi; more than low_pressure_limit, 150 psi, is expected "
        "of a running unit"
        for visit, psi in (("1 (clean)", "130.5"), ("2 (after two summers)", "133"))
    ]


def test_a_high_pressure_cut_out_below_the_discharge_pressure():
    problems = problems_of(("high_pressure_limit = 610.0", "high_pressure_limit = 320.0"))
    assert [problem.split(":")[0] for problem in problems] == [
        "visit 1 (clean), liquid_pressure",
        "visit 1 (clean), discharge_pressure",
        "visit 2 (after two summers), liquid_pressure",
    ]


@pytest.mark.parametrize("limit", ["132.0", "135.0"])
def test_a_gauge_may_err_beyond_a_cut_out(limit):
    """Three standard errors of a gauge good for 3.5 psi are 6 psi."""
    parse_case(changed(("low_pressure_limit = 50.0", f"low_pressure_limit = {limit}")))


@pytest.mark.parametrize("capacity", ["12000.0", "36000.0", "100000.0"])
def test_a_capacity_within_the_factor_is_left_to_the_fit(capacity):
    assert parse_case(SAMPLE.replace("rated_capacity = 36000.0", f"rated_capacity = {capacity}"))
