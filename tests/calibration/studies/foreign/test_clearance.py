"""The compressor with clearance volume and its ten coefficients."""

from dataclasses import replace

import numpy as np
import pytest

from calibration.studies.foreign.clearance import Clearance, drawn_in
from model.properties.refrigerant import refrigerant

FLUID = refrigerant("R32")
PART = Clearance(0.003, 0.03, 0.9, 0.7, 2.7, 0.2, 50.0, 8.0)
LOW, HIGH = FLUID.dew_pressure(np.array([281.15])), FLUID.dew_pressure(np.array([318.15]))
GAS = FLUID.vapour(LOW, np.array([10.0]))
RISE = FLUID.isentropic_enthalpy(HIGH, GAS.entropy) - GAS.enthalpy


def test_gas_left_in_the_clearance_takes_its_room():
    none = replace(PART, clearance=0.0)
    full, _ = drawn_in(FLUID, none, (LOW, HIGH), GAS.density, RISE)
    assert full == pytest.approx(0.003 * GAS.density)
    less, _ = drawn_in(FLUID, PART, (LOW, HIGH), GAS.density, RISE)
    assert less / full == pytest.approx(1.0 - 0.03 * ((HIGH / LOW) ** 0.9 - 1.0))


def test_power_is_the_isentropic_one_over_the_efficiency_and_worst_away_from_the_best_ratio():
    flow, power = drawn_in(
        FLUID, replace(PART, best_ratio=float(HIGH[0] / LOW[0])), (LOW, HIGH), GAS.density, RISE
    )
    assert power - 50.0 == pytest.approx(flow * RISE / 0.7)
    _, off = drawn_in(FLUID, replace(PART, best_ratio=6.0), (LOW, HIGH), GAS.density, RISE)
    assert off > 1.02 * power


def test_a_map_is_read_in_degrees_celsius_and_follows_a_share_of_the_density():
    flow = (0.03, 1e-3, *(0.0,) * 8)
    power = (500.0, 0.0, 30.0, *(0.0,) * 7)
    part = replace(PART, flow_map=flow, power_map=power, density_share=0.7)
    drawn, watts = drawn_in(FLUID, part, (LOW, HIGH), GAS.density, RISE)
    assert drawn == pytest.approx(0.03 + 1e-3 * 8.0, rel=1e-4)
    assert watts == pytest.approx(500.0 + 30.0 * 45.0, rel=1e-4)
    thin, _ = drawn_in(FLUID, part, (LOW, HIGH), 0.9 * GAS.density, RISE)
    assert thin / drawn == pytest.approx(1.0 - 0.7 * 0.1)
