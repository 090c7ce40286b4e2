"""A visit as rows and latent numbers: what was read, how well, and what is known beforehand."""

from dataclasses import replace

import numpy as np
import pytest

from calibration.case.meters import standard_accuracies
from calibration.clean_fit.parameters import NAMES
from calibration.diagnosis.scene import DAY_TO_DAY_AIRFLOW, OTHER_STAGE_AIRFLOW, scene
from calibration.diagnosis.visit_model import PARAMETERS
from tests.calibration.made_visits import DESCRIPTION
from tests.calibration.matched_visits import METERS, baseline, clean_visit, faults_of, found_visit

BASELINE, CLEAN = baseline(DESCRIPTION), clean_visit(DESCRIPTION)
VISIT = found_visit(faults_of("condenser_blocked", 0.5))


def made(visit, clean=(CLEAN,)):
    return scene(BASELINE, list(clean), visit, METERS)


def airflow_spread(place):
    return float(np.sqrt(place.prior_covariance[PARAMETERS, PARAMETERS]))


def test_rows_are_the_readings_with_their_meters_errors():
    place = made(VISIT)
    accuracies = standard_accuracies(VISIT.readings(), METERS)
    taken = {place.names[row] for row in place.readings}
    assert {"suction_pressure", "liquid_pressure", "outdoor_power", "supply_db"} <= taken
    for name in ("suction_pressure", "liquid_temperature"):
        row = place.names.index(name)
        assert place.values[row] == VISIT.readings()[name]
        assert place.meter[row] == pytest.approx(accuracies[name])
    assert "discharge_pressure" in place.names


def test_a_reading_that_was_not_taken_stays_a_row_that_could_be():
    place = made(replace(VISIT, liquid_pressure=None))
    row = place.names.index("liquid_pressure")
    assert not place.taken[row]
    assert made(VISIT).taken[row]


def test_latent_numbers_start_from_the_clean_fit():
    place = made(VISIT)
    assert place.prior_mean[: len(NAMES)] == pytest.approx(BASELINE.values)
    assert np.all(place.prior_mean[len(NAMES) :] == 0.0)
    assert np.all(np.linalg.eigvalsh(place.prior_covariance) > -1e-12)


def test_the_airflow_is_known_better_where_a_clean_visit_measured_it():
    known = airflow_spread(made(VISIT))
    assert known == pytest.approx(DAY_TO_DAY_AIRFLOW)
    assert airflow_spread(made(VISIT, clean=())) > 2.0 * known
    other = replace(VISIT, compressor_speed=0.7)
    assert airflow_spread(made(other)) == pytest.approx(OTHER_STAGE_AIRFLOW)


def test_a_visit_of_weather_alone_is_refused():
    weather = {"outdoor_db", "return_db", "return_wb", "indoor_airflow", "indoor_power"}
    bare = replace(VISIT, **{name: None for name in VISIT.readings() if name not in weather})
    with pytest.raises(ValueError, match="visit found: has no pressure, pipe temperature, supply air"):
        made(bare)
