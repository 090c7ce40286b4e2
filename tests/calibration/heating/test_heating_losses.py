"""What a fouled outdoor coil costs in heating: directions, ranges, weather of the standard's tests."""

from __future__ import annotations

import numpy as np
import pytest

from calibration.heating.heating_losses import TEST_OUTDOOR, heating_losses
from calibration.heating.heating_readings import usual_humidity
from model.properties import moist_air
from tests.calibration.heating.test_heating_fit import CASE, fitted

OUTDOOR = np.array(TEST_OUTDOOR)


@pytest.fixture(scope="module")
def losses():
    pressure = CASE.unit.ambient_pressure
    return heating_losses(
        fitted(), OUTDOOR, usual_humidity(OUTDOOR, pressure), np.array([0.0, 0.3, 0.6]), pressure
    )


def test_humidity_is_that_of_the_tests():
    """43, 33 and 15 degF wet bulb (AHRI 210/240)."""
    wet = moist_air.wet_bulb(OUTDOOR, usual_humidity(OUTDOOR, 101325.0), 101325.0)
    np.testing.assert_allclose(wet, [279.261, 273.706, 263.706], atol=0.02)


def test_a_clean_coil_loses_nothing_and_a_fouled_one_more_and_more(losses):
    for clean, some, much in losses:
        assert clean.cop_change.value == 0.0
        assert clean.cop_change.ends == (0.0, 0.0)
        assert 0.0 > some.cop_change.value > much.cop_change.value
        assert 0.0 > some.capacity_change.value > much.capacity_change.value


def test_ranges_hold_their_values_and_widen_with_frost(losses):
    for shares in losses:
        for one in shares:
            for value in (one.capacity, one.power, one.cop, one.frost_loss, one.cop_change):
                assert value.low <= value.value <= value.high
    dry, frosting = losses[2][1].cop_change, losses[1][1].cop_change
    assert frosting.high - frosting.low > dry.high - dry.low


def test_frost_is_named_where_it_costs(losses):
    assert losses[1][0].frost_loss.value == pytest.approx(0.10, abs=0.015)
    assert losses[1][0].capacity.value < losses[1][0].steady_capacity
    assert losses[2][0].frost_loss.value == 0.0
    assert losses[1][0].state == "frost forms"
