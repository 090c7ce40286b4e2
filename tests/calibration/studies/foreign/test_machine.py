"""Machines of another structure: first law, signs of faults, physics that is not the model's own."""

import ast
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from calibration.studies.foreign import machine as machine_module
from calibration.studies.foreign.drawn_machine import drawn_foreign_unit, foreign_point
from calibration.studies.foreign.machine import solved
from model.cycle.faults import FAULTS, Faults, at_level
from model.cycle.sizing import rating_conditions

FOLDER = Path(machine_module.__file__).parent
SHARED = {"model.components.compressor"}
"""Modules of the model's equations that may be used: the polynomial of a compressor map."""


@pytest.fixture(scope="module")
def units():
    """One on a valve, one on an orifice with an accumulator."""
    found = [drawn_foreign_unit(np.random.default_rng(seed)) for seed in (2, 4)]
    assert [unit.machine.device for unit in found] == ["valve", "Leung's orifice"]
    return found


def test_no_equation_of_the_model_is_used():
    for path in FOLDER.glob("*.py"):
        if path.stem in ("drawn_machine", "found_ranges"):
            continue
        tree = ast.parse(path.read_text(encoding="utf-8"))
        used = {node.module for node in ast.walk(tree) if isinstance(node, ast.ImportFrom) and node.module}
        assert not {name for name in used if name.startswith("model.components")} - SHARED, path
        assert not used & {"model.cycle.balances", "model.cycle.solve"}, path


def test_what_the_coil_takes_and_the_compressor_adds_leaves_again(units):
    for unit in units:
        found, _, unknowns = solved(unit.machine, rating_conditions(), start=unit.start)
        assert not np.isnan(unknowns).any()
        added = found.flow * (found.discharge_enthalpy - found.suction_enthalpy)
        shell = found.power - added
        assert (shell > 0.0).all()
        assert (shell < 0.3 * found.power).all()
        point, _ = foreign_point(unit, rating_conditions())
        rejected = found.flow * (found.discharge_enthalpy - found.liquid_enthalpy)
        line = found.flow * (found.suction_enthalpy - found.exit_enthalpy)
        assert rejected == pytest.approx(point.gross_capacity + line + added, rel=1e-5)


SIGNS = {
    "condenser_blocked": ("liquid_pressure", 1.0),
    "condenser_dust": ("liquid_pressure", 1.0),
    "condenser_fan_slow": ("liquid_pressure", 1.0),
    "indoor_airflow_low": ("suction_pressure", -1.0),
    "undercharge": ("subcooling", -1.0),
    "overcharge": ("subcooling", 1.0),
    "non_condensables": ("liquid_pressure", 1.0),
    "liquid_line_restriction": ("suction_pressure", -1.0),
    "compressor_leakage": ("suction_pressure", 1.0),
    "valve_overfeed": ("superheat", -1.0),
}


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault.key)
def test_every_fault_moves_its_reading_the_known_way_and_costs_efficiency(units, fault):
    name, sign = SIGNS[fault.key]
    for unit in units:
        point, _ = foreign_point(unit, rating_conditions(), at_level(fault, np.array([0.0, 0.3])))
        shown = getattr(point, name)
        assert sign * (shown[1] - shown[0]) > 0.002 * abs(shown[0])
        if fault.key not in ("overcharge", "valve_overfeed", "undercharge"):
            assert point.eer[1] < 0.999 * point.eer[0]


def test_an_accumulator_keeps_surplus_charge_from_the_condenser(units):
    unit = units[1]
    more = Faults(charge_change=0.12)
    shown = []
    for size in (0.0, 0.15 * unit.machine.charge):
        other = replace(unit, machine=replace(unit.machine, accumulator=size))
        shown.append(float(foreign_point(other, rating_conditions(), more)[0].subcooling[0]))
    assert shown[1] < shown[0] - 0.3
