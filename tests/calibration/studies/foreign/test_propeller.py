"""Bent fan curves: the clean unit's flow, fan laws, and what dirt does."""

import numpy as np
import pytest

from calibration.studies.foreign.propeller import BentFan, fan_power, flow_ratio

FAN = BentFan(1.0, 200.0, 2.0, 0.8, 0.3, 0.6, 1.7)
NOTHING, FULL = np.array(0.0), np.array(1.0)


def test_the_clean_fan_moves_the_clean_air():
    assert flow_ratio(FAN, NOTHING, NOTHING, FULL) == pytest.approx(1.0, abs=1e-9)
    assert fan_power(FAN, np.array(1.0), FULL) == pytest.approx(200.0)


def test_on_a_square_resistance_flow_follows_speed_and_power_its_cube():
    square = BentFan(1.0, 200.0, 2.0, 0.8, 0.3, 0.6, 2.0)
    speed = np.array([0.5, 0.7, 0.9])
    flow = flow_ratio(square, NOTHING, NOTHING, speed)
    assert flow == pytest.approx(speed, abs=1e-6)
    assert fan_power(square, flow, speed) == pytest.approx(200.0 * speed**3, rel=1e-6)


def test_blocking_and_dust_cost_air_and_a_propeller_draws_more():
    for dirt in ((np.array([0.0, 0.3, 0.6]), NOTHING), (NOTHING, np.array([0.0, 1.0, 4.0]))):
        flow = flow_ratio(FAN, *dirt, FULL)
        assert (np.diff(flow) < -0.03).all()
        assert (np.diff(fan_power(FAN, flow, FULL)) > 0.0).all()
