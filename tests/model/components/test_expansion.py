"""Expansion device: nozzle flow, valve opening, choking and flash gas; limits and sources in each test."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from model.components.expansion import (
    FLASH_GAS_PENALTY,
    NEARLY_OPEN,
    SMOOTHING_PRESSURE,
    Expansion,
    choking_pressure,
    flash_gas_factor,
    nozzle_flow,
    superheat_for_opening,
    valve_opening,
    valve_stiffness,
)
from model.properties.refrigerant import refrigerant

PROPERTY = settings(derandomize=True, deadline=None, max_examples=100)
VALVE = Expansion("TXV", area=2e-6, static_superheat=5.0, opening_superheat=3.0, reserve=1.5)
ORIFICE = Expansion("fixed orifice", area=2e-6)


def test_valve_is_at_rated_opening_at_rated_superheat():
    """The closing point is rounded over half a kelvin, which lifts the opening by 0.3 % here."""
    assert valve_opening(VALVE, np.array(8.0)) == pytest.approx(1.0, abs=0.015)


def test_starved_valve_is_fully_open_and_flooded_valve_nearly_shut():
    assert valve_opening(VALVE, np.array(60.0)) == pytest.approx(1.5, rel=1e-6)
    assert valve_opening(VALVE, np.array(-10.0)) == pytest.approx(0.01, abs=0.01)


@PROPERTY
@given(st.floats(-20.0, 60.0), st.floats(1e-3, 20.0), st.floats(1.1, 3.0))
def test_valve_never_closes_on_rising_superheat(superheat, more, reserve):
    low, high = valve_opening(
        Expansion("TXV", 2e-6, 5.0, 3.0, reserve), np.array([superheat, superheat + more])
    )
    assert 0.0 < low <= high <= reserve * (1 + 1e-12)


@PROPERTY
@given(st.floats(1.0, 13.0), st.floats(1.1, 3.0), st.floats(1.0, 6.0))
def test_superheat_for_an_opening_is_the_inverse_of_the_opening(superheat, reserve, opening_superheat):
    """Up to nine tenths of the reserve; beyond it a straight line goes on."""
    valve = Expansion("TXV", 2e-6, 5.0, opening_superheat, reserve)
    opening = valve_opening(valve, np.array(superheat))
    back = superheat_for_opening(valve, opening)
    if opening < NEARLY_OPEN * reserve:
        assert back == pytest.approx(superheat - 5.0, abs=1e-6)
    assert superheat_for_opening(valve, opening, valve_stiffness(valve)) == back


def test_beyond_its_reserve_a_valve_falls_short_in_a_straight_line():
    """From nine tenths of the reserve on with the slope of the exponential there; the corner's part aside."""
    shares = np.array([0.9, 1.0, 1.1, 1.5])
    superheat = superheat_for_opening(VALVE, shares * VALVE.reserve)
    slopes = np.diff(superheat) / np.diff(shares)
    np.testing.assert_allclose(slopes, slopes[0], rtol=1e-12)
    # d superheat / d share of 1 - exp(-k superheat) at a share of 0.9: 1 / (0.1 k), k = ln 3 / 3 K.
    assert slopes[0] == pytest.approx(10.0 * 3.0 / np.log(3.0), rel=1e-12)
    assert valve_stiffness(VALVE) == pytest.approx(np.log(3.0) / 3.0, rel=1e-12)


def test_valve_has_no_corner():
    superheat = np.linspace(-5.0, 25.0, 30001)
    slope = np.diff(valve_opening(VALVE, superheat)) / np.diff(superheat)
    assert np.max(np.abs(np.diff(slope))) < 3e-3


def test_gain_at_the_rated_point_is_what_its_two_superheats_say():
    """Exponential towards the reserve r: slope (r - 1) ln(r / (r - 1)) over the opening superheat."""
    step = 1e-3
    gain = np.diff(valve_opening(VALVE, np.array([8.0 - step, 8.0 + step])))[0] / (2 * step)
    assert gain == pytest.approx(0.5 * np.log(3.0) / 3.0, rel=0.03)


def test_nozzle_flow_of_water_by_torricelli():
    """1 mm2 of effective area, water of 1000 kg/m3, 2 MPa: 63.2 m/s and 0.0632 kg/s."""
    assert nozzle_flow(np.array(1e-6), np.array(1000.0), np.array(2e6)) == pytest.approx(0.063246, rel=1e-4)


@PROPERTY
@given(st.floats(5e5, 5e6), st.floats(200.0, 1300.0), st.floats(1.1, 4.0))
def test_nozzle_flow_goes_with_the_root_of_pressure_difference_and_density(difference, density, factor):
    """Tolerance: the rounding off at vanishing difference, (width / difference)^2 / 8."""
    base = nozzle_flow(np.array(1e-6), np.array(density), np.array(difference))
    harder = nozzle_flow(np.array(1e-6), np.array(density), np.array(factor * difference))
    denser = nozzle_flow(np.array(1e-6), np.array(factor * density), np.array(difference))
    assert harder / base == pytest.approx(np.sqrt(factor), rel=(SMOOTHING_PRESSURE / difference) ** 2 / 4)
    assert denser / base == pytest.approx(np.sqrt(factor), rel=1e-12)


def test_vanishing_and_reversed_difference_pass_hardly_anything_and_never_nothing():
    usual = nozzle_flow(np.array(1e-6), np.array(1000.0), np.array(1.2e6))
    flow = nozzle_flow(np.array(1e-6), np.array(1000.0), np.array([0.0, -1e5, -1.2e6]))
    assert np.all(flow > 0.0)
    assert np.all(flow < 0.1 * usual)
    assert np.all(np.diff(flow) < 0.0)


def test_subcooled_liquid_passes_whole_and_flash_gas_cuts_the_flow():
    """The onset is rounded over 0.004 of quality: 2 % at the bubble point, 0.02 % at quality -0.1."""
    np.testing.assert_allclose(flash_gas_factor(np.array([-0.2, -0.1])), 1.0, atol=4e-4)
    assert flash_gas_factor(np.array(0.0)) == pytest.approx(1.0 / 1.018, rel=1e-9)
    assert flash_gas_factor(np.array(0.02)) == pytest.approx(1.0 / 1.18, rel=2e-3)


def test_flash_gas_cuts_more_than_mean_density_and_less_than_a_short_tube():
    """Bounds at a few per cent of quality.

    Homogeneous density of R-410A at 40 degC, flow with its root, bounds it above; 1 / (1 + 12.6 x) of short
    tubes (Aaron, Domanski 1990, from memory) below.
    """
    fluid = refrigerant("R410A")
    line = fluid.saturation(fluid.bubble_pressure(313.15))
    quality = np.array([0.01, 0.03, 0.06, 0.1])
    density = 1.0 / (quality / line.vapour_density + (1.0 - quality) / line.liquid_density)
    factor = flash_gas_factor(quality)
    assert np.all(factor < np.sqrt(density / line.liquid_density))
    assert np.all(factor > 1.0 / (1.0 + 12.6 * quality))
    assert FLASH_GAS_PENALTY == 9.0


@PROPERTY
@given(st.floats(-0.5, 1.0), st.floats(0.0, 0.5))
def test_more_flash_gas_never_helps(quality, more):
    assert 0.0 < flash_gas_factor(np.array(quality + more)) <= flash_gas_factor(np.array(quality)) <= 1.0


def test_choking_pressure_limits():
    """Not choked: the evaporator's pressure; wholly choked: the liquid's saturation pressure."""
    saturation, evaporator = np.array(2.4e6), np.array(1.0e6)
    assert choking_pressure(Expansion("fixed orifice", 2e-6, choking=0.0), saturation, evaporator) == 1.0e6
    assert choking_pressure(
        Expansion("fixed orifice", 2e-6, choking=1.0), saturation, evaporator
    ) == pytest.approx(2.4e6)
    assert choking_pressure(ORIFICE, saturation, evaporator) == pytest.approx(1.0e6 + 0.85 * 1.4e6)


def test_choked_orifice_hardly_feels_the_evaporator_and_gains_from_subcooling():
    """Aaron, Domanski 1990 (R-22 short tubes, form from memory): subcooling sets the flow, hardly suction."""
    fluid = refrigerant("R22")
    upstream = fluid.bubble_pressure(318.15)
    density = fluid.liquid_density(310.15)

    def flow(liquid: float, evaporating: float) -> float:
        downstream = choking_pressure(ORIFICE, fluid.bubble_pressure(liquid), fluid.dew_pressure(evaporating))
        return float(nozzle_flow(np.array(2e-6), density, upstream - downstream))

    colder_evaporator = flow(310.15, 275.15) / flow(310.15, 283.15) - 1.0
    more_subcooling = flow(305.15, 283.15) / flow(310.15, 283.15) - 1.0
    assert 0.0 < colder_evaporator < 0.05
    assert more_subcooling > 4.0 * colder_evaporator


def test_arrays_equal_scalars():
    superheat, quality = np.linspace(-5.0, 30.0, 8), np.linspace(-0.1, 0.3, 8)
    difference = np.linspace(-1e5, 2e6, 8)
    np.testing.assert_allclose(
        valve_opening(VALVE, superheat), [float(valve_opening(VALVE, x)) for x in superheat], rtol=1e-14
    )
    np.testing.assert_allclose(
        flash_gas_factor(quality), [float(flash_gas_factor(x)) for x in quality], rtol=1e-14
    )
    together = nozzle_flow(np.array(2e-6), np.array(1000.0), difference)
    single = [float(nozzle_flow(np.array(2e-6), np.array(1000.0), x)) for x in difference]
    np.testing.assert_allclose(together, single, rtol=1e-14)
