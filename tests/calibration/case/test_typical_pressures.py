"""Usual pressures follow the refrigerant."""

import pytest

from calibration.case.typical_pressures import typical_pressure
from calibration.case.units import PSI
from model.properties.moist_air import STANDARD_PRESSURE


@pytest.mark.parametrize(
    ("refrigerant", "suction", "liquid"),
    # gauge pressures [psi] of R410A and R22 at 40 and 105 degF, from memory of the trade's printed charts
    [("R410A", 118.0, 340.0), ("R22", 68.5, 211.0)],
)
def test_a_charts_usual_pressures_are_inside(refrigerant, suction, liquid):
    for name, value in (("suction_pressure", suction), ("liquid_pressure", liquid)):
        low, high = typical_pressure(name, refrigerant)
        assert low < value * PSI + STANDARD_PRESSURE < high


def test_r410a_readings_are_unusual_for_r22():
    low, high = typical_pressure("suction_pressure", "R22")
    assert not low < 130 * PSI + STANDARD_PRESSURE < high


def test_what_has_no_usual_pressure():
    assert typical_pressure("suction_temperature", "R410A") is None
    assert typical_pressure("suction_pressure", "no such gas") is None
