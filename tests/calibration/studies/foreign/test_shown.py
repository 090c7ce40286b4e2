"""Readings of a machine: what a pressure, a temperature and a power mean on gauges and meters."""

import numpy as np
import pytest

from calibration.clean_fit.observation import READINGS_OF_POINT
from calibration.studies.foreign.drawn_machine import drawn_foreign_unit
from calibration.studies.foreign.machine import solved
from calibration.studies.foreign.shown import operating_point
from model.cycle.sizing import rating_conditions
from model.properties.refrigerant import refrigerant


def test_every_reading_is_there_and_follows_from_the_states():
    unit = drawn_foreign_unit(np.random.default_rng(1))
    found, given, unknowns = solved(unit.machine, rating_conditions(), start=unit.start)
    point = operating_point(found, given, unknowns, unit.machine)
    pressure = np.array([101325.0])
    assert all(np.isfinite(reading(point, pressure)).all() for reading in READINGS_OF_POINT.values())
    fluid = refrigerant(unit.machine.refrigerant)
    assert point.superheat == pytest.approx(
        point.suction_temperature - fluid.dew_temperature(point.suction_pressure)
    )
    assert point.subcooling == pytest.approx(
        fluid.bubble_temperature(point.liquid_pressure) - point.liquid_temperature
    )
    assert point.total_power == pytest.approx(found.power + given.fan_power + given.blower_power)
    assert point.supply_wet_bulb < point.supply_temperature
    lost = operating_point(found, given, np.full_like(unknowns, np.nan), unit.machine)
    assert lost.state_names()[0] == "not converged"
    assert np.isnan(lost.net_capacity).all()
