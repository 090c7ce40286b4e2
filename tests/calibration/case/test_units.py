"""Unit conversions against exact definitions and published equivalents."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calibration.case import units
from calibration.case.units import Quantity

QUANTITIES = [value for value in vars(units).values() if isinstance(value, Quantity)]


@pytest.mark.parametrize(
    ("quantity", "us", "si"),
    [
        # NIST SP 811 (2008), Appendix B.8, factors as printed (six to seven digits)
        (units.GAUGE_PRESSURE, 100.0, 101325.0 + 689475.7),
        (units.PRESSURE_DIFFERENCE, 1.0, 6894.757),
        (units.AIRFLOW, 1.0, 4.719474e-4),
        (units.CAPACITY, 1.0, 0.2930711),
        (units.MASS, 1.0, 0.4535924),
        (units.LENGTH, 1.0, 0.3048),
        (units.REFRIGERANT_FLOW, 1.0, 1.259979e-4),
        (units.BAROMETRIC_PRESSURE, 29.92, 29.92 * 3386.389),
        (units.STATIC_PRESSURE, 1.0, 249.0889),
        (units.ENTHALPY, 1.0, 2326.0),
        (units.CONDUCTANCE, 1.0, 0.5275279),
        (units.TEMPERATURE, 32.0, 273.15),
        (units.TEMPERATURE, 212.0, 373.15),
        (units.TEMPERATURE_DIFFERENCE, 9.0, 5.0),
        (units.EFFICIENCY, 3.412142, 1.0),
        (units.PERCENT, 51.0, 0.51),
    ],
)
def test_us_units_against_printed_factors(quantity, us, si):
    assert quantity.to_si(us, "US") == pytest.approx(si, rel=2e-7)


def test_a_ton_is_twelve_thousand_btu_an_hour():
    # ASHRAE: one ton of refrigeration is 3.516853 kW
    assert pytest.approx(3516.853, rel=1e-6) == units.TON


@pytest.mark.parametrize("quantity", QUANTITIES, ids=lambda q: q.name)
@pytest.mark.parametrize("system", units.SYSTEMS)
@given(number=st.floats(-1e6, 1e6))
@settings(derandomize=True, deadline=None, max_examples=20)
def test_there_and_back(quantity, system, number):
    there = quantity.to_si(number, system, 90e3)
    assert quantity.from_si(there, system, 90e3) == pytest.approx(number, rel=1e-9, abs=1e-6)


@pytest.mark.parametrize("quantity", QUANTITIES, ids=lambda q: q.name)
def test_arrays_equal_scalars(quantity):
    numbers = np.array([1.0, 20.0, 300.0])
    there = quantity.to_si(numbers, "US", 95e3)
    assert there.tolist() == [quantity.to_si(float(n), "US", 95e3) for n in numbers]


def test_whole_degrees_stay_whole_between_scales():
    for fahrenheit in range(-40, 150, 9):
        kelvin = units.TEMPERATURE.to_si(float(fahrenheit), "US")
        assert units.TEMPERATURE.to_si((fahrenheit - 32) / 9 * 5.0, "SI") == kelvin


def test_only_gauge_pressures_count_from_the_local_air():
    assert units.GAUGE_PRESSURE.to_si(0.0, "US", 84e3) == 84e3
    assert units.BAROMETRIC_PRESSURE.to_si(0.0, "US", 84e3) == 0.0
    assert units.TEMPERATURE.to_si(50.0, "US", 84e3) == units.TEMPERATURE.to_si(50.0, "US")


def test_shown_rounds_and_has_no_minus_zero():
    assert units.TEMPERATURE.shown(308.15, "US") == "95.0"
    assert units.TEMPERATURE_DIFFERENCE.shown(-0.001, "SI") == "0.00"
    assert units.TEMPERATURE_DIFFERENCE.shown(-1.0, "SI") == "-1.00"
    assert units.CAPACITY.shown(10550.56, "US") == "36000"


def test_map_coefficients_give_the_same_value_in_celsius():
    rng = np.random.default_rng(3)
    coefficients = rng.normal(size=10).tolist()
    moved = units.celsius_coefficients(coefficients, "US")

    def polynomial(c, s, d):
        terms = [1, s, d, s * s, s * d, d * d, s**3, d * s * s, s * d * d, d**3]
        return sum(a * b for a, b in zip(c, terms, strict=True))

    for s, d in ((7.2, 46.1), (-10.0, 30.0), (0.0, 0.0)):
        fahrenheit = polynomial(coefficients, 1.8 * s + 32, 1.8 * d + 32)
        assert polynomial(moved, s, d) == pytest.approx(fahrenheit, rel=1e-12)


def test_si_map_coefficients_are_left_alone():
    coefficients = tuple(float(i) for i in range(10))
    assert units.celsius_coefficients(coefficients, "SI") == coefficients


def test_map_needs_ten_coefficients():
    with pytest.raises(ValueError, match="must be 10 numbers"):
        units.celsius_coefficients([1.0], "US")


@pytest.mark.filterwarnings("error")
def test_a_number_beyond_all_floats_becomes_infinite_without_a_warning():
    assert np.isinf(units.GAUGE_PRESSURE.to_si(np.float64(1e308), "US"))
    assert np.isinf(units.GAUGE_PRESSURE.to_si(np.array([1e308, 100.0]), "US")).tolist() == [True, False]
