"""The cooling unit turned round: which part plays which role."""

from __future__ import annotations

import numpy as np
import pytest

from model.components import expansion as device
from model.cycle.sizing import nominal_unit
from model.heating.heat_pump import DESIGN_SUPERHEAT, turned

UNIT = nominal_unit("R410A", 10_550.0)


def test_coils_change_places_and_keep_their_volumes_and_air_sides():
    pump = turned(UNIT)
    assert pump.cooling is UNIT
    assert pump.heating.condenser.volume == UNIT.evaporator.volume
    assert pump.heating.evaporator.volume == UNIT.condenser.volume
    assert pump.heating.evaporator.air_conductance == UNIT.condenser.air_conductance
    dry = UNIT.evaporator.air_conductance * UNIT.evaporator.dry_ratio
    assert pump.heating.condenser.air_conductance == dry
    assert pump.heating.outdoor_fan is UNIT.outdoor_fan


def test_reversing_valve_costs_pressure_on_both_sides():
    pump = turned(UNIT)
    assert pump.heating.condenser.pressure_drop > UNIT.condenser.pressure_drop
    assert pump.heating.circuit.suction_drop > 0.0


@pytest.mark.parametrize("kind", ["TXV", "fixed orifice"])
def test_heating_device_passes_the_design_flow(kind):
    pump = turned(UNIT, kind)
    part = pump.heating.expansion
    assert part.kind == kind
    if kind == "TXV":
        assert float(device.valve_opening(part, np.array(DESIGN_SUPERHEAT[kind]))) == pytest.approx(
            1.0, abs=0.05
        )
    assert 0.4 < float(pump.heating.rated_flow / UNIT.rated_flow) < 1.0


def test_low_pressure_limit_is_that_of_winter():
    """-30 degF for 0 degF: R-410A at 2.23 bar (CoolProp) for 4.34."""
    assert turned(UNIT).heating.low_pressure_limit == pytest.approx(2.23e5, rel=0.01)
