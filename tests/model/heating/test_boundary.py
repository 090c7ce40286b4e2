"""What the heating cycle is given: air streams, guards, and the same faults as in summer."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from model.cycle.faults import Faults
from model.cycle.sizing import nominal_unit
from model.heating.boundary import heating_surroundings, heating_test
from model.heating.solve import heat_pump
from model.properties import moist_air

PUMP = heat_pump(nominal_unit("R410A", 10_550.0))
H1 = heating_test()


def test_heating_tests_of_the_standard():
    """H1: 47 degF dry, 43 degF wet bulb: humidity ratio 0.00494 (ASHRAE psychrometric equations)."""
    assert H1.outdoor_temperature == pytest.approx((47.0 + 459.67) / 1.8, abs=1e-3)
    assert float(H1.outdoor_humidity_ratio) == pytest.approx(0.00494, rel=0.01)
    assert H1.return_temperature == pytest.approx((70.0 + 459.67) / 1.8, abs=1e-3)


def test_room_air_meets_the_condenser_and_outdoor_air_the_evaporator():
    unit, given = heating_surroundings(PUMP, H1)
    assert given.condenser_air.temperature == H1.return_temperature
    assert given.evaporator_air.temperature == H1.outdoor_temperature
    assert given.ambient_temperature == H1.outdoor_temperature
    assert unit is PUMP.heating
    rate = given.condenser_air.heat_capacity_rate / moist_air.heat_capacity(0.006)
    assert rate == pytest.approx(
        PUMP.heating.indoor_fan.airflow / moist_air.specific_volume(294.261, 0.006, 101325.0), rel=1e-9
    )


def test_a_blocked_face_takes_air_and_tubes_but_not_in_proportion():
    clean_unit, clean = heating_surroundings(PUMP, H1)
    unit, given = heating_surroundings(PUMP, H1, Faults(condenser_blocked=0.4))
    assert unit.evaporator.boiling_conductance == pytest.approx(
        0.6 * clean_unit.evaporator.boiling_conductance
    )
    assert 0.8 < float(given.evaporator_air.flow / clean.evaporator_air.flow) < 0.95
    assert 0.6 < float(given.evaporator_air.conductance / clean.evaporator_air.conductance) < 0.95


def test_air_drawn_back_is_not_fresh():
    _, clean = heating_surroundings(PUMP, H1)
    _, given = heating_surroundings(PUMP, H1, Faults(condenser_recirculation=0.3))
    assert given.evaporator_air.flow == pytest.approx(0.7 * clean.evaporator_air.flow)
    assert given.outdoor_airflow == clean.outdoor_airflow


def test_a_kilogram_lost_in_summer_is_a_kilogram_less_in_winter():
    _, given = heating_surroundings(PUMP, H1, Faults(charge_change=-0.1))
    missing = float(PUMP.heating.circuit.charge) - float(given.charge)
    assert missing == pytest.approx(0.1 * float(PUMP.cooling.circuit.charge))


@pytest.mark.parametrize(
    ("change", "part"),
    [
        ({"outdoor_humidity_ratio": 0.0}, "outdoor_humidity_ratio must be above 0, got 0"),
        ({"outdoor_humidity_ratio": 0.02}, "must be at most that of saturated air"),
        ({"return_temperature": np.nan}, "return_temperature must be a number, got nan"),
        ({"compressor_speed": 0.0}, "compressor_speed must be above 0, got 0"),
        ({"indoor_airflow": -1.0}, "indoor_airflow must be above 0, got -1"),
    ],
)
def test_guards_name_the_rule_and_the_value(change, part):
    with pytest.raises(ValueError, match=part):
        heating_surroundings(PUMP, replace(H1, **change))
