"""Daily visits: expected readings are those of the diagnosis, whatever is missing has its prior."""

import numpy as np
import pytest

from calibration.diagnosis.scene import scene
from calibration.diagnosis.visit_model import solved
from calibration.track.days import LEVELS, daily_visits
from calibration.track.stretches import Stretches
from model.cycle.faults import Faults
from tests.made_tracks import demo, made_stretches

GAUGES = ("suction_pressure", "liquid_pressure")


def test_expected_readings_are_those_that_the_diagnosis_expects():
    case, baseline = demo()
    found = made_stretches(np.full(6, 0.2))
    (days,) = daily_visits(case, baseline, found)
    place = days.stage.place
    visit = place.visit
    again = scene(baseline, case.clean_visits, visit, case.instruments)
    response = solved(again, Faults(condenser_blocked=LEVELS))
    back = np.array([found.values["outdoor_db"], found.values["return_db"]]).mean(axis=1)
    usual = np.array([visit.outdoor_db, visit.return_db])
    slopes = response.slopes[:, :, 21:23][:, again.readings]
    there = response.expected[:, again.readings] + slopes @ (back - usual)
    # at 80 % the unit trips in some of that weather
    np.testing.assert_allclose(days.expected.mean(axis=0)[:-1], there[:-1], rtol=4e-3)


def test_readings_at_a_known_level_are_those_expected_there():
    case, baseline = demo()
    (days,) = daily_visits(case, baseline, made_stretches(np.full(20, LEVELS[2])))
    row = days.names.index("liquid_pressure")
    off = days.values[:, row] - days.expected[:, 2, row]
    assert abs(off.mean()) < 0.004 * days.values[:, row].mean()
    assert days.stage.unread == ()


def test_return_air_that_is_not_logged_has_its_prior():
    case, baseline = demo()
    (days,) = daily_visits(case, baseline, made_stretches(np.full(6, 0.2), names=GAUGES))
    assert days.names == GAUGES
    assert days.stage.unread == ("return_db", "return_rh")
    assert days.stage.place.settings["return_db"] == pytest.approx(case.season.indoor_setpoint)


def test_speeds_of_the_compressor_are_kept_apart():
    case, baseline = demo()
    found = made_stretches(np.full(8, 0.1))
    speed = np.where(np.arange(24) % 3 == 0, 0.7, 1.0)
    found.values["compressor_speed"] = speed
    found.scatter["compressor_speed"] = np.zeros(24)
    stages = daily_visits(case, baseline, found)
    assert [stage.stage.speed for stage in stages] == [1.0, pytest.approx(0.7)]
    assert stages[0].stretches.sum() == 16
    low, high = (stage.expected[:, 0, stage.names.index("outdoor_power")].mean() for stage in stages[::-1])
    assert low < 0.8 * high


def test_a_log_without_outdoor_temperature_or_readings_is_refused():
    case, baseline = demo()
    found = made_stretches(np.full(6, 0.1))
    bare = {"outdoor_db": found.values["outdoor_db"]}
    with pytest.raises(ValueError, match="no pressure, pipe temperature"):
        daily_visits(case, baseline, Stretches(found.begin, found.end, bare, found.scatter, 0, 0, ()))
    del found.values["outdoor_db"]
    with pytest.raises(ValueError, match="outdoor_db is not logged"):
        daily_visits(case, baseline, found)
