"""Surroundings: what weather, altitude, speeds and faults do to the two air streams, and the guards."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import psychrolib
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from model.components import fans
from model.components.condenser import DUST_INSULATION
from model.components.expansion import BULB_OFFSET
from model.cycle.boundary import (
    BLOWER_AIR_DENSITY,
    FAN_AIR_DENSITY,
    OUTDOOR_HUMIDITY_RATIO,
    Conditions,
    surroundings,
)
from model.cycle.faults import Faults
from model.cycle.sizing import nominal_unit, rating_conditions
from model.cycle.solve import solve
from model.properties import moist_air

PROPERTY = settings(derandomize=True, deadline=None, max_examples=60)
UNIT = nominal_unit("R410A", 8800.0)
STEADY = nominal_unit("R410A", 8800.0, indoor_blower="constant airflow", outdoor_fan="constant airflow")
RATING = Conditions(308.15, 299.82, 0.0112)


@pytest.mark.parametrize(
    "name", ["compressor_speed", "outdoor_fan_speed", "indoor_fan_speed", "indoor_airflow"]
)
@pytest.mark.parametrize("value", [0.0, -0.5, np.nan])
def test_speeds_and_airflow_must_be_above_zero(name, value):
    with pytest.raises(ValueError, match=rf"{name} must be above 0, got {value:g}"):
        surroundings(UNIT, replace(RATING, **{name: value}))


def test_air_cannot_hold_more_water_than_saturated_air():
    saturated = float(moist_air.saturation_humidity_ratio(299.82, 101_325.0))
    slip = surroundings(UNIT, replace(RATING, return_humidity_ratio=1.05 * saturated))
    assert slip.evaporator_air.humidity_ratio > saturated
    message = (
        r"return_humidity_ratio must be at most that of saturated air, got a dew point of 30\d\.\d+ K at"
    )
    with pytest.raises(ValueError, match=message):
        surroundings(UNIT, replace(RATING, return_humidity_ratio=np.array([0.01, 1.3 * saturated])))


def test_fan_powers_are_those_of_the_nameplate_at_the_rating():
    """The air that they refer to is the rating's: PsychroLib's specific volumes (ASHRAE Handbook 2017)."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    humidity = psychrolib.GetHumRatioFromTWetBulb(26.67, 19.44, 101_325.0)
    assert 1.0 / psychrolib.GetMoistAirVolume(26.67, humidity, 101_325.0) == pytest.approx(
        BLOWER_AIR_DENSITY, rel=1e-3
    )
    assert 1.0 / psychrolib.GetMoistAirVolume(35.0, OUTDOOR_HUMIDITY_RATIO, 101_325.0) == pytest.approx(
        FAN_AIR_DENSITY, rel=1e-3
    )
    given_ = surroundings(UNIT, RATING)
    assert given_.blower_power == pytest.approx(float(UNIT.indoor_fan.power), rel=1e-3)
    assert given_.outdoor_fan_power == pytest.approx(float(UNIT.outdoor_fan.power), rel=1e-3)


def test_the_smallest_of_many_values_is_named():
    with pytest.raises(ValueError, match="compressor_speed must be above 0, got -1"):
        surroundings(UNIT, replace(RATING, compressor_speed=np.array([1.0, -1.0, 0.5])))


def test_air_streams_carry_the_units_airflow_at_local_density():
    """Dry-air flow is volume over PsychroLib's specific volume (ASHRAE Handbook 2017). Tolerance 0.1 %."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    given_ = surroundings(UNIT, RATING)
    indoor = psychrolib.GetMoistAirVolume(299.82 - 273.15, 0.0112, 101_325.0)
    outdoor = psychrolib.GetMoistAirVolume(308.15 - 273.15, OUTDOOR_HUMIDITY_RATIO, 101_325.0)
    assert given_.evaporator_air.flow == pytest.approx(UNIT.indoor_fan.airflow / indoor, rel=1e-3)
    rate = UNIT.outdoor_fan.airflow / outdoor * (1006.0 + OUTDOOR_HUMIDITY_RATIO * 1860.0)
    assert given_.condenser_air.heat_capacity_rate == pytest.approx(rate, rel=2e-3)
    assert given_.outdoor_airflow == pytest.approx(float(UNIT.outdoor_fan.airflow), rel=1e-12)


def test_altitude_thins_the_air_and_leaves_the_volume():
    """At 10,000 ft the pressure is 10.108 psia (ASHRAE Handbook Fundamentals 2017, chapter 1, Table 1)."""
    sea, high = (
        surroundings(UNIT, RATING),
        surroundings(UNIT, replace(RATING, ambient_pressure=10.108 * 6894.757)),
    )
    thin = 10.108 / 14.696
    assert high.outdoor_airflow == sea.outdoor_airflow
    assert high.condenser_air.heat_capacity_rate / sea.condenser_air.heat_capacity_rate == pytest.approx(
        thin, rel=1e-4
    )
    assert high.evaporator_air.flow / sea.evaporator_air.flow == pytest.approx(thin, rel=1e-4)
    assert high.blower_power / sea.blower_power == pytest.approx(thin, rel=1e-4)
    assert high.outdoor_fan_power / sea.outdoor_fan_power == pytest.approx(thin, rel=1e-4)
    # Conductance follows mass velocity to the coil's exponent.
    ratio = high.condenser_air.conductance / sea.condenser_air.conductance
    assert ratio == pytest.approx(thin ** float(UNIT.condenser.air_exponent), rel=1e-4)


def test_measured_airflow_and_power_take_the_place_of_the_units_own():
    given_ = surroundings(UNIT, replace(RATING, indoor_airflow=0.5, indoor_power=333.0))
    assert given_.evaporator_air.flow == 0.5
    assert given_.blower_power == 333.0


def test_indoor_air_knows_its_own_state():
    air = surroundings(UNIT, RATING).evaporator_air
    assert air.enthalpy == moist_air.enthalpy(299.82, 0.0112)
    assert air.dew_point == moist_air.dew_point(0.0112, 101_325.0)
    assert air.heat_capacity == moist_air.heat_capacity(0.0112)


def test_airflow_lost_is_lost_however_it_was_lost():
    clean, half = surroundings(UNIT, RATING), surroundings(UNIT, RATING, Faults(condenser_airflow_lost=0.5))
    assert half.outdoor_airflow / clean.outdoor_airflow == pytest.approx(0.5, rel=1e-12)
    exponent = float(UNIT.condenser.air_exponent)
    ratio = half.condenser_air.conductance / clean.condenser_air.conductance
    assert ratio == pytest.approx(0.5**exponent, rel=1e-12)
    assert half.condenser_air.open_face == 1.0


def test_blocked_face_loses_area_and_some_air():
    clean, blocked = surroundings(UNIT, RATING), surroundings(UNIT, RATING, Faults(condenser_blocked=0.5))
    assert blocked.condenser_air.open_face == 0.5
    assert 0.5 < blocked.outdoor_airflow / clean.outdoor_airflow < 1.0
    assert blocked.condenser_air.conductance < clean.condenser_air.conductance
    assert clean.outdoor_fan_power < blocked.outdoor_fan_power < 1.15 * clean.outdoor_fan_power


def test_constant_airflow_fans_hold_the_air_and_draw_more():
    clean = surroundings(STEADY, RATING)
    dirty = surroundings(STEADY, RATING, Faults(condenser_blocked=0.4, evaporator_dust=1.0))
    choked = surroundings(STEADY, RATING, Faults(condenser_blocked=0.7, evaporator_dust=9.0))
    assert choked.outdoor_airflow < 0.9 * clean.outdoor_airflow
    assert choked.evaporator_air.flow < 0.9 * clean.evaporator_air.flow
    assert dirty.outdoor_airflow == clean.outdoor_airflow
    assert dirty.evaporator_air.flow == clean.evaporator_air.flow
    assert dirty.outdoor_fan_power > clean.outdoor_fan_power
    assert dirty.blower_power > clean.blower_power


def test_a_motor_that_holds_the_airflow_pays_for_the_air_that_still_flows():
    """Half of the air lost behind the blower: half of the flow at the pressure that half of it needs."""
    whole, half = (surroundings(STEADY, RATING, Faults(evaporator_airflow_lost=x)) for x in (0.0, 0.5))
    pressure = fans.resistance(STEADY.indoor_fan, np.array(0.5), 0.0, 0.0)
    assert 0.25 < pressure < 0.35
    assert half.blower_power / whole.blower_power == pytest.approx(0.5 * float(pressure), rel=1e-9)


def test_a_compressor_scaled_up_is_a_larger_compressor():
    part = UNIT.compressor
    scaled = replace(UNIT, compressor=replace(part, displacement_scale=1.1))
    larger = replace(UNIT, compressor=replace(part, displacement=1.1 * part.displacement))
    one, other = surroundings(scaled, RATING), surroundings(larger, RATING)
    for name in ("suction_drop", "discharge_drop", "superheating"):
        assert getattr(one, name) == pytest.approx(float(getattr(other, name)), rel=1e-12)


def test_dust_on_the_indoor_coil_costs_air_and_conductance():
    clean, dusty = surroundings(UNIT, RATING), surroundings(UNIT, RATING, Faults(evaporator_dust=1.0))
    flow = float(dusty.evaporator_air.flow / clean.evaporator_air.flow)
    assert 0.8 < flow < 1.0
    expected = flow ** float(UNIT.evaporator.air_exponent) / (1.0 + DUST_INSULATION)
    assert dusty.evaporator_air.conductance / clean.evaporator_air.conductance == pytest.approx(
        expected, rel=1e-12
    )


def test_slow_fan_is_a_fan_speed():
    slow = surroundings(UNIT, RATING, Faults(condenser_fan_slow=0.3))
    same = surroundings(UNIT, replace(RATING, outdoor_fan_speed=0.7))
    assert slow.outdoor_airflow == pytest.approx(float(same.outdoor_airflow), rel=1e-13)
    assert slow.outdoor_fan_power == pytest.approx(float(same.outdoor_fan_power), rel=1e-13)


def test_charge_valve_leak_and_gas_are_handed_on():
    faults = Faults(charge_change=-0.2, valve_overfeed=0.5, compressor_leakage=0.1, noncondensable=1e5)
    given_ = surroundings(UNIT, RATING, faults)
    assert given_.charge == pytest.approx(0.8 * float(UNIT.circuit.charge), rel=1e-14)
    assert (given_.valve_factor, given_.leakage, given_.noncondensable) == (1.5, 0.1, 1e5)
    assert given_.bulb_offset == 0.5 * BULB_OFFSET


def test_restriction_is_its_share_of_the_rated_difference_at_rated_flow():
    given_ = surroundings(UNIT, RATING, Faults(liquid_restriction=0.4))
    drop = given_.restriction * np.asarray(UNIT.rated_flow) ** 2
    assert drop == pytest.approx(0.4 * float(UNIT.rated_pressure_difference), rel=1e-13)


@PROPERTY
@given(st.floats(0.0, 0.9), st.floats(0.0, 0.04), st.floats(0.0, 8.0), st.floats(0.0, 1.0))
def test_more_condenser_dirt_never_moves_or_takes_more(blocked, more, dust, thicker):
    faults = Faults(
        condenser_blocked=np.array([blocked, blocked + more]), condenser_dust=np.array([dust, dust + thicker])
    )
    given_ = surroundings(UNIT, RATING, faults)
    for values in (
        given_.outdoor_airflow,
        given_.condenser_air.conductance,
        given_.condenser_air.heat_capacity_rate,
    ):
        assert values[1] <= values[0] * (1 + 1e-12)


def test_arrays_equal_scalars():
    temperatures, blocked = np.array([290.0, 308.15, 320.0]), np.array([0.0, 0.4, 0.8])
    together = surroundings(
        UNIT, replace(RATING, outdoor_temperature=temperatures), Faults(condenser_blocked=blocked)
    )
    for i in range(3):
        one = surroundings(
            UNIT, replace(RATING, outdoor_temperature=temperatures[i]), Faults(condenser_blocked=blocked[i])
        )
        for name in ("heat_capacity_rate", "temperature", "conductance", "open_face"):
            assert getattr(together.condenser_air, name)[i] == pytest.approx(
                float(getattr(one.condenser_air, name)), rel=1e-12
            )
        assert together.outdoor_fan_power[i] == pytest.approx(float(one.outdoor_fan_power), rel=1e-12)


def test_air_drawn_back_raises_head_and_leaving_air_and_moves_no_less_of_it():
    """Signs; all of the heat leaves with the fresh air, which is what is not drawn back (first law)."""
    back = np.array([0.0, 0.2, 0.4])
    point = solve(UNIT, rating_conditions(), Faults(condenser_recirculation=back))
    assert np.all(np.diff(point.condensing_temperature) > 1.0)
    assert np.all(np.diff(point.eer) < 0.0)
    assert np.ptp(point.outdoor_airflow) == 0.0
    assert np.ptp(point.outdoor_fan_power) == 0.0
    rise = point.condenser_leaving_temperature - rating_conditions().outdoor_temperature
    heat = point.heat_rejected + point.outdoor_fan_power
    np.testing.assert_allclose(rise * (1.0 - back) / heat, rise[0] / heat[0], rtol=1e-9)


def test_air_drawn_back_shows_at_the_ports_what_lost_air_shows():
    """No reading tells them apart: at equal head, superheat and subcooling within 0.1 K, power within 1 %."""
    back = solve(UNIT, rating_conditions(), Faults(condenser_recirculation=0.3))
    levels = np.linspace(0.0, 0.6, 121)
    lost = solve(UNIT, rating_conditions(), Faults(condenser_airflow_lost=levels))
    same = float(np.interp(back.condensing_temperature, lost.condensing_temperature, levels))
    alike = solve(UNIT, rating_conditions(), Faults(condenser_airflow_lost=same))
    for name in ("superheat", "subcooling", "evaporating_temperature"):
        assert getattr(back, name) == pytest.approx(float(getattr(alike, name)), abs=0.1), name
    assert back.compressor_power == pytest.approx(float(alike.compressor_power), rel=0.01)
