"""Numbers with units behind them, as gauges, thermometers and nameplates give them."""

import pytest

from calibration.case import units
from calibration.case.units import Quantity
from calibration.case.written_units import number_with_unit, written_units


@pytest.mark.parametrize(
    ("text", "quantity", "value"),
    [
        ("9.1 bar", units.GAUGE_PRESSURE, 9.1e5),
        ("9,1bar", units.GAUGE_PRESSURE, 9.1e5),
        ("132 psig", units.GAUGE_PRESSURE, 132 * 6894.757293),  # NIST SP 811: 6.894757 E+03
        ("35 °C", units.TEMPERATURE, 308.15),
        ("-4C", units.TEMPERATURE, 269.15),
        ("95 degF", units.TEMPERATURE, 308.15),
        ("3 tons", units.CAPACITY, 3 * 3516.853),  # NIST SP 811: 3.516853 E+03
        ("36 kBtu/h", units.CAPACITY, 3 * 3516.853),
        ("36,000 Btu/h", units.CAPACITY, 3 * 3516.853),
        ("10.5 kW", units.CAPACITY, 10_500.0),
        ("1,200 cfm", units.AIRFLOW, 1200 * 4.719474e-4),  # NIST SP 811
        ("2040 m3/h", units.AIRFLOW, 2040 / 3600),
        ("120 oz", units.MASS, 120 * 0.02834952),  # NIST SP 811
        ("2 440 W", units.POWER, 2440.0),
        ("51 %", units.PERCENT, 0.51),
    ],
)
def test_a_number_with_its_unit_means_that_unit(text, quantity, value):
    number, scale = number_with_unit(text, quantity)
    assert scale is not None
    assert scale.to_si(number) == pytest.approx(value, rel=1e-6)


@pytest.mark.parametrize(
    ("text", "number"), [("132", 132.0), ("36,000", 36000.0), ("9,1", 9.1), ("1e3", 1000.0)]
)
def test_without_a_unit_it_is_the_number_alone(text, number):
    assert number_with_unit(text, units.GAUGE_PRESSURE) == (number, None)


@pytest.mark.parametrize(
    ("text", "quantity"),
    [
        ("9 tons", units.GAUGE_PRESSURE),
        ("35 psi", units.TEMPERATURE),
        ("a lot", units.POWER),
        ("5 x", units.COUNT),
    ],
)
def test_a_unit_of_another_kind_is_refused(text, quantity):
    with pytest.raises(ValueError, match=r"no unit of|no number"):
        number_with_unit(text, quantity)


@pytest.mark.parametrize("quantity", [one for one in vars(units).values() if isinstance(one, Quantity)])
def test_the_units_of_both_systems_are_among_those_that_can_be_typed(quantity):
    labels = {scale.label: scale.factor for scale in written_units(quantity)}
    for scale in (quantity.us, quantity.si) if labels else ():
        assert labels.get(scale.label, scale.factor) == scale.factor
