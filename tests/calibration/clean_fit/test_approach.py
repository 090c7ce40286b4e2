"""Approach expected of one unit at its load, beside rules of thumb (common practice, no source)."""

from dataclasses import replace
from itertools import pairwise

import pytest

from calibration.case.meters import Instruments
from calibration.case.records import Case
from calibration.case.units import BTU_PER_HOUR, DEGREE_F
from calibration.clean_fit.approach import RULES_OF_THUMB, approach_expected, rule_of
from calibration.clean_fit.baseline import fit_baseline
from model.cycle.faults import Faults
from tests.calibration.made_visits import DESCRIPTION, true_unit, visit_of

UNIT = true_unit()
CLEAN = visit_of(UNIT, "clean")
CASE = Case("US", DESCRIPTION, (CLEAN,), Instruments())
BASELINE = fit_baseline(DESCRIPTION, [CLEAN])


def test_rules_cover_every_rating_without_a_gap():
    for lower, upper in pairwise(RULES_OF_THUMB):
        assert lower.highest == upper.lowest
        assert lower.approach > upper.approach


@pytest.mark.parametrize(
    ("seasonal", "degrees"), [(9.0, 30.0), (13.0, 22.5), (15.5, 20.0), (20.0, 15.0), (50.0, 15.0)]
)
def test_the_class_of_a_unit(seasonal, degrees):
    rule = rule_of(0.87 * seasonal * BTU_PER_HOUR)
    assert rule is not None
    assert rule.approach == pytest.approx(degrees * DEGREE_F)


def test_no_rated_efficiency_has_no_class():
    assert rule_of(None) is None
    case = replace(CASE, unit=replace(DESCRIPTION, rated_eer=None))
    found = approach_expected(case, CLEAN, BASELINE)
    assert found.own_rule is None
    assert sum(step.adds for step in found.steps) == pytest.approx(
        found.expected.value - found.at_rating, abs=0.05
    )


@pytest.mark.parametrize("outdoor", [295.15, 303.15, 313.15])
def test_a_clean_visit_has_the_expected_approach(outdoor):
    visit = visit_of(UNIT, "second", outdoor=outdoor)
    found = approach_expected(CASE, visit, BASELINE)
    assert found.over_expected is not None
    assert abs(found.over_expected.value) < 1.645 * found.over_expected.standard_error


def test_steps_lead_from_the_rule_to_the_expectation():
    visit = visit_of(UNIT, "second", outdoor=296.15, returned=299.15, wet_bulb=293.15)
    found = approach_expected(CASE, visit, BASELINE)
    assert found.own_rule is not None
    assert len(found.steps) >= 3
    # The steps keep the unit's own blower watts: 0.05 K.
    total = found.own_rule.approach + sum(step.adds for step in found.steps)
    assert total == pytest.approx(found.expected.value, abs=0.05)


def test_more_load_has_a_larger_approach():
    dry, humid = (
        approach_expected(CASE, visit_of(UNIT, "second", wet_bulb=bulb), BASELINE)
        for bulb in (286.15, 293.15)
    )
    assert dry.heat_rejected < humid.heat_rejected
    assert dry.expected.value < humid.expected.value


def test_a_blocked_face_is_over_the_expected_approach():
    fouled = visit_of(UNIT, "found", faults=Faults(condenser_blocked=0.6), coil="as found")
    found = approach_expected(CASE, fouled, BASELINE)
    assert found.over_expected is not None
    assert found.over_expected.value > 1.645 * found.over_expected.standard_error


def test_without_a_liquid_pressure_only_the_expectation_is_there():
    found = approach_expected(CASE, replace(CLEAN, liquid_pressure=None), BASELINE)
    assert found.measured is None
    assert found.over_expected is None
    assert found.expected.value > 0
