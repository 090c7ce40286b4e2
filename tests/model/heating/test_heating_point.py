"""Solved heating points against plain CoolProp calls, and a plain heating cycle solved by another's means."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import CoolProp
import numpy as np
import pytest

from model.components import compressor, condenser, evaporator
from model.cycle import balances
from model.cycle.sizing import nominal_unit
from model.heating.boundary import HeatingConditions, heating_surroundings, heating_test
from model.heating.heat_pump import turned
from model.heating.heating_point import HeatingPoint
from model.heating.solve import heat_pump, solve_heating, with_working_charge
from model.properties.refrigerant import refrigerant
from tests.model.cycle import test_independent_cycle as plain
from tests.model.cycle.test_independent_cycle import (
    PlainCycle,
    Properties,
    plant_result,
    root_solution,
    tespy_plant,
)

GAS, LIQUID = CoolProp.iphase_gas, CoolProp.iphase_liquid
DRY, RETURN = 1e-5, 294.261


@pytest.mark.parametrize("name", ["R410A", "R32", "R454B"])
def test_states_are_those_of_coolprop(name):
    """Enthalpies within 20 J/kg, flow within 1e-4, power within 3e-4, heat within 2e-4."""
    pump, properties = heat_pump(nominal_unit(name, 8800.0, 3.2)), Properties(name)
    point, unit = solve_heating(pump, heating_test()), pump.heating
    for side, phase in (("suction", GAS), ("discharge", GAS), ("liquid", LIQUID)):
        state = properties.at(
            float(getattr(point, f"{side}_pressure")), float(getattr(point, f"{side}_temperature")), phase
        )
        assert float(getattr(point, f"{side}_enthalpy")) == pytest.approx(state.hmass(), abs=20.0), side
    gas = properties.at(float(point.suction_pressure), float(point.suction_temperature), GAS)
    density, enthalpy, entropy = gas.rhomass(), gas.hmass(), gas.smass()
    ratio = np.asarray(point.discharge_pressure / point.suction_pressure)
    flow = float(compressor.volumetric_flow(unit.compressor, ratio)) * density
    assert float(point.refrigerant_flow) == pytest.approx(flow, rel=1e-4)
    above = float(point.condensing_temperature) + 5.0
    rise = properties.isentropic_enthalpy(float(point.discharge_pressure), entropy, above) - enthalpy
    power = float(compressor.compression_power(unit.compressor, np.asarray(flow), np.asarray(rise), ratio))
    assert float(point.compressor_power) == pytest.approx(power, rel=3e-4)


def plain_pump(name):
    """Constant efficiencies, no pressure drops, no losses on the way, dry air."""
    unit = nominal_unit(name, 8800.0, 3.2)
    unit = replace(
        unit,
        compressor=replace(unit.compressor, leakage_slope=0.0, constant_power=0.0, shell_loss=0.0),
        circuit=replace(unit.circuit, liquid_line_drop=0.0),
    )
    pump = replace(turned(unit), valve_gain=0.0, hot_gas_loss=0.0)
    heating = replace(
        pump.heating,
        condenser=replace(pump.heating.condenser, pressure_drop=0.0),
        evaporator=replace(pump.heating.evaporator, pressure_drop=0.0),
        circuit=replace(pump.heating.circuit, suction_drop=0.0),
        start=pump.heating.start._replace(subcooling_decay=np.array(0.1)),
    )
    return with_working_charge(replace(pump, heating=heating))


@lru_cache(maxsize=8)
def plain_heating_cycle(name: str, outdoor: float) -> tuple[PlainCycle, HeatingPoint]:
    """The plain cycle of cooling with room air at its condenser, and the model's solution of it.

    In `PlainCycle` the air at the condenser is called outdoor: here that is the room's.
    """
    pump, conditions = plain_pump(name), HeatingConditions(outdoor, DRY, RETURN)
    for _ in range(4):  # a built-in ratio equal to the pressure ratio leaves the constant efficiency alone
        point = solve_heating(pump, conditions)
        ratio = point.discharge_pressure / point.suction_pressure
        machine = replace(pump.heating.compressor, built_in_ratio=ratio)
        pump = replace(pump, heating=replace(pump.heating, compressor=machine))
    unit, given = heating_surroundings(pump, conditions)
    trial = balances.trial_point(point.unknowns, unit, refrigerant(name), given)
    assert not trial.zone.wet
    flow, coil, air = point.refrigerant_flow, unit.condenser, given.condenser_air
    growth = (flow / unit.evaporator.rated_flow) ** condenser.REFRIGERANT_EXPONENT
    figures = PlainCycle(
        name=name, outdoor=RETURN, volume_flow=unit.compressor.displacement,
        efficiency=unit.compressor.efficiency, superheat=point.evaporator_superheat,
        subcooling=point.subcooling, outdoor_rate=air.heat_capacity_rate,
        indoor_rate=given.evaporator_air.flow * given.evaporator_air.heat_capacity,
        outdoor_conductance=air.conductance, indoor_conductance=given.evaporator_air.conductance,
        gas=condenser.zone_conductance(coil, coil.vapour_conductance, flow, air),
        condensing=condenser.condensing_conductance(coil, air, flow, point.liquid_pressure),
        liquid=condenser.zone_conductance(coil, coil.liquid_conductance, flow, air),
        boiling=evaporator.boiling_conductance(unit.evaporator, flow),
        superheating=unit.evaporator.vapour_conductance * growth,
        shares=(float(trial.areas.condensing), float(evaporator.boiling_area(trial.superheating_area))),
    )  # fmt: skip
    return PlainCycle(*(float(v) if isinstance(v, np.ndarray | np.floating) else v for v in figures)), point


@pytest.mark.parametrize(("name", "outdoor"), [("R410A", 266.0), ("R32", 275.0), ("R22", 270.0)])
def test_plain_heating_cycle_against_propssi_and_a_root_finder(name, outdoor, monkeypatch):
    """Heat and power within 0.6 %, saturation temperatures within 0.25 K, as far as in cooling.

    The same plain cycle as in cooling, the room's air at its condenser and outdoor air at its evaporator.
    """
    cycle, point = plain_heating_cycle(name, outdoor)
    monkeypatch.setattr(plain, "RETURN_TEMPERATURE", outdoor)
    monkeypatch.setattr(plain, "STARTING_EVAPORATING", outdoor - 8.0)
    other = root_solution(cycle)
    assert point.heat_rejected == pytest.approx(other.rejected, rel=0.006)
    assert point.heat_absorbed == pytest.approx(other.cooling, rel=0.006)
    assert point.compressor_power == pytest.approx(other.power, rel=0.006)
    assert point.evaporating_temperature == pytest.approx(other.evaporating, abs=0.25)
    assert point.condensing_temperature == pytest.approx(other.condensing, abs=0.25)


@pytest.mark.filterwarnings("ignore::FutureWarning")
@pytest.mark.parametrize(("name", "outdoor"), [("R32", 275.0), ("R410A", 266.0)])
def test_plain_heating_cycle_against_tespy(name, outdoor, monkeypatch):
    """Heat and power within 0.1 %, saturation temperatures within 0.05 K, condenser areas within 0.5 % of
    one.

    Closer than in cooling: the room's air keeps the liquid far from critical. Started 5 % off in both
    pressures.
    """
    pytest.importorskip("tespy", reason="TESPy (an extra for benchmarks) is not installed")
    cycle, point = plain_heating_cycle(name, outdoor)
    monkeypatch.setattr(plain, "RETURN_TEMPERATURE", outdoor)
    start = (0.95 * point.suction_pressure, 1.05 * point.discharge_pressure, point.refrigerant_flow)
    plant = plant_result(tespy_plant(cycle, tuple(float(value) for value in start)))
    assert point.heat_rejected == pytest.approx(plant.rejected, rel=0.001)
    assert point.heat_absorbed == pytest.approx(plant.cooling, rel=0.001)
    assert point.compressor_power == pytest.approx(plant.power, rel=0.001)
    assert point.evaporating_temperature == pytest.approx(plant.evaporating, abs=0.05)
    assert point.condensing_temperature == pytest.approx(plant.condensing, abs=0.05)
    assert plant.areas == pytest.approx(1.0, abs=0.005)


def test_losses_on_the_way_are_small_and_cost_heat():
    """Reversing valve and hot-gas line: each 0.5 to 3 % of the heat (common practice, no source)."""
    pump = heat_pump(nominal_unit("R410A", 10_550.0))
    point = solve_heating(pump, heating_test())
    for loss in (point.valve_heat, point.line_loss):
        assert 0.005 < loss / point.heating_capacity < 0.03
    ideal = solve_heating(replace(pump, valve_gain=0.0, hot_gas_loss=0.0), heating_test())
    assert ideal.valve_heat == 0.0
    assert ideal.line_loss == 0.0
    assert ideal.cop > point.cop


def test_frost_is_what_the_air_loses_and_none_from_dry_air():
    pump = heat_pump(nominal_unit("R410A", 10_550.0))
    dry = solve_heating(pump, HeatingConditions(275.0, DRY))
    assert dry.deposit == 0.0
    humid = solve_heating(pump, HeatingConditions(275.0, 0.004))
    assert humid.deposit > 0.0
    assert humid.state_names() == "frost forms"
    assert humid.deposit < 0.004 * humid.outdoor_airflow * 1.3
