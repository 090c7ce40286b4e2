"""Tables as they are built: shapes, and the nodes at which they must be CoolProp's own values."""

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI

from model.properties.refrigerant import refrigerant
from model.properties.refrigerant_tables import FLUIDS, SHAPES, build

TABLES = build("R134a")


def test_every_array_has_its_shape_and_only_numbers():
    assert {name: table.shape for name, table in TABLES.items()} == SHAPES
    assert all(np.isfinite(table).all() for table in TABLES.values())


def test_building_again_gives_the_same_numbers():
    again = build("R134a")
    assert all(np.array_equal(again[name], TABLES[name]) for name in SHAPES)


@pytest.mark.parametrize("temperature", [250.0, 280.0, 320.0, 350.0])
def test_a_pure_fluid_boils_at_one_temperature_and_at_the_pressure_of_coolprop(temperature):
    """R134a: CoolProp's equation of state (Tillner-Roth and Baehr 1994), within 0.01 %."""
    fluid = refrigerant("R134a")
    pressure = PropsSI("P", "T", temperature, "Q", 0, "R134a")
    assert float(fluid.bubble_pressure(temperature)) == pytest.approx(pressure, rel=1e-4)
    assert float(fluid.dew_temperature(pressure)) == pytest.approx(temperature, abs=0.01)


def test_safety_classes_are_those_of_the_standard():
    """ANSI/ASHRAE Standard 34 (from memory): propane is A3, R32 and R454B are A2L, R22 is A1."""
    classes = {name: fluid.safety_class for name, fluid in FLUIDS.items()}
    assert classes["R290"] == "A3"
    assert classes["R32"] == classes["R454B"] == "A2L"
    assert classes["R22"] == classes["R410A"] == "A1"
