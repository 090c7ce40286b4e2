"""The laboratory unit of NISTIR 7350 for tests of the model: the generic unit brought to test 5 alone.

A maximum a posteriori fit of eight factors, small enough to read at a glance and independent of
`calibration`, so that a test of the physics does not lean on the fit that the project ships.

Source: Kim, Payne, Domanski, Hermes 2006, NISTIR 7350, Appendix D, fault-free table (`tests/reference`).
"""

from __future__ import annotations

import csv
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import numpy as np
from scipy.optimize import least_squares

from model.components.unit import Unit
from model.cycle.boundary import Conditions
from model.cycle.sizing import nominal_unit
from model.cycle.solve import OperatingPoint, solve
from model.properties import moist_air
from model.properties.refrigerant import refrigerant

REFERENCE = Path(__file__).parents[1] / "reference"
FITTED_TEST = 5
STANDARD_CFM = 4.71947e-4 * 1.2041
"""Dry air [kg/s] in a standard cubic foot a minute, moisture counted in."""
READING_ACCURACY = {
    "evaporating": 0.2, "condensing": 0.2, "superheat": 0.3, "subcooling": 0.3, "discharge": 1.0,
    "gross_capacity": 100.0, "compressor_power": 10.0, "sensible_ratio": 0.01,
}  # fmt: skip
"""Weights of the readings in the fit, of the order of the report's instrument accuracies (K, W, -)."""
PRIOR_SPREAD = np.array([0.3, 0.2, 0.4, 0.6, 0.4, 0.4, 0.4, 0.4])
"""Spread of the logarithm of each factor around the generic unit's: common practice, no source."""


def reference_rows(name: str) -> list[dict[str, str]]:
    """Rows of a file in `tests/reference`."""
    with (REFERENCE / name).open(newline="") as file:
        return list(csv.DictReader(file))


def laboratory_tests() -> dict[int, dict[str, float]]:
    """The shared steady tests by number, as printed."""
    rows = reference_rows("nistir7350_fault_free_cooling.csv")
    return {int(row["test"]): {key: float(value) for key, value in row.items()} for row in rows}


def laboratory_conditions(row: dict[str, float]) -> Conditions:
    humidity = moist_air.humidity_ratio_from_dew_point(row["indoor_dewpoint_C"] + 273.15, 101_325.0)
    return Conditions(
        outdoor_temperature=row["outdoor_db_C"] + 273.15,
        return_temperature=row["indoor_db_C"] + 273.15,
        return_humidity_ratio=humidity,
        indoor_airflow=row["indoor_air_scfm"] * STANDARD_CFM / (1.0 + humidity),
        indoor_power=row["indoor_fan_W"],
    )


def readings(row: dict[str, float]) -> dict[str, float]:
    """What gauges, probes and meters showed: temperatures [K], powers [W]."""
    fluid = refrigerant("R410A")
    evaporating = float(fluid.dew_temperature(row["suction_kPa"] * 1e3))
    condensing = float(fluid.bubble_temperature(row["cond_exit_kPa"] * 1e3))
    return {
        "evaporating": evaporating,
        "condensing": condensing,
        "superheat": row["suction_T_C"] + 273.15 - evaporating,
        "subcooling": condensing - row["cond_exit_T_C"] - 273.15,
        "discharge": row["discharge_T_C"] + 273.15,
        "gross_capacity": row["net_capacity_W"] + row["indoor_fan_W"],
        "compressor_power": row["compressor_power_W"],
        "sensible_ratio": row["shr"],
    }


def predicted(point: OperatingPoint) -> dict[str, np.ndarray]:
    """The same readings of operating points."""
    return {
        "evaporating": point.evaporating_temperature,
        "condensing": point.condensing_temperature,
        "superheat": point.superheat,
        "subcooling": point.subcooling,
        "discharge": point.discharge_temperature,
        "gross_capacity": point.gross_capacity,
        "compressor_power": point.compressor_power,
        "sensible_ratio": point.sensible_capacity / point.net_capacity,
    }


def generic_unit() -> Unit:
    """Nameplate of the report's unit: 2.5 tons, R-410A, scroll, TXV, its fans as measured in test 5."""
    return nominal_unit(
        "R410A", 8800.0, 3.4, indoor_airflow=0.4776, indoor_power=417.0, outdoor_fan_power=159.7
    )


def scaled_unit(unit: Unit, logarithms: np.ndarray) -> Unit:
    """`unit` with eight of its numbers multiplied: shape (8, …) makes a family of units."""
    swept, efficiency, shell, condenser, boiling, air, charge, valve = np.exp(logarithms)
    machine, outdoor, indoor = unit.compressor, unit.condenser, unit.evaporator
    return replace(
        unit,
        compressor=replace(
            machine,
            displacement=machine.displacement * swept,
            efficiency=machine.efficiency * efficiency,
            shell_loss=machine.shell_loss * shell,
        ),
        condenser=replace(
            outdoor,
            air_conductance=outdoor.air_conductance * condenser,
            vapour_conductance=outdoor.vapour_conductance * condenser,
            condensing_conductance=outdoor.condensing_conductance * condenser,
            liquid_conductance=outdoor.liquid_conductance * condenser,
        ),
        evaporator=replace(
            indoor,
            boiling_conductance=indoor.boiling_conductance * boiling,
            air_conductance=indoor.air_conductance * air,
            vapour_conductance=indoor.vapour_conductance * air,
        ),
        circuit=replace(unit.circuit, charge=unit.circuit.charge * charge),
        expansion=replace(unit.expansion, area=unit.expansion.area * valve),
    )


@lru_cache(maxsize=1)
def laboratory_unit() -> Unit:
    """The unit that reproduces test 5 (27.6 degC outdoors, 26.7 degC indoors, wet coil)."""
    row = laboratory_tests()[FITTED_TEST]
    unit, conditions, measured = generic_unit(), laboratory_conditions(row), readings(row)

    def misfit(points: np.ndarray) -> np.ndarray:
        shown = predicted(solve(scaled_unit(unit, points), conditions))
        rows = [(shown[name] - measured[name]) / accuracy for name, accuracy in READING_ACCURACY.items()]
        return np.concatenate([rows, points / PRIOR_SPREAD[:, None]])

    def jacobian(point: np.ndarray) -> np.ndarray:
        step = 1e-4
        columns = misfit(point[:, None] + step * np.hstack([np.zeros((8, 1)), np.eye(8)]))
        return (columns[:, 1:] - columns[:, :1]) / step

    found = least_squares(lambda point: misfit(point[:, None])[:, 0], np.zeros(8), jac=jacobian)
    return scaled_unit(unit, found.x)
