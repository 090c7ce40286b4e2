"""The table of saturated air against the formula that it is made from."""

from __future__ import annotations

import numpy as np
import pytest

from model.properties.moist_air import TRIPLE_POINT, saturation_enthalpy_and_slope
from model.properties.saturated_air import saturated_enthalpy_and_slope


@pytest.mark.parametrize("pressure", [101_325.0, 69_680.0])
def test_table_is_the_formula(pressure):
    """ASHRAE Handbook Fundamentals 2017, ch. 1, as in `moist_air`; -60 to 60 degC, off the nodes."""
    temperature = np.linspace(213.2, 333.1, 9973)
    value, slope = saturated_enthalpy_and_slope(temperature, np.array(pressure))
    expected, expected_slope = saturation_enthalpy_and_slope(temperature, pressure)
    np.testing.assert_allclose(value, expected, rtol=0, atol=1e-4)
    np.testing.assert_allclose(slope, expected_slope, rtol=1e-7)


def test_ice_turns_to_water_between_two_cells():
    below, above = np.array(TRIPLE_POINT - 1e-6), np.array(TRIPLE_POINT + 1e-6)
    for temperature in (below, above):
        value, slope = saturated_enthalpy_and_slope(temperature, np.array(101_325.0))
        expected, expected_slope = saturation_enthalpy_and_slope(temperature, 101_325.0)
        assert value == pytest.approx(float(expected), abs=1e-3)
        assert slope == pytest.approx(float(expected_slope), rel=1e-5)


def test_a_little_beyond_the_table_its_last_cells_go_on():
    for temperature in (np.array(212.0), np.array(334.5)):
        value, slope = saturated_enthalpy_and_slope(temperature, np.array(101_325.0))
        expected, expected_slope = saturation_enthalpy_and_slope(temperature, 101_325.0)
        assert value == pytest.approx(float(expected), rel=1e-4)
        assert slope == pytest.approx(float(expected_slope), rel=1e-2)


def test_arrays_equal_scalars_and_shapes_broadcast():
    temperature, pressure = np.array([[270.0], [285.0], [300.0]]), np.array([101_325.0, 80_000.0])
    together = saturated_enthalpy_and_slope(temperature, pressure)
    assert together[0].shape == together[1].shape == (3, 2)
    for i in range(3):
        for j in range(2):
            alone = saturated_enthalpy_and_slope(temperature[i, 0], pressure[j])
            assert alone[0] == together[0][i, j]
            assert alone[1] == together[1][i, j]
