"""The fitted unit in the weather of a visit: the prediction that readings are held against."""

import numpy as np
import pytest

from calibration.clean_fit.observation import conditions, observation
from calibration.clean_fit.prediction import FIGURE_SPREAD, predicted
from calibration.diagnosis.comparison import predicted_at_visit
from calibration.diagnosis.scene import scene
from calibration.diagnosis.visit_model import shown_rows
from model.cycle.faults import HEALTHY, Faults
from tests.calibration.made_visits import DESCRIPTION
from tests.calibration.matched_visits import METERS, baseline, clean_visit, found_visit

DIRT = Faults(condenser_blocked=0.4)
VISIT = found_visit(DIRT)
PLACE = scene(baseline(DESCRIPTION), [clean_visit(DESCRIPTION)], VISIT, METERS)


def given_weather():
    """What `predicted` takes as given: the weather as read, and the unit's own airflow."""
    seen = observation(VISIT, METERS)
    settings = {name: value for name, value in seen.settings.items() if "airflow" not in name}
    weather = conditions(settings, seen.ambient_pressure)
    return type(weather)(**(vars(weather) | {"indoor_airflow": PLACE.own_airflow}))


@pytest.mark.parametrize("faults", [HEALTHY, DIRT], ids=["clean", "fouled"])
def test_point_is_that_of_the_fitted_unit_in_the_weather_as_read(faults):
    here, there = predicted_at_visit(PLACE, faults), predicted(baseline(DESCRIPTION), given_weather(), faults)
    for name in FIGURE_SPREAD:
        np.testing.assert_allclose(getattr(here.point, name), getattr(there.point, name), rtol=1e-6)


def test_what_is_not_known_of_the_day_widens_every_interval():
    here, there = predicted_at_visit(PLACE), predicted(baseline(DESCRIPTION), given_weather())
    for name in FIGURE_SPREAD:
        assert here.standard_errors[name] >= there.standard_errors[name] * (1 - 1e-6), name
    capacity = here.estimate("net_capacity")
    assert (
        1.02 * float(there.standard_errors["net_capacity"]) < capacity.standard_error < 0.1 * capacity.value
    )


def test_rows_show_the_same_point():
    shown = dict(zip(PLACE.names, shown_rows(PLACE, DIRT)[:, 0], strict=True))
    point = predicted_at_visit(PLACE, DIRT).point
    assert shown["liquid_pressure"] == pytest.approx(float(point.liquid_pressure), rel=1e-9)
    assert shown["outdoor_power"] == pytest.approx(float(point.outdoor_power), rel=1e-9)
    assert shown["supply_db"] == pytest.approx(float(point.supply_temperature), rel=1e-9)
