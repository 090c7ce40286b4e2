"""Frost and defrost: the standard's figures at its tests, and directions in other weather and with dirt."""

from __future__ import annotations

import numpy as np
import pytest

from model.cycle.faults import Faults
from model.cycle.sizing import nominal_unit
from model.heating.boundary import (
    COLD_OUTDOOR,
    COLD_WET_BULB,
    FROST_OUTDOOR,
    FROST_WET_BULB,
    HeatingConditions,
    heating_test,
)
from model.heating.frost import AIRFLOW_POWERS, demand_defrost_credit, frosted
from model.heating.heat_pump import RATING_OUTDOOR
from model.heating.solve import heat_pump, solve_heating
from model.properties import moist_air

PUMP = heat_pump(nominal_unit("R410A", 10_550.0))
OUTDOOR = np.array([RATING_OUTDOOR, FROST_OUTDOOR, COLD_OUTDOOR])
WET = np.array([279.261, FROST_WET_BULB, COLD_WET_BULB])


def frosted_at(outdoor, humidity, faults=None, power=AIRFLOW_POWERS[1]):
    point = solve_heating(PUMP, HeatingConditions(outdoor, humidity), faults or Faults())
    return frosted(PUMP, point, outdoor, airflow_power=power)


def humidity_of(outdoor, share):
    return moist_air.humidity_ratio_from_relative_humidity(outdoor, share, 101325.0)


def test_the_standards_relation_of_its_three_tests():
    """AHRI 210/240: Q(35) = 0.90 [Q(17) + 0.6 (Q(47) - Q(17))], P(35) = 0.985 [...].

    Within 2.5 %, as the steady cycle is no straight line between 17 and 47 degF.
    """
    point = solve_heating(PUMP, heating_test(OUTDOOR, WET))
    found = frosted(PUMP, point, OUTDOOR)
    heat = 0.90 * (found.capacity[2] + 0.6 * (found.capacity[0] - found.capacity[2]))
    power = 0.985 * (found.power[2] + 0.6 * (found.power[0] - found.power[2]))
    assert found.capacity[1] == pytest.approx(heat, rel=0.025)
    assert found.power[1] == pytest.approx(power, rel=0.025)
    assert found.capacity_loss[1] == pytest.approx(0.10, rel=1e-6)
    assert found.power_loss[1] == pytest.approx(0.015, rel=1e-6)
    assert found.capacity_loss[0] < 0.005
    assert found.capacity_loss[2] == 0.0


def test_dry_air_and_a_warm_coil_gather_nothing():
    assert frosted_at(FROST_OUTDOOR, 1e-4).capacity_loss == 0.0
    assert frosted_at(289.0, humidity_of(289.0, 0.95)).capacity_loss < 1e-3


def test_more_humidity_costs_more():
    loss = frosted_at(275.0, humidity_of(275.0, np.linspace(0.5, 1.0, 12))).capacity_loss
    assert np.all(np.diff(loss) >= 0.0)
    assert loss[-1] > loss[0]


def test_a_fouled_coil_frosts_more_and_the_range_is_about_the_middle():
    humidity, blocked = humidity_of(275.0, 0.85), Faults(condenser_blocked=np.linspace(0.0, 0.7, 8))
    least, middle, most = (frosted_at(275.0, humidity, blocked, one).capacity_loss for one in AIRFLOW_POWERS)
    assert np.all(np.diff(middle) > 0.0)
    assert np.all(least <= middle)
    assert np.all(middle <= most)
    assert least[0] == most[0]


def test_no_jump_over_the_winter():
    """Steps of a twentieth of a kelvin change the loss by less than 0.2 points."""
    outdoor = np.linspace(258.0, 290.0, 641)
    loss = frosted_at(outdoor, humidity_of(outdoor, 0.82)).capacity_loss
    assert np.abs(np.diff(loss)).max() < 0.002
    assert 0.09 < loss.max() < 0.13


def test_credit_of_the_standard_for_defrost_on_demand():
    """F_def = 1 + 0.03 [1 - (t - 1.5) / (t_max - 1.5)] (AHRI 210/240)."""
    assert demand_defrost_credit() == pytest.approx(1.03)
    assert demand_defrost_credit(1.0) == pytest.approx(1.03)
    assert demand_defrost_credit(6.0, 12.0) == pytest.approx(1.0 + 0.03 * (1.0 - 4.5 / 10.5))
    assert demand_defrost_credit(12.0) == pytest.approx(1.0)
