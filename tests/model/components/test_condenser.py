"""Condenser zones against crossflow relations of the `ht` library, integrals along the zone, and limits."""

from __future__ import annotations

import ht
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp

from model.components.condenser import (
    DUST_INSULATION,
    REFRIGERANT_EXPONENT,
    AirStream,
    Condenser,
    RefrigerantSide,
    air_side_conductance,
    blanketing,
    condensing_area,
    condensing_conductance,
    desuperheating_area,
    effectiveness,
    heat_uptake,
    log_mean,
    partial_pressure,
    subcooling_area,
    zone_areas,
    zone_conductance,
)
from model.properties.refrigerant import refrigerant

PROPERTY = settings(derandomize=True, deadline=None, max_examples=100)
AIR_TEMPERATURE = 308.15
COIL = Condenser(
    air_conductance=1500.0, air_exponent=0.55, vapour_conductance=1200.0, condensing_conductance=6000.0,
    liquid_conductance=1300.0, rated_flow=0.055, volume=5e-3, pressure_drop=1e6, rated_pressure=2.7e6,
)  # fmt: skip


def air_stream(rate: float = 1100.0, conductance: float = 1500.0, open_face: float = 1.0) -> AirStream:
    return AirStream(*(np.asarray(v, dtype=float) for v in (rate, AIR_TEMPERATURE, conductance, open_face)))


def stream(**changes: object) -> RefrigerantSide:
    """R-410A at 45 degC bubble, gas at 75 degC, liquid 5 K subcooled, over air of 35 degC."""
    fluid = refrigerant("R410A")
    line = fluid.saturation(fluid.bubble_pressure(318.15))
    numbers = {
        "flow": 0.055, "pressure": line.pressure, "gas_temperature": 348.15,
        "dew_temperature": line.dew_temperature, "bubble_temperature": line.bubble_temperature,
        "gas_enthalpy": fluid.vapour(line.pressure, 348.15 - line.dew_temperature).enthalpy,
        "dew_enthalpy": line.vapour_enthalpy, "bubble_enthalpy": line.liquid_enthalpy,
        "exit_enthalpy": line.liquid_enthalpy - 5.0 * line.liquid_heat_capacity,
        "liquid_heat_capacity": line.liquid_heat_capacity, "subcooling_decay": np.log(10.0 / 5.0),
    }  # fmt: skip
    return RefrigerantSide(
        **{key: np.asarray(value, dtype=float) for key, value in (numbers | changes).items()}
    )


def test_clean_coil_at_clean_airflow_has_its_clean_conductance():
    assert air_side_conductance(COIL, np.array(1.0)) == pytest.approx(1500.0, rel=1e-14)


def test_air_side_follows_a_power_of_velocity():
    halved = air_side_conductance(COIL, np.array(0.5))
    assert halved == pytest.approx(1500.0 * 0.5**0.55, rel=1e-12)


def test_blocked_face_takes_its_area_and_drives_the_rest_faster():
    """Half of the face at all of the airflow: half of the area at twice the velocity."""
    blocked = air_side_conductance(COIL, np.array(1.0), blocked=0.5)
    assert blocked == pytest.approx(1500.0 * 0.5 * 2.0**0.55, rel=1e-12)


@PROPERTY
@given(
    st.floats(0.0, 0.9), st.floats(0.0, 0.09), st.floats(0.0, 10.0), st.floats(0.0, 1.0), st.floats(0.1, 1.2)
)
def test_neither_dirt_nor_dust_ever_adds_conductance_at_a_given_airflow(blocked, more, dust, thicker, flow):
    clean = air_side_conductance(COIL, np.array(flow), blocked, dust)
    dirty = air_side_conductance(COIL, np.array(flow), blocked + more, dust + thicker)
    assert 0.0 < dirty <= clean * (1 + 1e-12)


def test_dust_insulates_by_its_share_of_pressure_drop():
    ratio = air_side_conductance(COIL, np.array(1.0), dust=0.3) / 1500.0
    assert ratio == pytest.approx(1.0 / (1.0 + 0.3 * DUST_INSULATION), rel=1e-12)
    # Pak, Groll and Braun 2005, as the module quotes them: some 8 % less.
    assert 1.0 - ratio == pytest.approx(0.08, abs=0.005)


def test_a_tenth_of_gas_costs_about_a_quarter_of_the_condensing_conductance():
    """The order of magnitude that the module names, common practice without a source."""
    assert blanketing(0.0) == 1.0
    assert blanketing(0.1) == pytest.approx(0.77, abs=0.008)
    assert np.all(np.diff(blanketing(np.linspace(0.0, 0.9, 10))) < 0.0)


@pytest.mark.parametrize("ntu", [0.05, 0.3, 1.0, 2.5, 6.0])
def test_effectiveness_of_air_over_an_isothermal_fluid_against_ht(ntu):
    """`ht.effectiveness_from_NTU` at a heat capacity ratio of 0. Tolerance: rounding, closed forms."""
    first, second = 900.0, 4500.0
    rate = first * second / (first + second) / ntu
    assert effectiveness(np.array(first), np.array(second), np.array(rate)) == pytest.approx(
        ht.effectiveness_from_NTU(ntu, Cr=0.0), rel=1e-12
    )


def test_effectiveness_is_symmetric_in_the_two_sides_and_bounded():
    rate = np.array(1000.0)
    assert effectiveness(np.array(300.0), np.array(900.0), rate) == effectiveness(
        np.array(900.0), np.array(300.0), rate
    )
    assert effectiveness(np.array(1e-9), np.array(900.0), rate) == pytest.approx(0.0, abs=1e-11)
    assert effectiveness(np.array(1e9), np.array(1e9), rate) == pytest.approx(1.0, rel=1e-12)


@pytest.mark.parametrize("ends", [(60.0, 20.0), (10.0, 9.0), (5.0, 40.0), (0.3, 30.0)])
def test_log_mean_against_ht(ends):
    """`ht.LMTD` of a counterflow exchanger with these end differences. Tolerance: rounding."""
    first, second = ends
    expected = ht.LMTD(Thi=300.0 + first, Tho=300.0 + second, Tci=300.0, Tco=300.0)
    assert log_mean(np.array(first), np.array(second)) == pytest.approx(expected, rel=1e-10)


def test_log_mean_of_the_textbook_oil_cooler():
    """Counterflow oil cooler, oil 100 to 60, water 30 to 40.2 degC: 43.2 degC.

    Incropera, DeWitt, Fundamentals of Heat and Mass Transfer (from memory); half of the last printed digit.
    """
    assert log_mean(np.array(100.0 - 40.2), np.array(60.0 - 30.0)) == pytest.approx(43.2, abs=0.05)


def test_log_mean_of_equal_differences_is_the_difference():
    assert log_mean(np.array(7.0), np.array(7.0)) == pytest.approx(7.0, rel=1e-9)
    assert log_mean(np.array(7.0), np.array(7.0 * (1 + 1e-7))) == pytest.approx(7.0, rel=1e-6)


@PROPERTY
@given(st.floats(0.01, 100.0), st.floats(0.01, 100.0))
def test_log_mean_is_symmetric_and_lies_between_geometric_and_arithmetic_mean(first, second):
    mean = float(log_mean(np.array(first), np.array(second)))
    assert mean == pytest.approx(float(log_mean(np.array(second), np.array(first))), rel=1e-12)
    assert np.sqrt(first * second) * (1 - 1e-9) <= mean <= 0.5 * (first + second) * (1 + 1e-9)


@pytest.mark.parametrize("flow", [0.01, 0.05, 0.3, 2.0])
def test_subcooling_zone_is_a_crossflow_exchanger_with_the_refrigerant_mixed(flow):
    """Area for an approach, put back into `ht`'s crossflow relation with one fluid mixed, gives the approach.

    At small flow the refrigerant has the smaller capacity rate (mixed Cmin), at large flow the air has it
    (mixed Cmax). Tolerance: rounding; closed forms (Incropera, DeWitt, crossflow, one fluid mixed).
    """
    heat_capacity, decay = 1800.0, 0.4
    air = air_stream()
    area = float(subcooling_area(COIL, air, np.array(flow), np.array(heat_capacity), np.array(decay)))
    inside = float(zone_conductance(COIL, COIL.liquid_conductance, np.array(flow), air))
    conductance = area * 1.0 / (1.0 / inside + 1.0 / 1500.0)
    refrigerant_rate, air_rate = flow * heat_capacity, 1100.0 * area
    smaller, larger = sorted((refrigerant_rate, air_rate))
    side = "mixed Cmin" if refrigerant_rate <= air_rate else "mixed Cmax"
    found = ht.effectiveness_from_NTU(
        conductance / smaller, Cr=smaller / larger, subtype=f"crossflow, {side}"
    )
    assert found * smaller / refrigerant_rate == pytest.approx(-np.expm1(-decay), rel=1e-9)


def test_desuperheating_zone_against_integration_along_it():
    """Gas of constant heat capacity, strip by strip: the air takes its effectiveness of the difference.

    Tolerance: the integrator's.
    """
    air, flow, heat_capacity = air_stream(), 0.05, 1400.0
    hot, cool = 40.0, 12.0
    heat = flow * heat_capacity * (hot - cool)
    area = float(
        desuperheating_area(
            COIL,
            air,
            np.array(flow),
            np.array(heat),
            (np.array(AIR_TEMPERATURE + hot), np.array(AIR_TEMPERATURE + cool)),
        )
    )
    inside = float(zone_conductance(COIL, COIL.vapour_conductance, np.array(flow), air))
    strip = 1100.0 * (1.0 - np.exp(-1.0 / (1.0 / 1500.0 + 1.0 / inside) / 1100.0))
    run = solve_ivp(
        lambda _, excess: -strip * excess / (flow * heat_capacity), (0.0, area), [hot], rtol=1e-10, atol=1e-9
    )
    assert run.y[0, -1] == pytest.approx(cool, abs=1e-6)


@PROPERTY
@given(st.floats(1.0, 40.0), st.floats(1.0, 40.0), st.floats(1.0, 20.0))
def test_a_zone_cut_in_two_needs_the_same_area(first, second, last):
    """Cooling from a to c needs what a to b and b to c need together."""
    air, flow, capacity_rate = air_stream(), np.array(0.05), 70.0
    temperatures = AIR_TEMPERATURE + np.cumsum([last, second, first])[::-1]

    def area(start: float, end: float) -> float:
        return float(
            desuperheating_area(
                COIL, air, flow, np.array(capacity_rate * (start - end)), (np.array(start), np.array(end))
            )
        )

    whole = area(temperatures[0], temperatures[2])
    assert area(temperatures[0], temperatures[1]) + area(temperatures[1], temperatures[2]) == pytest.approx(
        whole, rel=1e-7
    )


def test_condensing_zone_without_glide_carries_effectiveness_times_difference():
    air, inside = air_stream(), np.array(6000.0)
    share = -np.expm1(-1.0 / (1.0 / 1500.0 + 1.0 / 6000.0) / 1100.0)
    heat = 0.8 * 1100.0 * share * 10.0
    ends = (np.array(AIR_TEMPERATURE + 10.0), np.array(AIR_TEMPERATURE + 10.0))
    assert condensing_area(air, np.array(heat), inside, ends) == pytest.approx(0.8, rel=1e-9)


def test_glide_is_worth_its_log_mean():
    air, inside, heat = air_stream(), np.array(6000.0), np.array(8000.0)
    level, gliding = (
        float(
            condensing_area(
                air, heat, inside, (np.array(AIR_TEMPERATURE + dew), np.array(AIR_TEMPERATURE + bubble))
            )
        )
        for dew, bubble in ((10.0, 10.0), (15.0, 10.0))
    )
    assert level / gliding == pytest.approx(ht.LMTD(325.0, 320.0, 310.0, 310.0) / 10.0, rel=1e-9)


def test_condensing_conductance_is_its_rating_at_rated_flow_and_pressure():
    assert condensing_conductance(COIL, air_stream(), np.array(0.055), np.array(2.7e6)) == pytest.approx(
        6000.0, rel=1e-12
    )


def test_condensing_conductance_follows_shahs_trend_with_flow_and_pressure():
    """Shah 1979 as `ht.condensation.Shah` has it, averaged over quality, with liquid like R-410A.

    The power law keeps the pressure term of Shah's sum alone, so that it exaggerates a little: 3 to 4 % from
    2.0 to 3.5 MPa.
    """
    liquid = {"rhol": 980.0, "mul": 1.0e-4, "kl": 0.085, "Cpl": 1800.0, "Pc": 4.90e6, "D": 8e-3}

    def average(flow: float, pressure: float) -> float:
        return quad(lambda x: ht.condensation.Shah(m=flow, x=x, P=pressure, **liquid), 0.0, 1.0)[0]

    def model(flow: float, pressure: float) -> float:
        return float(condensing_conductance(COIL, air_stream(), np.array(flow), np.array(pressure)))

    assert model(0.03, 2.7e6) / model(0.055, 2.7e6) == pytest.approx(
        average(0.03, 2.7e6) / average(0.055, 2.7e6), rel=1e-6
    )
    published = average(0.055, 3.5e6) / average(0.055, 2.0e6)
    assert model(0.055, 3.5e6) / model(0.055, 2.0e6) == pytest.approx(published, rel=0.04)


def test_blocked_face_takes_its_tubes_along():
    half = zone_conductance(COIL, 1200.0, np.array(0.055), air_stream(open_face=0.5))
    assert half == pytest.approx(600.0, rel=1e-12)
    slow = zone_conductance(COIL, 1200.0, np.array(0.0275), air_stream())
    assert slow == pytest.approx(1200.0 * 0.5**REFRIGERANT_EXPONENT, rel=1e-12)


def test_zones_that_are_not_there_need_no_area():
    usual = stream()
    wet_gas = zone_areas(
        COIL, air_stream(), stream(gas_enthalpy=usual.dew_enthalpy, gas_temperature=usual.dew_temperature)
    )
    assert wet_gas.desuperheating == 0.0
    not_condensed = zone_areas(
        COIL, air_stream(), stream(exit_enthalpy=usual.bubble_enthalpy + 20e3, subcooling_decay=-0.1)
    )
    assert not_condensed.subcooling == 0.0
    saturated = zone_areas(
        COIL, air_stream(), stream(exit_enthalpy=usual.bubble_enthalpy, subcooling_decay=0.0)
    )
    assert saturated.subcooling == 0.0
    assert 0.0 < not_condensed.condensing < saturated.condensing
    assert saturated.condensing == pytest.approx(
        float(zone_areas(COIL, air_stream(), usual).condensing), rel=1e-12
    )


def test_gas_that_arrives_wet_condenses_only_the_rest():
    usual = stream()
    latent = usual.dew_enthalpy - usual.bubble_enthalpy
    wet = stream(gas_enthalpy=usual.dew_enthalpy - 0.1 * latent, gas_temperature=usual.dew_temperature)
    ratio = zone_areas(COIL, air_stream(), wet).condensing / zone_areas(COIL, air_stream(), usual).condensing
    assert ratio == pytest.approx(0.9, rel=1e-9)


def test_total_is_the_sum_of_the_zones():
    areas = zone_areas(COIL, air_stream(), stream())
    assert areas.total == pytest.approx(
        float(areas.desuperheating + areas.condensing + areas.subcooling), rel=1e-14
    )
    assert min(areas.desuperheating, areas.condensing, areas.subcooling) > 0.0


@PROPERTY
@given(st.floats(0.2, 1.0), st.floats(1.05, 2.0))
def test_a_better_coil_needs_less_of_itself(rate, better):
    poor = zone_areas(COIL, air_stream(rate * 1100.0), stream()).total
    more_air = zone_areas(COIL, air_stream(better * rate * 1100.0), stream()).total
    more_conductance = zone_areas(COIL, air_stream(rate * 1100.0, 1500.0 * better), stream()).total
    assert more_air < poor
    assert more_conductance < poor


def test_arrays_equal_scalars():
    rates = np.array([400.0, 700.0, 1100.0])
    fields = [np.broadcast_to(value, (3,)) for value in stream()]
    together = zone_areas(COIL, air_stream()._replace(heat_capacity_rate=rates), RefrigerantSide(*fields))
    for i, rate in enumerate(rates):
        one = zone_areas(COIL, air_stream(rate), stream())
        np.testing.assert_allclose([part[i] for part in together], [float(part) for part in one], rtol=1e-13)


def test_other_gas_keeps_the_pressure_of_an_ideal_gas_in_a_closed_volume():
    """Gay-Lussac: in proportion to the absolute temperature, and what was said of it at 40 degC."""
    temperature = np.array([313.15, 323.15, 626.3])
    shown = partial_pressure(np.array([1e5, 1e5, 2e5]), temperature)
    np.testing.assert_allclose(shown, [1e5, 1e5 * 323.15 / 313.15, 4e5], rtol=1e-12)
    np.testing.assert_array_equal(partial_pressure(0.0, temperature), 0.0)


@pytest.mark.parametrize("back", [0.1, 0.3, 0.6])
def test_air_drawn_back_takes_up_what_its_two_heat_balances_say(back):
    """Mixing and exchange in turns until nothing changes: the entering air is a share of the leaving one."""
    air = air_stream()._replace(recirculation=np.asarray(back))
    inside, coil, outdoor = np.asarray(4000.0), 320.0, float(air.temperature)
    share = float(effectiveness(air.conductance, inside, air.heat_capacity_rate))
    entering = outdoor
    for _ in range(400):
        leaving = entering + share * (coil - entering)
        entering = (1.0 - back) * outdoor + back * leaving
    heat = float(air.heat_capacity_rate) * (leaving - entering)
    assert heat_uptake(air, inside) * (coil - outdoor) == pytest.approx(heat, rel=1e-9)
    assert heat == pytest.approx((1.0 - back) * float(air.heat_capacity_rate) * (leaving - outdoor), rel=1e-9)


def test_air_that_is_not_drawn_back_is_a_plain_stream():
    air = air_stream()
    plain = air.heat_capacity_rate * effectiveness(
        air.conductance, np.asarray(4000.0), air.heat_capacity_rate
    )
    assert heat_uptake(air, np.asarray(4000.0)) == plain
