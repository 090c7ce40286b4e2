"""Evaporator: bypass and effectiveness limits, the wet surface against PsychroLib, crossflow by `ht`."""

from __future__ import annotations

import ht
import numpy as np
import psychrolib
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from model.components.condenser import DUST_INSULATION, REFRIGERANT_EXPONENT
from model.components.evaporator import (
    SMALLEST_BOILING_AREA,
    Evaporator,
    MoistStream,
    air_side_conductance,
    boiling_area,
    boiling_conductance,
    boiling_zone,
    bypass_factor,
    superheating_area,
    wetted_conductance,
)
from model.properties import moist_air
from model.properties.moist_air import STANDARD_PRESSURE

PROPERTY = settings(derandomize=True, deadline=None, max_examples=100)
COIL = Evaporator(
    air_conductance=1050.0, air_exponent=0.55, boiling_conductance=2500.0, vapour_conductance=500.0,
    rated_flow=0.055, rated_airflow=0.55, volume=2.7e-3, pressure_drop=5e5,
)  # fmt: skip


def entering_air(temperature=299.82, humidity=0.0112, flow=0.55, conductance=1050.0) -> MoistStream:
    temperature, humidity = np.asarray(temperature, dtype=float), np.asarray(humidity, dtype=float)
    return MoistStream(
        flow=np.asarray(flow, dtype=float),
        temperature=temperature,
        humidity_ratio=humidity,
        dew_point=moist_air.dew_point(humidity, STANDARD_PRESSURE),
        enthalpy=moist_air.enthalpy(temperature, humidity),
        heat_capacity=moist_air.heat_capacity(humidity),
        pressure=np.asarray(STANDARD_PRESSURE),
        conductance=np.asarray(conductance, dtype=float),
    )


def test_bypass_limits():
    np.testing.assert_allclose(
        bypass_factor(np.array([0.0, 1.0, 800.0])), [1.0, np.exp(-1.0), 0.0], atol=1e-300
    )


@PROPERTY
@given(st.floats(0.0, 5.0), st.floats(0.0, 5.0))
def test_rows_in_series_multiply_their_bypass_factors(first, second):
    """Kuehn, Ramsey, Threlkeld 1998 (from memory): what passes two rows has passed both."""
    assert bypass_factor(first + second) == pytest.approx(
        bypass_factor(first) * bypass_factor(second), rel=1e-12
    )


@pytest.mark.parametrize("ntu", [0.2, 1.0, 2.0, 4.0])
def test_touched_share_is_the_effectiveness_of_an_isothermal_surface(ntu):
    """`ht.effectiveness_from_NTU` at a heat capacity ratio of 0. Tolerance: rounding."""
    assert 1.0 - bypass_factor(ntu) == pytest.approx(ht.effectiveness_from_NTU(ntu, Cr=0.0), rel=1e-12)


def test_air_side_conductance_at_rating_with_less_air_and_with_dust():
    assert air_side_conductance(COIL, np.array(0.55)) == pytest.approx(1050.0, rel=1e-14)
    assert air_side_conductance(COIL, np.array(0.275)) == pytest.approx(1050.0 * 0.5**0.55, rel=1e-12)
    dusty = air_side_conductance(COIL, np.array(0.55), dust=2.0)
    assert dusty == pytest.approx(1050.0 / (1.0 + 2.0 * DUST_INSULATION), rel=1e-12)


def test_boiling_conductance_follows_the_flow():
    assert boiling_conductance(COIL, np.array(0.055)) == pytest.approx(2500.0, rel=1e-14)
    assert boiling_conductance(COIL, np.array(0.022)) == pytest.approx(
        2500.0 * 0.4**REFRIGERANT_EXPONENT, rel=1e-12
    )


def test_wetted_conductance_runs_from_the_dry_to_the_wet_one():
    air = entering_air()
    dry = wetted_conductance(COIL, air, air.dew_point + 1.0)
    assert dry == pytest.approx(0.85 * 1050.0, rel=1e-12)
    wet = wetted_conductance(COIL, air, air.dew_point - 40.0)
    assert wet == pytest.approx(1050.0, rel=1e-3)


@PROPERTY
@given(st.floats(255.0, 296.0), st.floats(0.0, 10.0), st.floats(0.001, 0.015))
def test_a_colder_coil_is_never_less_wet(boiling, colder, humidity):
    air = entering_air(humidity=humidity)
    warm, cold = wetted_conductance(COIL, air, np.array([boiling, boiling - colder]))
    assert cold >= warm * (1 - 1e-12)


def test_dry_coil_is_two_resistances_in_series():
    """Touched air's capacity rate in series with the tubes' conductance."""
    air = entering_air(humidity=0.002)
    zone = boiling_zone(air, np.array(2500.0), np.array(283.15))
    rate = 0.55 * float(air.heat_capacity)
    touched = rate * -np.expm1(-1050.0 / rate)
    assert not zone.wet
    assert zone.heat == pytest.approx((299.82 - 283.15) / (1.0 / touched + 1.0 / 2500.0), rel=1e-12)
    assert zone.heat == pytest.approx(touched * (299.82 - float(zone.surface_temperature)), rel=1e-12)


def test_dry_coil_of_endless_tubes_is_an_isothermal_exchanger():
    """Surface at the boiling temperature, `ht` at a capacity ratio of 0; tolerance: the finite tubes."""
    air = entering_air(humidity=0.002)
    rate = 0.55 * float(air.heat_capacity)
    zone = boiling_zone(air, np.array(1e8), np.array(283.15))
    expected = rate * ht.effectiveness_from_NTU(1050.0 / rate, Cr=0.0) * (299.82 - 283.15)
    assert zone.heat == pytest.approx(expected, rel=2e-5)


def test_coil_as_warm_as_the_air_takes_no_heat():
    air = entering_air(humidity=0.002)
    assert boiling_zone(air, np.array(2500.0), np.array(299.82)).heat == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("boiling", [273.65, 278.15, 281.15])
@pytest.mark.parametrize("humidity", [0.0095, 0.0112, 0.014])
def test_wet_surface_against_psychrolib_and_a_bracketing_root_finder(boiling, humidity):
    """Air that leaves saturated at the surface gives its enthalpy to the tubes.

    PsychroLib (ASHRAE Handbook Fundamentals 2017, chapter 1) for the saturated air. Tolerance 0.01 K and
    0.2 %: the two property formulas differ by 0.1 kJ/kg.
    """
    psychrolib.SetUnitSystem(psychrolib.SI)
    air = entering_air(humidity=humidity)
    zone = boiling_zone(air, np.array(2500.0), np.array(boiling))
    touched = 0.55 * -np.expm1(-1050.0 / (0.55 * float(air.heat_capacity)))
    entering = psychrolib.GetMoistAirEnthalpy(299.82 - 273.15, humidity)

    def excess(surface: float) -> float:
        saturated = psychrolib.GetSatAirEnthalpy(surface - 273.15, STANDARD_PRESSURE)
        return touched * (entering - saturated) - 2500.0 * (surface - boiling)

    surface = brentq(excess, boiling, 299.82, xtol=1e-10)
    assert zone.wet
    assert zone.surface_temperature == pytest.approx(surface, abs=0.01)
    assert zone.heat == pytest.approx(2500.0 * (surface - boiling), rel=0.002)


def test_wet_balance_closes_to_rounding():
    """The four Newton steps that the module promises leave under 1e-9 K."""
    boiling = np.linspace(270.0, 288.0, 19)
    air = entering_air(humidity=0.0135)
    zone = boiling_zone(air, np.array(2500.0), boiling)
    saturated, slope = moist_air.saturation_enthalpy_and_slope(zone.surface_temperature, STANDARD_PRESSURE)
    touched = air.flow * (1.0 - zone.bypass)
    excess = touched * (air.enthalpy - saturated) - zone.heat
    assert np.all(np.abs(excess / (touched * slope + 2500.0)) < 1e-9)


def test_heat_is_continuous_where_the_coil_gets_wet():
    """Humidity swept finely across the dew point of the surface: no step larger than the slope warrants."""
    humidity = np.linspace(0.008, 0.0105, 2001)
    zone = boiling_zone(entering_air(humidity=humidity), np.array(2500.0), np.array(283.15))
    assert np.any(zone.wet) and not np.all(zone.wet)
    step = np.abs(np.diff(zone.heat))
    assert step.max() < 1e-3 * zone.heat.max()
    assert np.all(np.diff(zone.heat) >= -1e-9 * zone.heat.max())


@PROPERTY
@given(st.floats(0.0, 0.018), st.floats(270.0, 290.0), st.floats(0.05, 5.0), st.floats(0.0, 0.003))
def test_heat_grows_with_humidity_and_with_colder_refrigerant(humidity, boiling, colder, moister):
    limit = float(moist_air.saturation_humidity_ratio(299.82, STANDARD_PRESSURE))
    base = boiling_zone(entering_air(humidity=max(humidity, 1e-6)), np.array(2500.0), np.array(boiling))
    colder_zone = boiling_zone(
        entering_air(humidity=max(humidity, 1e-6)), np.array(2500.0), np.array(boiling - colder)
    )
    moist = entering_air(humidity=min(max(humidity, 1e-6) + moister, limit))
    moister_zone = boiling_zone(moist, np.array(2500.0), np.array(boiling))
    assert colder_zone.heat > base.heat
    assert moister_zone.heat >= base.heat * (1 - 1e-9)
    assert boiling - 1e-9 <= base.surface_temperature <= 299.82 + 1e-9


@pytest.mark.parametrize("flow", [0.01, 0.055, 0.4, 2.0])
def test_superheating_zone_is_a_crossflow_exchanger_with_the_refrigerant_mixed(flow):
    """Area for a decay, put back into `ht`'s crossflow relation with one fluid mixed, gives the decay back.

    Tolerance: rounding; both are closed forms (Incropera, DeWitt, crossflow, one fluid mixed).
    """
    air, heat_capacity, decay = entering_air(), 1150.0, 0.5
    area = float(superheating_area(COIL, air, np.array(flow), np.array(heat_capacity), np.array(decay)))
    inside = 500.0 * (flow / 0.055) ** REFRIGERANT_EXPONENT
    conductance = area / (1.0 / 1050.0 + 1.0 / inside)
    gas_rate, air_rate = flow * heat_capacity, area * 0.55 * float(air.heat_capacity)
    smaller, larger = sorted((gas_rate, air_rate))
    side = "mixed Cmin" if gas_rate <= air_rate else "mixed Cmax"
    found = ht.effectiveness_from_NTU(
        conductance / smaller, Cr=smaller / larger, subtype=f"crossflow, {side}"
    )
    assert found * smaller / gas_rate == pytest.approx(-np.expm1(-decay), rel=1e-9)


def test_nothing_superheated_needs_no_face():
    assert superheating_area(COIL, entering_air(), np.array(0.05), np.array(1150.0), np.array(0.0)) == 0.0


def test_boiling_takes_what_superheating_leaves():
    """Exactly so down to two hundredths of the face; a starved coil boils less, but never nothing."""
    assert boiling_area(np.array(0.0)) == 1.0
    assert boiling_area(np.array(0.15)) == pytest.approx(0.85, rel=1e-15)
    starved = boiling_area(np.array([1.0 - SMALLEST_BOILING_AREA, 1.0, 1.5, 4.0]))
    assert starved[0] == pytest.approx(SMALLEST_BOILING_AREA, rel=1e-12)
    assert np.all(starved > 0)
    assert np.all(np.diff(starved) < 0)
    assert starved[1] == pytest.approx(SMALLEST_BOILING_AREA / np.e, rel=1e-12)
    assert starved[2] == pytest.approx(SMALLEST_BOILING_AREA * np.exp(-26.0), rel=1e-9)


def test_arrays_equal_scalars():
    humidity = np.array([0.002, 0.0089, 0.0112, 0.016])
    boiling = np.array([283.15, 280.0, 276.0, 284.0])
    together = boiling_zone(entering_air(humidity=humidity), np.array(2500.0), boiling)
    for i in range(4):
        one = boiling_zone(entering_air(humidity=humidity[i]), np.array(2500.0), boiling[i])
        np.testing.assert_allclose(
            [together.heat[i], together.surface_temperature[i], together.wet[i]],
            [float(one.heat), float(one.surface_temperature), bool(one.wet)], rtol=1e-12,
        )  # fmt: skip
