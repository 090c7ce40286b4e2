"""A visit as settings and readings with their standard errors, and what meters show at a solved point."""

from dataclasses import replace

import numpy as np
import pytest

from calibration.case.meters import Instruments, standard_accuracies
from calibration.clean_fit.observation import (
    MODEL_SPREAD,
    READINGS_OF_POINT,
    UNREAD_RETURN_HUMIDITY,
    conditions,
    model_spreads,
    observation,
    point_readings,
)
from model.cycle.solve import solve
from tests.calibration.made_visits import true_unit, visit_of

UNIT = true_unit()
VISIT = visit_of(UNIT)
METERS = Instruments()


def test_what_sets_the_point_is_apart_from_what_it_must_show():
    seen = observation(VISIT, METERS)
    assert set(seen.settings) == {"outdoor_db", "return_db", "return_wb", "indoor_airflow", "indoor_power"}
    assert "suction_pressure" in seen.names
    assert not set(seen.settings) & set(seen.names)
    accuracies = standard_accuracies(VISIT.readings(), METERS)
    assert seen.spreads.tolist() == [accuracies[name] for name in seen.names]
    assert seen.assumed == ()


def test_a_humidity_that_nobody_read_is_assumed_and_wide():
    seen = observation(replace(VISIT, return_wb=None), METERS)
    assert seen.assumed == ("return_rh",)
    assert seen.settings["return_rh"] == UNREAD_RETURN_HUMIDITY
    assert seen.setting_spreads["return_rh"] > 0.05


def test_one_humidity_and_one_airflow_are_taken():
    seen = observation(replace(VISIT, return_rh=0.5, indoor_airflow_standard=0.5), METERS)
    assert "return_rh" not in seen.settings
    assert "indoor_airflow" not in seen.settings
    assert seen.settings["indoor_airflow_standard"] == 0.5


def test_the_model_shows_the_readings_that_it_made():
    seen = observation(VISIT, METERS)
    point = solve(UNIT, conditions(seen.settings, seen.ambient_pressure))
    shown = point_readings(point, seen.names, seen.ambient_pressure)
    assert shown == pytest.approx(seen.values, rel=1e-6)


def test_standard_airflow_means_the_same_mass_of_air():
    settings = dict(observation(VISIT, METERS).settings)
    actual = conditions(settings, VISIT.ambient_pressure)
    standard = dict(settings)
    del standard["indoor_airflow"]
    standard["indoor_airflow_standard"] = float(actual.indoor_airflow) / 1.2041
    assert float(conditions(standard, VISIT.ambient_pressure).indoor_airflow) == pytest.approx(
        float(actual.indoor_airflow)
    )


def test_errors_of_the_model_are_shares_or_fixed():
    assert set(MODEL_SPREAD) == set(READINGS_OF_POINT)
    names = ("suction_pressure", "liquid_temperature", "rated_eer")
    spreads = model_spreads(names, np.array([1.0e6, 310.0, 3.5]))
    assert spreads == pytest.approx(
        [MODEL_SPREAD["suction_pressure"][0] * 1e6, MODEL_SPREAD["liquid_temperature"][1], 0]
    )
