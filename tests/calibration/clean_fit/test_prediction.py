"""Predictions with intervals: one source for points and changes, honest shapes, limits."""

import numpy as np
import pytest

from calibration.clean_fit.baseline import fit_baseline
from calibration.clean_fit.prediction import CHANGED, FIGURE_SPREAD, predicted, predicted_beside_clean
from model.cycle.boundary import Conditions
from model.cycle.faults import HEALTHY, Faults
from model.cycle.solve import solve
from model.maintenance.growth import NORMAL_95
from tests.calibration.made_visits import DESCRIPTION, true_unit, visit_of

WEATHER = Conditions(308.15, 299.82, 0.0112)


@pytest.fixture(scope="module")
def baseline():
    return fit_baseline(DESCRIPTION, [visit_of(true_unit())])


def test_the_point_is_the_most_likely_units(baseline):
    point = predicted(baseline, WEATHER).point
    alone = solve(baseline.unit, WEATHER)
    for name in FIGURE_SPREAD:
        assert float(getattr(point, name)) == pytest.approx(float(getattr(alone, name)), rel=1e-7)


def test_shapes_broadcast_and_equal_the_single_points(baseline):
    outdoor = np.array([300.0, 308.15, 315.0])
    many = predicted(baseline, Conditions(outdoor, 299.82, 0.0112))
    assert many.point.net_capacity.shape == (3,)
    one = predicted(baseline, Conditions(315.0, 299.82, 0.0112))
    assert many.estimate("eer", 2).value == pytest.approx(one.estimate("eer").value, rel=1e-7)
    assert many.estimate("eer", 2).standard_error == pytest.approx(
        one.estimate("eer").standard_error, rel=1e-3
    )


def test_no_fault_changes_nothing(baseline):
    change = predicted_beside_clean(baseline, WEATHER, HEALTHY).change
    for name in CHANGED:
        assert change.estimate(name).value == 0.0
        assert change.estimate(name).standard_error == 0.0


def test_a_blocked_face_costs_capacity_and_watts_surely(baseline):
    change = predicted_beside_clean(baseline, WEATHER, Faults(condenser_blocked=0.5)).change
    assert change.estimate("eer").ends[1] < 0 < change.estimate("total_power").ends[0]


def test_changes_of_several_levels_at_once(baseline):
    shares = np.array([0.0, 0.25, 0.5])
    change = predicted_beside_clean(baseline, WEATHER, Faults(condenser_blocked=shares)).change
    assert change.fractions["eer"].shape == (3,)
    assert np.all(np.diff(change.fractions["eer"]) < 0)
    assert np.all(np.diff(change.standard_errors["eer"]) > 0)


def test_both_units_solved_together_are_those_solved_apart(baseline):
    shares, outdoor = np.array([[0.0], [0.3], [0.6]]), np.array([300.0, 312.0])
    places, faults = Conditions(outdoor, 299.82, 0.0112), Faults(condenser_blocked=shares)
    both = predicted_beside_clean(baseline, places, faults)
    apart = {"clean": predicted(baseline, places), "changed": predicted(baseline, places, faults)}
    for name, alone in apart.items():
        together = getattr(both, name)
        assert together.point.eer.shape == (3, 2)
        for figure in FIGURE_SPREAD:
            assert np.asarray(getattr(together.point, figure)) == pytest.approx(
                np.broadcast_to(getattr(alone.point, figure), (3, 2)), rel=1e-6, abs=1e-4
            )
            assert together.standard_errors[figure] == pytest.approx(
                np.broadcast_to(alone.standard_errors[figure], (3, 2)), rel=1e-3
            )
    assert both.change.fractions["eer"][0] == pytest.approx(0.0, abs=1e-8)


def test_a_change_is_better_known_than_the_figure_itself(baseline):
    """What the fit leaves open mostly cancels in a change at the same weather."""
    point = predicted(baseline, WEATHER, Faults(condenser_blocked=0.5))
    relative = point.estimate("eer").standard_error / point.estimate("eer").value
    change = predicted_beside_clean(baseline, WEATHER, Faults(condenser_blocked=0.5)).change
    assert change.estimate("eer").standard_error < relative


def test_linear_interval_agrees_with_drawn_units(baseline):
    """The 90 % range of 2000 units drawn from the posterior is within a fifth of the linear one."""
    from calibration.clean_fit.parameters import adjusted

    draws = np.random.default_rng(5).multivariate_normal(baseline.values, baseline.covariance, 2000).T
    units = solve(adjusted(baseline.generic, draws), WEATHER)
    for name in ("net_capacity", "total_power", "condensing_temperature"):
        share, fixed = FIGURE_SPREAD[name]
        estimate = predicted(baseline, WEATHER).estimate(name)
        own = np.hypot(share * abs(estimate.value), fixed)
        carried = np.sqrt(estimate.standard_error**2 - own**2)
        low, high = np.percentile(getattr(units, name), [5.0, 95.0])
        assert 0.5 * (high - low) / NORMAL_95 == pytest.approx(carried, rel=0.2)
