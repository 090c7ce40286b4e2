"""What readings of a visit in heating may be off by, and what a heat pump would show."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from calibration.case.meters import Instruments
from calibration.heating.heating_readings import (
    MODEL_ERRORS,
    READINGS,
    common_errors,
    expected_readings,
    heating_readings,
    usual_humidity,
)
from model.properties import moist_air
from tests.calibration.heating.test_heating_fit import CASE, fitted

(VISIT,) = CASE.heating_visits
NAMES = ("suction_pressure", "liquid_pressure", "supply_db", "airflow")


def test_readings_come_in_order_with_meter_and_model_error():
    read, errors = heating_readings(VISIT, Instruments())
    assert list(read) == [name for name in READINGS if name in read]
    assert read["suction_pressure"] == VISIT.suction_pressure
    assert errors["suction_pressure"] > MODEL_ERRORS["suction_pressure"] * read["suction_pressure"]
    volume = moist_air.specific_volume(VISIT.return_db, 0.006, VISIT.ambient_pressure)
    assert read["airflow"] == pytest.approx(float(VISIT.indoor_airflow / volume))
    silent = replace(VISIT, **dict.fromkeys(read.keys() - {"airflow"}), indoor_airflow=None)
    assert heating_readings(silent, Instruments()) == ({}, {})


def test_colder_air_is_drawn_at_a_lower_suction_pressure():
    warm, cold = (
        expected_readings(fitted().pump, replace(VISIT, outdoor_db=VISIT.outdoor_db - less), NAMES)
        for less in (0.0, 5.0)
    )
    assert cold[0] < warm[0]
    assert cold[2] < warm[2]
    assert warm.shape == (4,)


def test_what_readings_share_is_a_covariance():
    """Warmer outdoor air raises suction pressure and supply air together; all of it is positive definite."""
    shared = common_errors(fitted().pump, VISIT, NAMES)
    np.testing.assert_allclose(shared, shared.T, rtol=1e-12)
    assert np.all(np.linalg.eigvalsh(shared) > -1e-9 * np.trace(shared))
    assert shared[0, 2] > 0.0
    airflow = np.sqrt(shared[3, 3]) / expected_readings(fitted().pump, VISIT, NAMES)[3]
    assert airflow == pytest.approx(0.12, rel=0.05)


def test_beyond_the_tests_the_nearest_humidity_is_taken():
    cold, warm = usual_humidity(np.array([250.0, 300.0]), 101325.0)
    share = [float(moist_air.relative_humidity(t, w, 101325.0)) for t, w in ((250.0, cold), (300.0, warm))]
    assert 0.5 < share[0] < 0.75
    assert 0.7 < share[1] < 0.75
