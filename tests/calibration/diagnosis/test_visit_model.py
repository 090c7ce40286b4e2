"""A visit as rows and latent numbers: what each row holds, and that slopes are those of the model."""

from dataclasses import replace

import numpy as np
import pytest

from calibration.clean_fit.baseline import fit_baseline
from calibration.clean_fit.observation import conditions
from calibration.clean_fit.parameters import NAMES
from calibration.diagnosis.scene import DAY_TO_DAY_AIRFLOW, OTHER_STAGE_AIRFLOW, UNMEASURED_AIRFLOW, scene
from calibration.diagnosis.visit_model import (
    PARAMETERS,
    Again,
    Asked,
    at_latent,
    solved,
    solved_again,
    solved_together,
)
from model.cycle.faults import HEALTHY, Faults
from model.cycle.solve import solve
from model.properties.refrigerant import refrigerant
from tests.calibration.made_visits import DESCRIPTION
from tests.calibration.matched_visits import METERS, baseline, clean_visit, found_visit


def scene_of(visit, clean=True):
    fit = baseline(DESCRIPTION) if clean else fit_baseline(DESCRIPTION, [], METERS)
    return scene(fit, [clean_visit(DESCRIPTION)] if clean else [], visit, METERS)


def day_airflow(place):
    return np.sqrt(place.prior_covariance[PARAMETERS, PARAMETERS])


def test_readings_stand_before_settings():
    place = scene_of(found_visit(HEALTHY))
    names = [place.names[row] for row in place.readings]
    assert names[0] == "suction_pressure"
    assert "indoor_airflow" in names
    assert "standing_pressure" not in names
    assert place.setting_names == ("outdoor_db", "return_db", "return_wb", "indoor_power")
    assert set(place.setting_names) & set(names) == {"indoor_power"}, "the fan law says what it is"
    assert place.names[-place.setting_rows :] == ("outdoor_db", "return_db", "return_wb")


def test_the_airflow_is_a_reading_against_the_clean_visits_own():
    clean = clean_visit(DESCRIPTION)
    place = scene_of(replace(found_visit(HEALTHY), indoor_airflow=0.7 * clean.indoor_airflow))
    # The unit's own is kept as dry-air mass; both visits are a few kelvins apart.
    assert place.values[place.airflow_row] == pytest.approx(np.log(0.7), abs=0.02)
    low = solved(place, Faults(evaporator_airflow_lost=0.3))
    assert low.expected[place.airflow_row] == pytest.approx(np.log(0.7), abs=1e-9)
    assert day_airflow(place) == pytest.approx(DAY_TO_DAY_AIRFLOW)


def test_an_unmeasured_or_staged_airflow_is_known_less_well():
    assert day_airflow(scene_of(found_visit(HEALTHY), clean=False)) == pytest.approx(
        np.hypot(DAY_TO_DAY_AIRFLOW, UNMEASURED_AIRFLOW)
    )
    staged = scene_of(replace(found_visit(HEALTHY), compressor_speed=0.7))
    assert day_airflow(staged) == pytest.approx(OTHER_STAGE_AIRFLOW)


def test_the_pressure_with_the_unit_off_is_saturation_and_gas():
    visit = replace(found_visit(HEALTHY), standing_pressure=1.7e6, standing_temperature=299.15)
    place = scene_of(visit)
    assert place.taken[place.standing_row]
    still = float(refrigerant("R410A").bubble_pressure(299.15))
    assert solved(place, HEALTHY).expected[place.standing_row] == pytest.approx(still)
    gas = solved(place, Faults(noncondensable=1e5)).expected[place.standing_row]
    assert gas - still == pytest.approx(1e5 * 299.15 / 313.15)
    unread = scene_of(replace(visit, standing_temperature=None))
    assert not unread.taken[unread.standing_row]


def test_a_blower_draws_less_by_the_air_that_a_fault_takes():
    """A fixed-speed one half of its share, one of constant airflow by flow and pressure, like the cycle."""
    for kind in ("fixed speed", "constant airflow"):
        unit = replace(DESCRIPTION, indoor_blower=kind)
        place = scene(fit_baseline(unit, [], METERS), [], found_visit(HEALTHY), METERS)
        row = place.names.index("indoor_power")
        weather = replace(
            conditions(place.settings, place.visit.ambient_pressure),
            indoor_power=None,
            indoor_airflow=place.own_airflow,
        )
        lost = Faults(evaporator_airflow_lost=0.3)
        ends = [solve(place.baseline.unit, weather, one).blower_power for one in (HEALTHY, lost)]
        shown = [solved(place, one).expected[row] for one in (HEALTHY, lost)]
        assert shown[1] < 0.9 * shown[0]
        assert shown[1] / shown[0] == pytest.approx(float(ends[1] / ends[0]), rel=0.03)


def test_slopes_are_those_of_the_cycle():
    place = scene_of(found_visit(HEALTHY))
    response = solved(place, HEALTHY)
    number = NAMES.index("condenser_conductance")
    ends = []
    for step in (-0.05, 0.05):
        latent = place.prior_mean.copy()
        latent[number] += step
        ends.append(float(at_latent(place, latent, HEALTHY).liquid_pressure))
    row = place.names.index("liquid_pressure")
    assert response.slopes[row, number] == pytest.approx((ends[1] - ends[0]) / 0.1, rel=0.05)
    for place_in, name in enumerate(place.setting_names[: place.setting_rows]):
        row = place.names.index(name)
        assert response.slopes[row, PARAMETERS + 1 + place_in] == pytest.approx(1.0)


def test_an_array_of_faults_equals_one_by_one():
    place = scene_of(found_visit(HEALTHY))
    shares = np.array([0.0, 0.3, 0.5])
    together = solved(place, Faults(condenser_blocked=shares))
    for number, share in enumerate(shares):
        alone = solved(place, Faults(condenser_blocked=float(share)))
        assert together.expected[number] == pytest.approx(alone.expected, rel=1e-6)
        assert together.slopes[number] == pytest.approx(
            alone.slopes, rel=1e-3, abs=1e-3 * np.abs(alone.slopes).max()
        )


def test_several_visits_at_once_equal_one_by_one():
    visit = found_visit(HEALTHY)
    warmer = replace(visit, outdoor_db=visit.outdoor_db + 3.0, ambient_pressure=95e3, return_db=299.0)
    other = replace(visit, return_wb=None, return_rh=0.5)
    unread = replace(visit, return_wb=None)
    places = [scene_of(one) for one in (visit, warmer, other, unread, visit)]
    levels = [Faults(condenser_blocked=np.array(shares)) for shares in ([0.0, 0.3], [0.5], [0.2], [0.1], [])]
    places[1] = replace(places[1], own_airflow=0.9 * places[1].own_airflow)
    together = solved_together([Asked(*each) for each in zip(places, levels, strict=True)])
    assert [len(one.expected) for one in together] == [2, 1, 1, 1, 0]
    for response, place, faults in zip(together, places, levels, strict=True):
        alone = solved(place, faults)
        assert response.expected == pytest.approx(alone.expected, rel=1e-6)
        largest = np.abs(alone.slopes).max(initial=0.0)
        assert response.slopes == pytest.approx(alone.slopes, rel=1e-3, abs=1e-3 * largest)
        assert response.running.all()
        assert response.unknowns == pytest.approx(alone.unknowns, rel=1e-6)


def test_what_no_longer_runs_stays_as_it_was():
    place = scene_of(found_visit(HEALTHY))
    faults = Faults(condenser_blocked=np.array([0.0, 0.6]))
    before = solved(place, faults)
    around = np.tile(place.prior_mean, (2, 1))
    around[0, NAMES.index("charge")] += 0.01
    around[1, PARAMETERS + 1] += 22.0  # beyond the high-pressure trip
    (again,) = solved_again([Again(place, faults, before, around)])
    assert np.array_equal(again.expected[1], before.expected[1])
    assert np.array_equal(again.slopes[1], before.slopes[1])
    assert again.running.all()
    assert not np.array_equal(again.slopes[0], before.slopes[0])


def test_solved_elsewhere_it_is_still_told_at_the_prior_mean():
    place = scene_of(found_visit(HEALTHY))
    near = place.prior_mean.copy()
    near[NAMES.index("charge")] += 0.01
    here, there = (
        solved(place, Faults(condenser_blocked=np.zeros(1))),
        solved(place, Faults(condenser_blocked=np.zeros(1)), near[:, None]),
    )
    point_rows = slice(0, len(place.point_names))
    assert there.expected[0, point_rows] == pytest.approx(here.expected[0, point_rows], rel=2e-4)


def test_levels_that_trip_are_marked():
    place = scene_of(found_visit(HEALTHY))
    response = solved(place, Faults(condenser_blocked=np.array([0.0, 0.95])))
    assert response.running.tolist() == [True, False]
    assert np.isfinite(response.expected).all()
