"""Compressor: limits, textbook work integrals, the ten coefficients of AHRI 540, energy of the gas."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from model.components.compressor import (
    GAS_EXPONENT,
    Compressor,
    CompressorMap,
    RatedSuction,
    compression_penalty,
    compression_power,
    map_value,
    mapped_flow_and_power,
    shell_heat,
    volumetric_flow,
    within_envelope,
)
from model.properties.refrigerant import refrigerant

PROPERTY = settings(derandomize=True, deadline=None, max_examples=100)
RATIOS = np.array([1.0, 1.4, 2.2, 3.0, 5.0])
FLOW = (0.05, 4e-4, -2e-4, 3e-6, 1e-6, -5e-6, 2e-8, 1e-8, -3e-8, 4e-8)
POWER = (900.0, -8.0, 20.0, 0.1, 0.2, 0.3, 1e-3, 2e-3, 3e-3, 4e-3)


def scroll(**changes: object) -> Compressor:
    numbers = {
        "displacement": 1.6e-3, "leakage_slope": 0.045, "efficiency": 0.72, "built_in_ratio": 2.3,
        "constant_power": 60.0, "shell_loss": 150.0,
    }  # fmt: skip
    return Compressor(**(numbers | changes))


def test_draws_its_swept_volume_at_ratio_one_and_loses_the_slope_with_each_unit_of_ratio():
    assert volumetric_flow(scroll(), np.array(1.0)) == pytest.approx(1.6e-3, rel=1e-12)
    fall = np.diff(volumetric_flow(scroll(), np.array([1.0, 2.0, 3.0, 4.0])))
    np.testing.assert_allclose(fall, -0.045 * 1.6e-3, rtol=1e-12)


def test_tight_machine_draws_its_swept_volume_at_every_ratio():
    np.testing.assert_allclose(volumetric_flow(scroll(leakage_slope=0.0), RATIOS), 1.6e-3, rtol=1e-12)


def test_volume_follows_speed_and_scale():
    full = volumetric_flow(scroll(), RATIOS)
    np.testing.assert_allclose(volumetric_flow(scroll(), RATIOS, speed=0.67), 0.67 * full, rtol=1e-12)
    np.testing.assert_allclose(
        volumetric_flow(scroll(displacement_scale=1.1), RATIOS), 1.1 * full, rtol=1e-12
    )


@PROPERTY
@given(st.floats(1.0, 60.0), st.floats(0.01, 5.0), st.floats(0.0, 0.12))
def test_volume_falls_with_the_ratio_and_never_reaches_zero(ratio, more, slope):
    low, high = volumetric_flow(scroll(leakage_slope=slope), np.array([ratio, ratio + more]))
    assert high > 0.0
    assert high <= low


def test_volume_fades_out_without_a_corner_below_a_fifth_of_the_swept_one():
    """At a slope of 0.1: a fifth is left at ratio 9, by the line none at ratio 11, less than none beyond."""
    ratios = np.array([8.999, 9.0, 9.001, 11.0, 13.0])
    drawn = volumetric_flow(scroll(leakage_slope=0.1), ratios) / 1.6e-3
    assert drawn[1] == pytest.approx(0.2, rel=1e-12)
    assert volumetric_flow(scroll(leakage_slope=0.1), np.array(8.9)) == pytest.approx(0.21 * 1.6e-3)
    np.testing.assert_allclose(np.diff(drawn[:3]), -1e-4, rtol=1e-3)
    np.testing.assert_allclose(drawn[3:], 0.2 * np.exp([-1.0, -2.0]), rtol=1e-12)


def test_penalty_is_one_at_the_built_in_ratio():
    for built_in in (1.5, 2.3, 3.2, 5.0):
        assert compression_penalty(np.array(built_in), built_in) == pytest.approx(1.0, abs=1e-12)


@PROPERTY
@given(st.floats(1.15, 12.0), st.floats(1.3, 6.0))
def test_no_machine_beats_isentropic_work(ratio, built_in):
    assert compression_penalty(np.array(ratio), built_in) >= 1.0 - 1e-12


@pytest.mark.parametrize(("ratio", "built_in"), [(1.2, 2.3), (2.0, 2.3), (3.5, 2.3), (6.0, 2.3), (4.0, 3.2)])
def test_penalty_is_the_indicator_diagram_of_a_machine_with_a_built_in_ratio(ratio, built_in):
    """Shaft work is the integral of v dp: along the isentrope to the built-in ratio, then at constant volume.

    Under- and over-compression as in any text on screw and scroll machines (Winandy, Saavedra, Lebrun 2002,
    from memory). Tolerance: quadrature only.
    """

    def volume(pressure: float) -> float:
        return pressure ** (-1.0 / GAS_EXPONENT)

    isentropic = quad(volume, 1.0, ratio)[0]
    indicated = quad(volume, 1.0, built_in)[0] + volume(built_in) * (ratio - built_in)
    assert compression_penalty(np.array(ratio), built_in) == pytest.approx(indicated / isentropic, rel=1e-9)


def test_penalty_stays_finite_where_isentropic_work_vanishes():
    near_one = compression_penalty(np.array([0.5, 1.0, 1.0001, 1.15]), 2.3)
    assert np.all(np.isfinite(near_one))
    np.testing.assert_allclose(near_one, near_one[-1], rtol=1e-12)


def test_ideal_machine_takes_isentropic_work():
    """R134a from saturated vapour at 0.14 MPa to 0.8 MPa takes 36.2 kJ/kg.

    Çengel, Boles, Thermodynamics, example of the ideal vapour-compression cycle (h1 239.16, h2 275.39 kJ/kg;
    from memory). Tolerance 0.3 kJ/kg: the book's table rests on another equation of state.
    """
    fluid = refrigerant("R134a")
    gas = fluid.vapour(0.14e6, 0.0)
    rise = fluid.isentropic_enthalpy(0.8e6, gas.entropy) - gas.enthalpy
    ideal = scroll(efficiency=1.0, constant_power=0.0, built_in_ratio=0.8 / 0.14)
    power = compression_power(ideal, np.array(0.05), rise, np.array(0.8 / 0.14))
    assert power / 0.05 == pytest.approx(36.23e3, abs=300.0)


def test_power_without_flow_is_the_constant_loss_at_its_speed():
    idle = compression_power(scroll(), np.array(0.0), np.array(30e3), np.array(2.3), speed=0.5)
    assert idle == pytest.approx(30.0, rel=1e-12)
    assert compression_power(scroll(), np.array(0.0), np.array(30e3), np.array(2.3)) == pytest.approx(60.0)


def test_power_scale_multiplies_everything():
    arguments = (np.array(0.05), np.array(30e3), np.array(3.0))
    assert compression_power(scroll(power_scale=1.07), *arguments) == pytest.approx(
        1.07 * compression_power(scroll(), *arguments), rel=1e-12
    )


def test_shell_gives_away_its_loss_but_never_more_than_half_of_the_power():
    assert shell_heat(scroll(shell_loss=0.0), np.array(1800.0)) == 0.0
    assert shell_heat(scroll(), np.array(1800.0)) == pytest.approx(150.0, rel=1e-12)
    assert shell_heat(scroll(), np.array(1800.0), speed=0.5) == pytest.approx(75.0, rel=1e-12)
    assert shell_heat(scroll(), np.array(100.0)) == pytest.approx(50.0, rel=1e-12)


def test_a_slow_machine_leaks_more_of_what_it_sweeps():
    """At a third of the speed a leak takes three times its share of the swept volume, a clearance its own."""
    lost = {
        leaking: 1.0 - volumetric_flow(scroll(leaking=leaking), np.array(3.0), speed=1.0 / 3.0) * 3.0 / 1.6e-3
        for leaking in (0.0, 1.0)
    }
    assert lost[0.0] == pytest.approx(2.0 * 0.045, rel=1e-12)
    assert lost[1.0] == pytest.approx(3.0 * 2.0 * 0.045, rel=1e-12)
    assert volumetric_flow(scroll(leaking=1.0), np.array(3.0)) == volumetric_flow(scroll(), np.array(3.0))


def test_map_terms_stand_in_the_order_of_the_standard():
    """AHRI 540 (from memory): C1 + C2 S + C3 D + C4 S2 + C5 SD + C6 D2 + C7 S3 + C8 DS2 + C9 SD2 + C10 D3."""
    s, d = np.array(2.0), np.array(3.0)
    terms = [map_value(tuple(float(i == j) for j in range(10)), s, d) for i in range(10)]
    assert terms == [1.0, 2.0, 3.0, 4.0, 6.0, 9.0, 8.0, 12.0, 18.0, 27.0]


RATED = RatedSuction(np.array(34.0), np.array(28e3), np.array(283.15), np.array(318.15))


def mapped(rating: CompressorMap, **changes: object) -> Compressor:
    return scroll(rating_map=rating, **changes)


def test_map_is_taken_as_printed_at_its_own_superheat():
    machine = mapped(CompressorMap(FLOW, POWER, superheat=10.0))
    flow, power = mapped_flow_and_power(machine, RATED.density, RATED.isentropic_rise, RATED)
    assert flow == pytest.approx(map_value(FLOW, np.array(10.0), np.array(45.0)), rel=1e-12)
    assert power == pytest.approx(map_value(POWER, np.array(10.0), np.array(45.0)), rel=1e-12)


def test_three_quarters_of_a_density_change_reach_the_maps_flow_and_its_power():
    """Dabiri, Rice 1981 (from memory): factor 0.75 on the relative change of suction density; power goes with
    flow and isentropic work."""
    machine = mapped(CompressorMap(FLOW, POWER, superheat=10.0))
    flow, power = mapped_flow_and_power(machine, RATED.density, RATED.isentropic_rise, RATED)
    less, drawn = mapped_flow_and_power(machine, 0.96 * RATED.density, 1.05 * RATED.isentropic_rise, RATED)
    assert less / flow == pytest.approx(1.0 - 0.75 * 0.04, rel=1e-12)
    assert drawn / power == pytest.approx((1.0 - 0.75 * 0.04) * 1.05, rel=1e-12)


def test_a_map_is_asked_within_its_envelope():
    rating = CompressorMap(FLOW, POWER, 10.0, (255.0, 285.0), (300.0, 330.0))
    suction, discharge = within_envelope(
        rating, np.array([250.0, 270.0, 290.0]), np.array([340.0, 310.0, 290.0])
    )
    np.testing.assert_array_equal(suction, [255.0, 270.0, 285.0])
    np.testing.assert_array_equal(discharge, [330.0, 310.0, 300.0])
    with pytest.raises(ValueError, match="suction_range must rise, got 285 to 255"):
        CompressorMap(FLOW, POWER, 10.0, (285.0, 255.0))


def test_scales_act_on_the_map():
    rating = CompressorMap(FLOW, POWER, superheat=10.0)
    gas = RATED.density, RATED.isentropic_rise, RATED
    plain = mapped_flow_and_power(mapped(rating), *gas)
    fitted = mapped_flow_and_power(mapped(rating, displacement_scale=0.9, power_scale=1.2), *gas)
    assert fitted[0] / plain[0] == pytest.approx(0.9, rel=1e-12)
    assert fitted[1] / plain[1] == pytest.approx(1.2, rel=1e-12)


def test_map_must_hold_ten_numbers():
    with pytest.raises(ValueError, match=r"power_coefficients must hold 10 numbers \(AHRI 540\), got 9"):
        CompressorMap(FLOW, POWER[:9], superheat=10.0)
    with pytest.raises(ValueError, match=r"flow_coefficients must hold 10 numbers \(AHRI 540\), got 11"):
        CompressorMap((*FLOW, 1.0), POWER, superheat=10.0)


def test_machine_without_a_map_says_so():
    with pytest.raises(ValueError, match="rating_map must be given to use the maker's map, got None"):
        mapped_flow_and_power(scroll(), RATED.density, RATED.isentropic_rise, RATED)


def test_arrays_equal_scalars():
    machine = scroll()
    flow, rise = np.array([0.03, 0.05, 0.06, 0.04, 0.02]), np.linspace(5e3, 50e3, 5)
    together = (
        volumetric_flow(machine, RATIOS),
        compression_penalty(RATIOS, 2.3),
        compression_power(machine, flow, rise, RATIOS),
        shell_heat(machine, 40e3 * flow),
        map_value(FLOW, RATIOS, 30.0 + RATIOS),
    )
    for i, ratio in enumerate(RATIOS):
        single = (
            volumetric_flow(machine, ratio),
            compression_penalty(ratio, 2.3),
            compression_power(machine, flow[i], rise[i], ratio),
            shell_heat(machine, 40e3 * flow[i]),
            map_value(FLOW, ratio, 30.0 + ratio),
        )
        np.testing.assert_allclose([row[i] for row in together], single, rtol=1e-13)


def test_a_family_of_machines_equals_each_machine():
    family = scroll(displacement=np.array([1e-3, 2e-3]), built_in_ratio=np.array([2.0, 3.0]))
    for i, (swept, built_in) in enumerate([(1e-3, 2.0), (2e-3, 3.0)]):
        one = scroll(displacement=swept, built_in_ratio=built_in)
        assert volumetric_flow(family, np.array(2.7))[i] == volumetric_flow(one, np.array(2.7))
        arguments = (np.array(0.05), np.array(30e3), np.array(2.7))
        assert compression_power(family, *arguments)[i] == pytest.approx(
            compression_power(one, *arguments), rel=1e-13
        )
