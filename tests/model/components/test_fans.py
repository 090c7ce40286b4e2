"""Fan against coil: fan laws, limits, blocked area that is not airflow lost, pressure-drop rise of dust."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from model.components.fans import (
    BLOWER_UNLOADING,
    COIL_EXPONENT,
    PROPELLER_UNLOADING,
    TOP_SPEED,
    Fan,
    airflow_ratio,
    fan_power_ratio,
    resistance,
)

PROPERTY = settings(derandomize=True, deadline=None, max_examples=100)
PROPELLER = Fan(airflow=1.0, power=160.0, curve_slope=2.5, coil_share=0.6)
STEADY = Fan(airflow=1.0, power=400.0, curve_slope=1.5, coil_share=0.35, constant_airflow=True)


def test_clean_unit_moves_its_clean_airflow():
    assert airflow_ratio(PROPELLER) == pytest.approx(1.0, abs=1e-12)
    assert resistance(PROPELLER, np.array(1.0), 0.0, 0.0) == pytest.approx(1.0, rel=1e-14)
    assert fan_power_ratio(PROPELLER, 1.0, 1.0) == pytest.approx(1.0, rel=1e-14)


@PROPERTY
@given(st.floats(0.0, 0.95), st.floats(0.0, 10.0), st.floats(0.1, 1.2))
def test_airflow_is_where_fan_curve_and_resistance_meet(blocked, dust, speed):
    """Pressure of the fan at a speed: squared with the speed, falling linearly with the flow (fan laws)."""
    flow = airflow_ratio(PROPELLER, blocked, dust, speed)
    fan_pressure = speed**2 + 2.5 * speed * (speed - flow)
    assert 0.0 < flow <= 1.25 * speed
    assert fan_pressure == pytest.approx(float(resistance(PROPELLER, flow, blocked, dust)), rel=1e-9)


@PROPERTY
@given(st.floats(0.05, 1.5))
def test_square_law_resistance_gives_the_first_fan_law(speed):
    """Flow in proportion to speed where all resistance goes with the square (any fan engineering text)."""
    plain = Fan(1.0, 160.0, curve_slope=2.5, coil_share=0.0)
    assert airflow_ratio(plain, speed=speed) == pytest.approx(speed, rel=1e-9)


@PROPERTY
@given(st.floats(0.0, 0.9), st.floats(0.001, 0.05), st.floats(0.0, 9.0), st.floats(0.001, 1.0))
def test_more_dirt_never_moves_more_air(blocked, more, dust, thicker):
    clean = airflow_ratio(PROPELLER, blocked, dust)
    assert airflow_ratio(PROPELLER, blocked + more, dust) < clean
    assert airflow_ratio(PROPELLER, blocked, dust + thicker) < clean


def test_blocked_area_is_not_airflow_lost():
    """Half of the face blocked costs a propeller fan far less than half of its air."""
    blocked = np.array([0.25, 0.5, 0.75])
    lost = 1.0 - airflow_ratio(PROPELLER, blocked)
    assert np.all(lost < 0.75 * blocked)
    velocity = (1.0 - lost) / (1.0 - blocked)
    assert np.all(np.diff(velocity) > 0)


def test_stiffer_fan_loses_less_air():
    blocked = 0.5
    soft, stiff = (airflow_ratio(Fan(1.0, 160.0, slope, 0.6), blocked) for slope in (1.0, 6.0))
    assert soft < stiff < 1.0


def test_nearly_closed_face_lets_hardly_any_air_through():
    assert airflow_ratio(PROPELLER, blocked=0.999) < 0.01


def test_dust_raises_the_coils_share_of_pressure_drop_at_equal_velocity():
    """30 % is the rise that Pak, Groll, Braun 2005 report for single-row coils (28 to 31 %, abstract)."""
    assert resistance(PROPELLER, np.array(1.0), 0.0, 0.3) == pytest.approx(1.0 + 0.6 * 0.3, rel=1e-12)
    coil_only = Fan(1.0, 160.0, 2.5, coil_share=1.0)
    assert resistance(coil_only, np.array(0.8), 0.0, 0.3) / resistance(
        coil_only, np.array(0.8), 0.0, 0.0
    ) == pytest.approx(1.3)


def test_blocked_face_raises_velocity_through_the_coil_alone():
    expected = 0.6 * 2.0**COIL_EXPONENT + 0.4
    assert resistance(PROPELLER, np.array(1.0), 0.5, 0.0) == pytest.approx(expected, rel=1e-12)


def test_constant_airflow_motor_holds_the_air_and_pays_in_watts():
    assert np.all(airflow_ratio(STEADY, np.array([0.0, 0.1, 0.2]), 1.0) == 1.0)
    assert airflow_ratio(STEADY, speed=0.7) == 0.7
    drop = resistance(STEADY, np.array(1.0), 0.0, np.array([0.0, 1.0, 3.0]))
    power = fan_power_ratio(STEADY, 1.0, drop)
    np.testing.assert_allclose(power, [1.0, 1.35, 2.05], rtol=1e-12)


def test_constant_airflow_motor_runs_out_of_speed():
    """At its top speed it has about twice the clean pressure left; beyond, it is a fan of fixed speed."""
    dust = np.linspace(0.0, 20.0, 2001)
    flow, drop = airflow_ratio(STEADY, 0.0, dust), resistance(STEADY, np.array(1.0), 0.0, dust)
    held = flow == 1.0
    assert 1.9 < drop[held].max() < drop[~held].min() < 2.2
    fixed = airflow_ratio(Fan(1.0, 400.0, 1.5, 0.35), 0.0, dust, TOP_SPEED)
    np.testing.assert_allclose(flow[~held], fixed[~held], rtol=1e-12)
    assert np.all(np.diff(flow[~held]) < 0.0)
    assert np.abs(np.diff(flow)).max() < 0.002  # it bends there, and does not jump
    assert flow[-1] > airflow_ratio(Fan(1.0, 400.0, 1.5, 0.35), 0.0, dust[-1])
    assert airflow_ratio(STEADY, 0.0, dust[-1], 0.5) == 0.5


def test_fixed_speed_power_follows_the_cube_of_speed():
    """Third fan law at similar points."""
    assert fan_power_ratio(PROPELLER, 0.5, 0.25, speed=0.5) == pytest.approx(0.125, rel=1e-12)


def test_a_throttled_blower_unloads_and_a_propeller_fan_does_not():
    """A forward-curved blower sheds half of its power without air, a propeller's stays flat or rises (common
    practice, no source)."""
    throttled = np.array([1.0, 0.8, 0.5, 0.0])
    blower = fan_power_ratio(replace(PROPELLER, unloading=BLOWER_UNLOADING), throttled, 1.0)
    propeller = fan_power_ratio(replace(PROPELLER, unloading=PROPELLER_UNLOADING), throttled, 1.0)
    np.testing.assert_allclose(blower, [1.0, 0.9, 0.75, 0.5], rtol=1e-12)
    assert np.all(np.diff(propeller) >= 0.0)
    assert propeller[-1] < 1.3


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ({"blocked": 1.0}, r"blocked must lie in \[0, 1\), got 1"),
        ({"blocked": -0.1}, r"blocked must lie in \[0, 1\), got -0.1"),
        ({"blocked": np.array([0.2, 1.4])}, r"blocked must lie in \[0, 1\), got 1.4"),
        ({"blocked": np.nan}, r"blocked must lie in \[0, 1\), got nan"),
        ({"dust": -0.5}, r"dust must lie in \[0, inf\), got -0.5"),
        ({"speed": -1.0}, "speed must be above 0, got -1"),
        ({"speed": np.array([1.0, 0.0])}, "speed must be above 0, got 0"),
    ],
)
def test_impossible_dirt_is_refused(arguments, message):
    with pytest.raises(ValueError, match=message):
        airflow_ratio(PROPELLER, **arguments)


def test_arrays_equal_scalars():
    blocked, dust, speed = np.array([0.0, 0.3, 0.6]), np.array([0.0, 1.0, 4.0]), np.array([1.0, 0.8, 0.5])
    together = airflow_ratio(PROPELLER, blocked, dust, speed)
    single = [float(airflow_ratio(PROPELLER, *row)) for row in zip(blocked, dust, speed, strict=True)]
    np.testing.assert_allclose(together, single, rtol=1e-12)
    family = airflow_ratio(Fan(1.0, 160.0, np.array([1.0, 2.5, 6.0]), 0.6), 0.5)
    each = [float(airflow_ratio(Fan(1.0, 160.0, slope, 0.6), 0.5)) for slope in (1.0, 2.5, 6.0)]
    np.testing.assert_allclose(family, each, rtol=1e-12)


def test_shapes_broadcast():
    assert airflow_ratio(PROPELLER, np.zeros((3, 1)), np.zeros(4)).shape == (3, 4)
