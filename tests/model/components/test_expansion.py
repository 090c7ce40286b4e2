"""Expansion device: nozzle flow, valve opening, short tube and flash gas; limits and sources in each test."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from model.components.expansion import (
    NEARLY_OPEN,
    SMOOTHING_PRESSURE,
    Expansion,
    Upstream,
    correlated_subcooling,
    flash_gas_factor,
    nozzle_flow,
    orifice_flow,
    quality_factor,
    subcooled_flux,
    superheat_for_opening,
    valve_opening,
    valve_stiffness,
)
from model.cycle.sizing import nominal_unit
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
    assert flash_gas_factor(np.array(0.0)) == pytest.approx(1.0 / 1.014, rel=1e-9)
    assert flash_gas_factor(np.array(0.02)) == pytest.approx(1.0 / 1.14, rel=2e-3)


def test_flash_gas_cuts_more_than_mean_density():
    """Homogeneous density of R-410A at 40 degC, flow with its root, bounds the factor above."""
    fluid = refrigerant("R410A")
    line = fluid.saturation(fluid.bubble_pressure(313.15))
    quality = np.array([0.01, 0.03, 0.06, 0.1])
    density = 1.0 / (quality / line.vapour_density + (1.0 - quality) / line.liquid_density)
    assert np.all(flash_gas_factor(quality) < np.sqrt(density / line.liquid_density))


@PROPERTY
@given(st.floats(-0.5, 1.0), st.floats(0.0, 0.5))
def test_more_flash_gas_never_helps(quality, more):
    assert 0.0 < flash_gas_factor(np.array(quality + more)) <= flash_gas_factor(np.array(quality)) <= 1.0


# Fixed orifice

FLUIDS = ("R410A", "R22", "R134a", "R407C", "R32", "R290", "R454B")
LOG_LENGTH = np.array(np.log(ORIFICE.length_ratio))
DOWNSTREAM = np.array(0.9e6)


def before(name: str, condensing: float, subcooling=0.0, quality=None) -> Upstream:
    """State before an orifice: subcooled [K] at the pressure of a bubble point [K], or a mixture."""
    fluid = refrigerant(name)
    pressure = fluid.bubble_pressure(np.asarray(condensing))
    line = fluid.saturation(pressure)
    latent = line.vapour_enthalpy - line.liquid_enthalpy
    subcooling = np.asarray(subcooling, dtype=float)
    if quality is None:
        quality = -subcooling * line.liquid_heat_capacity / latent
    else:
        quality = np.asarray(quality, dtype=float)
        subcooling = -quality * latent / line.liquid_heat_capacity
    liquid = condensing - np.maximum(subcooling, -3.0)
    return Upstream(
        pressure, fluid.bubble_pressure(liquid + correlated_subcooling(subcooling)[1]), subcooling, quality,
        fluid.liquid_density(liquid), line.vapour_density, fluid.critical_pressure,
        fluid.critical_temperature, )  # fmt: skip


def test_the_two_published_laws_meet_at_the_bubble_point():
    """The coefficients were read second-hand: a wrong digit would part the laws where the first bubble
    appears.

    As published, the two-phase factor at quality 0 is 1 within its accuracy (the paper's points lie
    within some 5 %) for the refrigerants and the condensing temperatures that were tested.
    """
    for name in ("R22", "R407C", "R410A"):
        for condensing in (308.15, 318.15):
            reduced = float(before(name, condensing).pressure) / refrigerant(name).critical_pressure
            constant = (9.8401 - 14.639) * np.log(1.0 - reduced) ** 2 - 0.019798 * float(LOG_LENGTH) ** 2
            factor = (1.1831 - 1.468 + constant) / (1.0 - 1.5348 - 17.195 * reduced**3)
            assert factor == pytest.approx(1.0, abs=0.06), (name, condensing)


@pytest.mark.parametrize("name", ["R410A", "R22"])
def test_subcooling_raises_the_flow_by_about_two_per_cent_a_kelvin(name):
    """1.6 to 2.1 %/K by Payne and O'Neal 2004 as others read it; here 1.5 to 2.8 by refrigerant and pressure.

    Condensing at 40 to 50 degC, subcooled by 4 to 14 K. The former law of nearly choked nozzles gave 5.
    """
    for condensing in (313.15, 323.15):
        flux = subcooled_flux(before(name, condensing, np.linspace(4.0, 14.0, 11)), LOG_LENGTH)
        slopes = 100.0 * np.diff(np.log(flux))
        assert slopes.min() > 1.2
        assert slopes.max() < 2.9
        assert 1.4 < slopes.mean() < 2.4


@pytest.mark.parametrize("name", FLUIDS)
@pytest.mark.parametrize("condensing", [308.15, 316.15, 324.15])
def test_more_subcooling_and_less_flash_gas_always_pass_more(name, condensing):
    """From a quality of 0.7 to 40 K of subcooling, well outside of the data too; a step may give up 0.1 %."""
    wet = before(name, condensing, quality=np.linspace(0.69, 0.0, 400))
    dry = before(name, condensing, np.linspace(0.0, 40.0, 400))
    flow = np.concatenate(
        [orifice_flow(ORIFICE, np.array(2e-6), state, DOWNSTREAM * 0.5) for state in (wet, dry)]
    )
    assert np.all(flow > 0.0)
    assert np.all(np.diff(flow) > -1e-3 * flow[:-1])


@pytest.mark.parametrize("name", FLUIDS)
def test_no_corner_and_no_jump_from_liquid_to_bubbles(name):
    """Slopes of ln flow with subcooling change by less than 0.5 %/K between neighbours 0.02 K apart."""
    state = before(name, 318.15, np.linspace(-3.0, 3.0, 301))
    slope = np.diff(np.log(orifice_flow(ORIFICE, np.array(2e-6), state, DOWNSTREAM))) / 0.02
    assert np.max(np.abs(np.diff(slope))) < 5e-3


@pytest.mark.parametrize("name", FLUIDS)
def test_flash_gas_factor_begins_at_one_and_falls(name):
    factor = quality_factor(before(name, 318.15, quality=np.array([-0.2, 0.0, 0.1, 0.3, 0.6])), LOG_LENGTH)
    assert factor[0] == pytest.approx(1.0, abs=2e-3)
    assert factor[1] == pytest.approx(1.0, abs=0.03)
    assert np.all(np.diff(factor) < 0.0)
    assert factor[-1] > 0.05


def test_a_longer_bore_passes_less_and_hardly_so():
    """Ten per cent more length over bore: about 1 % less liquid (the correlation's own groups)."""
    state = before("R22", 318.15, 6.0)
    long = Expansion("fixed orifice", 2e-6, length_ratio=1.1 * ORIFICE.length_ratio)
    ratio = orifice_flow(long, np.array(2e-6), state, DOWNSTREAM) / orifice_flow(
        ORIFICE, np.array(2e-6), state, DOWNSTREAM
    )
    assert -0.03 < float(ratio) - 1.0 < -0.005


def test_bore_of_a_three_ton_unit_is_that_of_its_pistons():
    """Pistons of 3-ton units are marked 65 to 80, thousandths of an inch (common practice, no source)."""
    for name in ("R410A", "R22"):
        area = float(np.asarray(nominal_unit(name, 10_550.0, expansion="fixed orifice").expansion.area))
        assert 0.065 < np.sqrt(4.0 * area / np.pi) / 0.0254 < 0.080


def test_choked_orifice_hardly_feels_the_evaporator_and_passes_nothing_without_a_difference():
    state = before("R22", 318.15, 6.0)
    pressure = float(state.pressure)
    behind = np.array([0.3, 0.4, 0.7, 0.95, 1.0, 1.2]) * pressure
    flow = orifice_flow(ORIFICE, np.array(2e-6), state, behind)
    assert np.all(np.diff(flow) < 0.0)
    assert flow[1] / flow[0] > 0.995
    assert 0.0 < flow[-1] < flow[-2] < 0.3 * flow[0]


@PROPERTY
@given(
    st.sampled_from(FLUIDS), st.floats(273.15, 345.0), st.floats(-300.0, 80.0), st.floats(-1e6, 5e6),
    st.floats(1.5, 40.0),
)  # fmt: skip
def test_orifice_flow_is_positive_and_finite_at_any_trial_state(
    name, condensing, subcooling, downstream, length
):
    device = Expansion("fixed orifice", 2e-6, length_ratio=length)
    flow = orifice_flow(device, np.array(2e-6), before(name, condensing, subcooling), np.array(downstream))
    assert np.isfinite(flow)
    assert flow > 0.0


def test_orifice_arrays_equal_scalars():
    together = before("R22", 318.15, np.linspace(-5.0, 20.0, 6))
    single = [before("R22", 318.15, subcooling) for subcooling in np.linspace(-5.0, 20.0, 6)]
    np.testing.assert_allclose(
        orifice_flow(ORIFICE, np.array(2e-6), together, DOWNSTREAM),
        [float(orifice_flow(ORIFICE, np.array(2e-6), state, DOWNSTREAM)) for state in single],
        rtol=1e-12,
    )


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
