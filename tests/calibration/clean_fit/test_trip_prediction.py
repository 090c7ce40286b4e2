"""Where a fitted unit trips: the most likely unit's place, intervals that the parameters deserve, words."""

from dataclasses import replace

import numpy as np
import pytest

from calibration.clean_fit.baseline import fit_baseline
from calibration.clean_fit.parameters import adjusted
from calibration.clean_fit.prediction import CHANGE_SPREAD, FIGURE_SPREAD
from calibration.clean_fit.sensitivities import PARAMETER_STEPS
from calibration.clean_fit.trip_prediction import predicted_trip_level, predicted_trip_temperature
from model.cycle.boundary import Conditions
from model.cycle.faults import HEALTHY, Faults
from model.cycle.high_pressure_trip import trip_level, trip_outdoor_temperature
from model.cycle.sizing import default_high_pressure_limit, high_pressure_spread
from model.properties.refrigerant import refrigerant
from tests.calibration.made_visits import DESCRIPTION, true_unit, visit_of

DAY = Conditions(318.0, 299.82, 0.0112)
BLOCKED = np.array([0.0, 0.4, 0.7])


@pytest.fixture(scope="module")
def baseline():
    return fit_baseline(DESCRIPTION, [visit_of(true_unit())])


def test_the_place_is_the_most_likely_units(baseline):
    found = predicted_trip_temperature(baseline, DAY, Faults(condenser_blocked=BLOCKED))
    alone = trip_outdoor_temperature(baseline.unit, DAY, Faults(condenser_blocked=BLOCKED))
    np.testing.assert_allclose(found.value, alone.value, atol=1e-3)
    one = predicted_trip_temperature(baseline, DAY, Faults(condenser_blocked=0.4))
    assert one.estimate().value == pytest.approx(found.estimate(1).value, abs=1e-3)
    assert one.estimate().standard_error == pytest.approx(found.estimate(1).standard_error, rel=1e-2)
    share = predicted_trip_level(baseline, DAY)
    assert share.estimate().value == pytest.approx(float(trip_level(baseline.unit, DAY).value), abs=1e-4)


def setting_spread(unit) -> float:
    """What a setting that nobody named means in condensing temperature [K]."""
    limit = default_high_pressure_limit(refrigerant(unit.refrigerant))
    ends = limit * np.array([1.0, 1.0 - high_pressure_spread(unit)])
    return float(-np.diff(refrigerant(unit.refrigerant).bubble_temperature(ends))[0])


def test_the_error_is_what_each_parameter_moves_and_the_models_own(baseline):
    faults = Faults(condenser_blocked=0.5)
    found = predicted_trip_temperature(baseline, DAY, faults)
    clean = predicted_trip_temperature(baseline, DAY, HEALTHY).value
    moved = []
    for number, step in enumerate(PARAMETER_STEPS):
        places = []
        for way in (-5.0, 5.0):  # a step that the search for the root resolves
            values = baseline.values.copy()
            values[number] += way * step
            places.append(trip_outdoor_temperature(adjusted(baseline.generic, values), DAY, faults).value)
        moved.append(float(places[1] - places[0]) / (10.0 * step))
    slopes = np.array(moved)
    carried = slopes @ baseline.covariance @ slopes
    own = FIGURE_SPREAD["condensing_temperature"][1] ** 2 + (CHANGE_SPREAD * (clean - found.value)) ** 2
    own += setting_spread(baseline.unit) ** 2
    assert found.estimate().standard_error == pytest.approx(float(np.sqrt(carried + own)), rel=0.03)


def test_less_certain_units_have_wider_intervals(baseline):
    loose = replace(baseline, covariance=9.0 * baseline.covariance)
    for ask in (
        lambda unit: predicted_trip_temperature(unit, DAY, Faults(condenser_blocked=0.5)),
        lambda unit: predicted_trip_level(unit, DAY),
    ):
        assert ask(loose).estimate().standard_error > 1.2 * ask(baseline).estimate().standard_error


def test_the_share_and_the_temperature_agree_in_their_intervals(baseline):
    share = predicted_trip_level(baseline, DAY).estimate()
    step = 0.01
    here, more = (
        predicted_trip_temperature(baseline, DAY, Faults(condenser_blocked=share.value + aside))
        for aside in (0.0, step)
    )
    slope = float(here.value - more.value) / step
    assert here.estimate().standard_error / slope == pytest.approx(share.standard_error, rel=0.25)


def test_arrays_of_days(baseline):
    days = replace(DAY, outdoor_temperature=np.array([290.0, 310.0, 318.0]))
    shares = predicted_trip_level(baseline, days)
    assert [shares.ending_name(place) for place in range(3)] == ["never trips", "trips", "trips"]
    assert shares.standard_error[0] == 0.0
    assert shares.estimate(2).value == pytest.approx(predicted_trip_level(baseline, DAY).value, abs=1e-4)


def test_a_setting_that_nobody_named_widens_the_range_by_its_own_spread(baseline):
    limit = default_high_pressure_limit(refrigerant(baseline.unit.refrigerant))
    units = [replace(baseline.unit, high_pressure_limit=limit * factor) for factor in (1.0, 1.0001)]
    unnamed, named = (
        predicted_trip_temperature(replace(baseline, unit=unit), DAY, HEALTHY).estimate() for unit in units
    )
    added = unnamed.standard_error**2 - named.standard_error**2
    assert added == pytest.approx(setting_spread(units[0]) ** 2, rel=0.1)
