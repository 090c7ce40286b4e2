"""Moist air against ASHRAE's tables, PsychroLib, CoolProp's humid air and a table of density by altitude.

The closed forms take ideal gases, ASHRAE's tables real ones. Tolerances of table values are therefore those
of that difference, stated at each: it is not tuned away.
"""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path

import numpy as np
import psychrolib
import pytest
from CoolProp.HumidAirProp import HAPropsSI
from hypothesis import given, settings
from hypothesis import strategies as st

from model.arrays import Array
from model.properties import moist_air

REFERENCE = Path(__file__).parents[2] / "reference"
PROPERTY = settings(derandomize=True, deadline=None, max_examples=100)

PSI = 6894.757
BTU_PER_LB = 2326.0
CUBIC_FOOT_PER_LB = 0.3048**3 / 0.45359237
SEA_LEVEL = 14.696 * PSI


def kelvin(fahrenheit: float) -> float:
    return (fahrenheit + 459.67) / 1.8


def table(quantity: str) -> list[tuple[float, float]]:
    """Leading number of the condition, and the value, of the rows of one quantity."""
    with (REFERENCE / "moist_air_ashrae_2017.csv").open() as file:
        rows = [row for row in csv.DictReader(file) if row["quantity"] == quantity]
    assert rows
    return [(float(row["condition"].split()[0]), float(row["value"])) for row in rows]


def example(quantity: str) -> float:
    with (REFERENCE / "moist_air_ashrae_2017.csv").open() as file:
        return next(
            float(row["value"]) for row in csv.DictReader(file) if row["quantity"] == f"Example1 {quantity}"
        )


def test_saturation_pressure_is_ashrae_table_3() -> None:
    """ASHRAE 2017, ch. 1, Table 3: within 0.03 % (the table has a newer equation of state for water)."""
    for fahrenheit, psia in table("p_ws"):
        assert moist_air.saturation_vapour_pressure(kelvin(fahrenheit)) == pytest.approx(psia * PSI, rel=3e-4)


def test_saturated_humidity_ratio_is_ashrae_table_2_less_the_real_gas() -> None:
    """ASHRAE 2017, ch. 1, Table 2. The enhancement factor left out is 1.004 to 1.005, in W 0.4 to 0.6 %."""
    for fahrenheit, ratio in table("W_s"):
        value = moist_air.saturation_humidity_ratio(kelvin(fahrenheit), SEA_LEVEL)
        assert 0.993 * ratio < value < 0.998 * ratio


def test_enthalpy_differences_are_ashrae_table_2() -> None:
    """ASHRAE 2017, ch. 1, Table 2, saturated air, from 41 degF up; the zero cancels in differences.

    With ASHRAE's own humidity ratio the closed form is within 0.2 %; with its own, 0.5 % low.
    """
    enthalpies, ratios = dict(table("h_s")), dict(table("W_s"))
    low = 41.0
    for high in (77.0, 122.0):
        published = (enthalpies[high] - enthalpies[low]) * BTU_PER_LB
        same_water = moist_air.enthalpy(kelvin(high), ratios[high]) - moist_air.enthalpy(
            kelvin(low), ratios[low]
        )
        assert same_water == pytest.approx(published, rel=2e-3)
        both, _ = moist_air.saturation_enthalpy_and_slope([kelvin(high), kelvin(low)], SEA_LEVEL)
        assert both[0] - both[1] == pytest.approx(published, rel=7e-3)


def test_dry_air_is_ashrae_table_2() -> None:
    """ASHRAE 2017, ch. 1, Table 2: enthalpy over 0 degF 0.1 % (constant heat capacity), volume 0.1 %."""
    ((fahrenheit, value),) = table("h_da")
    rise = moist_air.enthalpy(kelvin(fahrenheit), 0.0) - moist_air.enthalpy(kelvin(0.0), 0.0)
    assert rise == pytest.approx(value * BTU_PER_LB, rel=1e-3)
    ((fahrenheit, volume),) = table("v_da")
    assert moist_air.specific_volume(kelvin(fahrenheit), 0.0, SEA_LEVEL) == pytest.approx(
        volume * CUBIC_FOOT_PER_LB, rel=1e-3
    )


def test_standard_atmosphere_is_ashrae_table_1() -> None:
    """ASHRAE 2017, ch. 1, Table 1, printed to 0.001 psia.

    Equation (3), in SI, is within 0.03 % up to 10 000 ft and 0.2 % low at 30 000 ft.
    """
    for feet, psia in table("p_atm"):
        tolerance = 3e-4 if feet <= 10e3 else 2e-3
        assert moist_air.standard_pressure(feet * 0.3048) == pytest.approx(psia * PSI, rel=tolerance)


def test_example_1_of_ashrae() -> None:
    """ASHRAE 2017, ch. 1, Example 1: 100 degF dry bulb, 65 degF wet bulb, 14.696 psia, rounded as printed.

    The printed humidity ratio 0.00523 is that of real gases (CoolProp has 0.005227); the closed form, in SI
    0.00518 and in PsychroLib's US units 0.00519, is 0.9 % low.
    """
    t = kelvin(100.0)
    ratio = moist_air.humidity_ratio_from_wet_bulb(t, kelvin(65.0), SEA_LEVEL)
    assert ratio == pytest.approx(example("W"), abs=6e-5)
    assert moist_air.dew_point(ratio, SEA_LEVEL) == pytest.approx(kelvin(example("Tdp")), abs=0.35)
    assert 100 * moist_air.relative_humidity(t, ratio, SEA_LEVEL) == pytest.approx(example("RH"), abs=0.5)
    over_zero = moist_air.enthalpy(t, ratio) - moist_air.enthalpy(kelvin(0.0), 0.0)
    assert over_zero == pytest.approx(example("h") * BTU_PER_LB, rel=2e-3)
    assert moist_air.specific_volume(t, ratio, SEA_LEVEL) == pytest.approx(
        example("v") * CUBIC_FOOT_PER_LB, rel=1e-3
    )


def test_density_by_altitude_is_that_of_a_design_guide() -> None:
    """US Bureau of Reclamation, Design Guide for HVAC Systems, Table 6a, pressures and 70 degF volumes.

    Densities are printed to three digits, and are up to 0.2 % above those of the printed pressures.
    """
    with (REFERENCE / "altitude_air_density.csv").open() as file:
        rows = [{key: float(value) for key, value in row.items()} for row in csv.DictReader(file)]
    assert len(rows) == 6
    for row in rows:
        pressure = moist_air.standard_pressure(row["altitude_ft"] * 0.3048)
        assert pressure == pytest.approx(row["psia"] * PSI, rel=1.5e-3)
        density = moist_air.density(kelvin(70.0), 0.0, pressure) * 0.3048**3 / 0.45359237
        assert density == pytest.approx(row["air_density_lb_ft3"], rel=2.5e-3)


STATES = [
    (celsius, humidity, pressure)
    for celsius in (2.0, 12.0, 24.0, 35.0, 46.0)
    for humidity in (0.05, 0.4, 0.7, 1.0)
    for pressure in (75e3, 101325.0)
]


@pytest.mark.parametrize(("celsius", "humidity", "pressure"), STATES)
def test_functions_are_psychrolibs(celsius: float, humidity: float, pressure: float) -> None:
    """PsychroLib 2.5, which has the same equations: 1e-5, and its own 0.001 K in wet bulb."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    t = celsius + 273.15
    ratio = float(moist_air.humidity_ratio_from_relative_humidity(t, humidity, pressure))
    assert ratio == pytest.approx(psychrolib.GetHumRatioFromRelHum(celsius, humidity, pressure), rel=1e-5)
    assert moist_air.enthalpy(t, ratio) == pytest.approx(
        psychrolib.GetMoistAirEnthalpy(celsius, ratio), rel=1e-5
    )
    assert moist_air.specific_volume(t, ratio, pressure) == pytest.approx(
        psychrolib.GetMoistAirVolume(celsius, ratio, pressure), rel=1e-5
    )
    assert moist_air.density(t, ratio, pressure) == pytest.approx(
        psychrolib.GetMoistAirDensity(celsius, ratio, pressure), rel=1e-5
    )
    assert moist_air.dew_point(ratio, pressure) - 273.15 == pytest.approx(
        psychrolib.GetTDewPointFromHumRatio(celsius, ratio, pressure), abs=2e-3
    )
    wet = psychrolib.GetTWetBulbFromHumRatio(celsius, ratio, pressure)
    if wet > 0.01:  # below, PsychroLib takes an iced wick and this module a wet one
        assert moist_air.wet_bulb(t, ratio, pressure) - 273.15 == pytest.approx(wet, abs=2e-3)
        assert moist_air.humidity_ratio_from_wet_bulb(t, wet + 273.15, pressure) == pytest.approx(
            psychrolib.GetHumRatioFromTWetBulb(celsius, wet, pressure), rel=1e-5
        )


@pytest.mark.parametrize(
    ("celsius", "wet"), [(12.0, 10.0), (27.0, 19.4), (26.7, 15.0), (35.0, 24.0), (42.0, 25.0)]
)
def test_functions_are_coolprops_humid_air(celsius: float, wet: float) -> None:
    """CoolProp's real-gas humid air: 2.6e-4 in humidity ratio and 0.11 kJ/kg in enthalpy differences."""
    t, pressure = celsius + 273.15, 101325.0
    ratio = float(moist_air.humidity_ratio_from_wet_bulb(t, wet + 273.15, pressure))
    assert ratio == pytest.approx(HAPropsSI("W", "T", t, "B", wet + 273.15, "P", pressure), abs=2.6e-4)
    exact = HAPropsSI("H", "T", t, "W", ratio, "P", pressure)
    exact -= HAPropsSI("H", "T", 285.15, "W", 0.008, "P", pressure)
    assert moist_air.enthalpy(t, ratio) - moist_air.enthalpy(285.15, 0.008) == pytest.approx(exact, abs=110.0)


def test_ice_and_liquid_meet_at_the_triple_point() -> None:
    below, above = moist_air.saturation_vapour_pressure([273.1599999, 273.1600001])
    assert below == pytest.approx(above, rel=1e-4)
    assert above == pytest.approx(611.657, rel=1e-3)


def test_saturation_over_ice_is_psychrolibs() -> None:
    psychrolib.SetUnitSystem(psychrolib.SI)
    celsius = np.array([-60.0, -20.0, -5.0])
    expected = [psychrolib.GetSatVapPres(value) for value in celsius]
    np.testing.assert_allclose(moist_air.saturation_vapour_pressure(celsius + 273.15), expected, rtol=1e-5)


def test_saturation_slope_is_the_slope() -> None:
    t = np.array([150.0, 230.0, 268.0, 280.0, 301.0, 335.0, 350.0])
    _, slope = moist_air.saturation_enthalpy_and_slope(t, 90e3)
    up, _ = moist_air.saturation_enthalpy_and_slope(t + 1e-3, 90e3)
    down, _ = moist_air.saturation_enthalpy_and_slope(t - 1e-3, 90e3)
    np.testing.assert_allclose((up - down) / 2e-3, slope, rtol=1e-6)


def test_saturation_enthalpy_is_that_of_saturated_air() -> None:
    t = np.linspace(210, 339, 50)
    value, _ = moist_air.saturation_enthalpy_and_slope(t, 80e3)
    expected = moist_air.enthalpy(t, moist_air.saturation_humidity_ratio(t, 80e3))
    np.testing.assert_allclose(value, expected, rtol=1e-12)


def test_dry_and_saturated_limits() -> None:
    t, p = np.array([283.15, 300.0, 318.0]), 95e3
    saturated = moist_air.saturation_humidity_ratio(t, p)
    np.testing.assert_allclose(moist_air.wet_bulb(t, saturated, p), t, atol=1e-4)
    np.testing.assert_allclose(moist_air.dew_point(saturated, p), t, atol=1e-6)
    np.testing.assert_allclose(moist_air.relative_humidity(t, saturated, p), 1.0, rtol=1e-12)
    np.testing.assert_allclose(moist_air.humidity_ratio_from_wet_bulb(t, t, p), saturated, rtol=1e-12)
    np.testing.assert_array_equal(moist_air.humidity_ratio_from_relative_humidity(t, 0.0, p), 0.0)
    np.testing.assert_array_equal(moist_air.relative_humidity(t, 0.0, p), 0.0)
    dry = moist_air.wet_bulb(t, 0.0, p)
    assert (dry < t - 5).all()
    np.testing.assert_allclose(moist_air.humidity_ratio_from_wet_bulb(t, dry, p), 0.0, atol=1e-6)


def test_wet_bulb_converges_over_the_stated_range() -> None:
    t, humidity, p = np.meshgrid(
        np.linspace(253.15, 333.15, 41), np.linspace(0.0, 1.0, 21), [60e3, 101325.0], indexing="ij"
    )
    ratio = moist_air.humidity_ratio_from_relative_humidity(t, humidity, p)
    wet = moist_air.wet_bulb(t, ratio, p)
    back = moist_air.humidity_ratio_from_wet_bulb(t, np.minimum(wet, t), p)
    np.testing.assert_allclose(back, ratio, atol=1e-6)


def test_standard_air_density_is_dry_air_of_20_celsius() -> None:
    value = moist_air.density(293.15, 0.0, moist_air.standard_pressure(0.0))
    assert value == pytest.approx(moist_air.STANDARD_AIR_DENSITY, abs=1e-4)
    assert pytest.approx(0.075 * 0.45359237 / 0.3048**3, rel=3e-3) == moist_air.STANDARD_AIR_DENSITY


@PROPERTY
@given(
    t=st.floats(260.0, 325.0),
    humidity=st.floats(0.01, 1.0),
    pressure=st.floats(65e3, 106e3),
    flow=st.floats(0.1, 10.0),
)
def test_there_and_back(t: float, humidity: float, pressure: float, flow: float) -> None:
    ratio = moist_air.humidity_ratio_from_relative_humidity(t, humidity, pressure)
    assert moist_air.relative_humidity(t, ratio, pressure) == pytest.approx(humidity, rel=1e-9)
    dew = moist_air.dew_point(ratio, pressure)
    assert moist_air.humidity_ratio_from_dew_point(dew, pressure) == pytest.approx(float(ratio), rel=1e-9)
    wet = np.minimum(moist_air.wet_bulb(t, ratio, pressure), t)
    assert moist_air.humidity_ratio_from_wet_bulb(t, wet, pressure) == pytest.approx(float(ratio), abs=1e-7)
    # over ice the dew point may pass the wet bulb of a liquid wick
    assert dew <= wet + (1e-3 if wet > 273.16 else 2.0)
    enthalpy = moist_air.enthalpy(t, ratio)
    assert moist_air.temperature_from_enthalpy(enthalpy, ratio) == pytest.approx(t, rel=1e-12)
    mass = moist_air.dry_air_mass_flow(flow, t, ratio, pressure)
    assert mass * (1 + ratio) / moist_air.density(t, ratio, pressure) == pytest.approx(flow, rel=1e-12)


def test_arrays_equal_single_values() -> None:
    t, w, p = np.array([275.0, 290.0, 305.0]), np.array([0.002, 0.008, 0.012]), np.array([80e3, 95e3, 101e3])
    functions: list[Callable[[object, object, object], Array]] = [
        moist_air.wet_bulb,
        moist_air.relative_humidity,
        moist_air.density,
        moist_air.specific_volume,
        lambda a, b, c: moist_air.dew_point(b, c),
        lambda a, b, c: moist_air.saturation_enthalpy_and_slope(a, c)[1],
        lambda a, b, c: moist_air.humidity_ratio_from_wet_bulb(a, np.asarray(a) - 2.0, c),
    ]
    for function in functions:
        whole = function(t, w, p)
        for i in range(3):
            one = function(float(t[i]), float(w[i]), float(p[i]))
            assert one.shape == ()
            assert one == pytest.approx(whole[i], rel=1e-14)
        assert function(t[:, None], w, p).shape in ((3, 3), (3,))


def test_bad_arguments_are_named() -> None:
    with pytest.raises(ValueError, match=r"temperature must be above 0 K, got -3"):
        moist_air.saturation_vapour_pressure([300.0, -3.0])
    with pytest.raises(ValueError, match=r"temperature must be above 0 K, got nan"):
        moist_air.saturation_vapour_pressure(np.nan)
    with pytest.raises(ValueError, match=r"pressure must be above the vapour pressure, got"):
        moist_air.saturation_humidity_ratio(380.0, 101325.0)
    with pytest.raises(ValueError, match=r"wet_bulb must not be above temperature, got 1 K above"):
        moist_air.humidity_ratio_from_wet_bulb(300.0, 301.0, 101325.0)
    with pytest.raises(ValueError, match=r"wet_bulb must not be below that of dry air"):
        moist_air.humidity_ratio_from_wet_bulb(310.0, 280.0, 101325.0)
    with pytest.raises(ValueError, match=r"relative_humidity must lie in \[0, 1\], got 1.4"):
        moist_air.humidity_ratio_from_relative_humidity(300.0, 1.4, 101325.0)
    with pytest.raises(ValueError, match=r"relative_humidity must lie in \[0, 1\], got -0.1"):
        moist_air.humidity_ratio_from_relative_humidity(300.0, -0.1, 101325.0)
    with pytest.raises(ValueError, match=r"humidity_ratio must be at least 0, got -0.01"):
        moist_air.relative_humidity(300.0, -0.01, 101325.0)
    with pytest.raises(ValueError, match=r"humidity_ratio must be at least 0, got nan"):
        moist_air.wet_bulb(300.0, np.nan, 101325.0)
    with pytest.raises(ValueError, match=r"humidity_ratio must be at least 0, got -0.01"):
        moist_air.wet_bulb(300.0, [0.01, -0.01], 101325.0)
    with pytest.raises(ValueError, match=r"humidity_ratio must be above 0 for a dew point"):
        moist_air.dew_point([0.01, 0.0], 101325.0)
    with pytest.raises(ValueError, match=r"pressure must be above 35000 Pa, got 1000"):
        moist_air.saturation_enthalpy_and_slope(300.0, 1000.0)
    with pytest.raises(ValueError, match=r"temperature must be a number, got nan"):
        moist_air.saturation_enthalpy_and_slope([300.0, np.nan], 1e5)
    with pytest.raises(ValueError, match=r"pressure must be above 0 Pa, got 0"):
        moist_air.density(300.0, 0.01, 0.0)
    with pytest.raises(ValueError, match=r"altitude must lie in \[-5000, 11000\] m, got 20000"):
        moist_air.standard_pressure(20000.0)
