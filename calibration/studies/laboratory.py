"""The published tests of one unit: fitted to some of them, every error on the others.

Nine steady tests of a 2.5-ton R-410A split heat pump in cooling (scroll, thermostatic valve), wet coil and
dry, from Kim, Payne, Domanski, Hermes 2006, NISTIR 7350, Appendix D, fault-free table. The two capacity
measurements of the source disagree by -2.6 to +4.3 % (its column of energy imbalance), which is the floor for
any comparison of capacity; capacity here is the air side's, with the blower's heat added back.
"""

from __future__ import annotations

import csv
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from calibration.case.meters import Instruments
from calibration.case.records import UnitDescription, Visit
from calibration.case.units import CFM
from calibration.clean_fit.baseline import Baseline, fit_baseline
from calibration.clean_fit.observation import conditions, observation
from model.arrays import Array
from model.cycle.solve import solve
from model.properties import moist_air
from model.properties.moist_air import STANDARD_PRESSURE
from model.properties.refrigerant import refrigerant

TABLE = Path(__file__).resolve().parents[2] / "cases" / "laboratory" / "nistir7350_fault_free_cooling.csv"
"""The published table as it stands in the repository."""
DESCRIPTION = UnitDescription("Laboratory split, 2.5 tons", "R410A", "TXV", 8792.0)
"""The tested unit: 2.5 tons nominal; everything else is left to the fit."""
INSTRUMENTS = Instruments(
    suction_gauge=3.0e3,
    liquid_gauge=5.0e3,
    discharge_gauge=5.0e3,
    pipe_thermometer=0.3,
    air_thermometer=0.15,
    wet_bulb=0.2,
    dew_point=0.2,
    airflow=0.015,
    wattmeter=0.005,
)
"""Standard accuracies of a laboratory's meters, not stated in the table (common practice, no source)."""


@dataclass(frozen=True)
class ComparedQuantity:
    """A compared figure: unit in words, whether its error is relative, required root mean square."""

    name: str
    unit: str
    relative: bool
    wanted: float


QUANTITIES = (
    ComparedQuantity("gross_capacity", "%", True, 3.0),
    ComparedQuantity("compressor_power", "%", True, 2.0),
    ComparedQuantity("evaporating_temperature", "K", False, 0.3),
    ComparedQuantity("condensing_temperature", "K", False, 0.4),
    ComparedQuantity("superheat", "K", False, 0.8),
    ComparedQuantity("subcooling", "K", False, 1.2),
    ComparedQuantity("sensible_heat_ratio", "", False, 0.03),
    ComparedQuantity("discharge_temperature", "K", False, 2.5),
)
"""What is compared, and what the project asks of itself."""


@dataclass(frozen=True)
class LaboratoryStudy:
    """Errors of one fit on every test.

    Attributes
    ----------
    fitted : tuple of str
        Tests that the unit was fitted to.
    tests : tuple of str
        All tests, in the order of the table.
    errors : dict of str to array (tests,)
        Predicted less measured: in % for relative quantities, else in the quantity's unit.
    root_mean_square : dict of str to float
        Over the tests that were not fitted; over all where all were.
    states : tuple of str
    """

    fitted: tuple[str, ...]
    tests: tuple[str, ...]
    errors: dict[str, Array]
    root_mean_square: dict[str, float]
    states: tuple[str, ...]

    @property
    def met(self) -> bool:
        """Whether every root mean square meets its requirement."""
        return all(self.root_mean_square[quantity.name] <= quantity.wanted for quantity in QUANTITIES)


def laboratory_rows(path: Path = TABLE) -> list[dict[str, float]]:
    """Rows of the published table, numbers as printed.

    Parameters
    ----------
    path : Path
        CSV file of the published table.

    Returns
    -------
    list of dict[str, float]
        One a test, by column.

    Raises
    ------
    OSError
        Where the table cannot be read.
    """
    with path.open(encoding="utf-8", newline="") as file:
        return [{name: float(cell) for name, cell in row.items()} for row in csv.DictReader(file)]


def laboratory_visit(row: dict[str, float], coil: str = "clean") -> Visit:
    """One published test as a visit [SI].

    The supply air's dew point follows from the return air's and the latent capacity, at the airflow of dry
    air. Pressures and temperatures are those at the ports: suction at the compressor, liquid at the
    condenser's exit.

    Parameters
    ----------
    row : dict of str to float
        One published test, numbers as printed.
    coil : str
        State of the condenser coil, for the visit.

    Returns
    -------
    Visit
        In SI.
    """
    returned = row["indoor_dewpoint_C"] + 273.15
    humidity = float(moist_air.humidity_ratio_from_dew_point(returned, STANDARD_PRESSURE))
    flow = row["indoor_air_scfm"] * CFM
    condensed = row["latent_W"] / (flow * moist_air.STANDARD_AIR_DENSITY * moist_air.VAPORISATION_ENTHALPY)
    supplied = float(moist_air.dew_point(humidity - condensed, STANDARD_PRESSURE))
    return Visit(
        label=f"test {row['test']:.0f}",
        coil="clean" if coil == "clean" else "as found",
        outdoor_db=row["outdoor_db_C"] + 273.15,
        return_db=row["indoor_db_C"] + 273.15,
        return_dewpoint=returned,
        supply_db=row["indoor_supply_db_C"] + 273.15,
        supply_dewpoint=supplied,
        indoor_airflow_standard=flow,
        condenser_leaving_db=row["outdoor_exit_air_C"] + 273.15,
        suction_pressure=row["suction_kPa"] * 1e3,
        liquid_pressure=row["cond_exit_kPa"] * 1e3,
        discharge_pressure=row["discharge_kPa"] * 1e3,
        suction_temperature=row["suction_T_C"] + 273.15,
        liquid_temperature=row["cond_exit_T_C"] + 273.15,
        discharge_temperature=row["discharge_T_C"] + 273.15,
        outdoor_power=row["compressor_power_W"] + row["outdoor_fan_W"],
        outdoor_fan_power=row["outdoor_fan_W"],
        indoor_power=row["indoor_fan_W"],
    )


def laboratory_study(fitted: Sequence[int] = (5,), path: Path = TABLE) -> LaboratoryStudy:
    """Fit to some tests, predict all.

    Parameters
    ----------
    fitted : sequence of int
        Numbers of the tests to fit to.
    path : Path
        The published table.

    Returns
    -------
    LaboratoryStudy

    Raises
    ------
    ValueError
        Where a number is not a test of the table.
    """
    rows = laboratory_rows(path)
    numbers = [int(row["test"]) for row in rows]
    for number in fitted:
        if number not in numbers:
            raise ValueError(f"test must be one of {', '.join(map(str, numbers))}, got {number}")
    visits = [laboratory_visit(row) for row in rows]
    chosen = [visit for visit, number in zip(visits, numbers, strict=True) if number in fitted]
    baseline = fit_baseline(DESCRIPTION, chosen, INSTRUMENTS, rated=False)
    return errors_on(baseline, rows, visits, [number in fitted for number in numbers])


def errors_on(
    baseline: Baseline, rows: list[dict[str, float]], visits: list[Visit], was_fitted: list[bool]
) -> LaboratoryStudy:
    """Errors of a fitted unit on published tests; the root mean squares leave out those it was fitted to.

    Parameters
    ----------
    baseline : Baseline
        The fitted unit.
    rows : list of dict[str, float]
        Published tests, for what no visit holds.
    visits : list of Visit
        The same tests as visits.
    was_fitted : list of bool
        Which of them the unit was fitted to.

    Returns
    -------
    LaboratoryStudy
        Errors test by test, and their root mean squares.
    """
    seen = [observation(visit, INSTRUMENTS) for visit in visits]
    settings = {name: np.array([one.settings[name] for one in seen]) for name in seen[0].settings}
    point = solve(baseline.unit, conditions(settings, STANDARD_PRESSURE))
    predicted = {
        "gross_capacity": point.gross_capacity,
        "compressor_power": point.compressor_power,
        "evaporating_temperature": point.evaporating_temperature,
        "condensing_temperature": point.condensing_temperature,
        "superheat": point.superheat,
        "subcooling": point.subcooling,
        "sensible_heat_ratio": point.sensible_capacity / point.net_capacity,
        "discharge_temperature": point.discharge_temperature,
    }
    measured = _measured(rows, visits)
    errors = {
        quantity.name: 100.0 * (predicted[quantity.name] / measured[quantity.name] - 1.0)
        if quantity.relative
        else predicted[quantity.name] - measured[quantity.name]
        for quantity in QUANTITIES
    }
    held = ~np.array(was_fitted)
    held = held if held.any() else ~held
    return LaboratoryStudy(
        fitted=tuple(visit.label for visit, used in zip(visits, was_fitted, strict=True) if used),
        tests=tuple(visit.label for visit in visits),
        errors=errors,
        root_mean_square={name: float(np.sqrt(np.mean(error[held] ** 2))) for name, error in errors.items()},
        states=tuple(map(str, point.state_names())),
    )


def _measured(rows: list[dict[str, float]], visits: list[Visit]) -> dict[str, Array]:
    fluid = refrigerant(DESCRIPTION.refrigerant)
    evaporating = fluid.dew_temperature(np.array([visit.suction_pressure for visit in visits], dtype=float))
    condensing = fluid.bubble_temperature(np.array([visit.liquid_pressure for visit in visits], dtype=float))
    return {
        "gross_capacity": np.array([row["net_capacity_W"] + row["indoor_fan_W"] for row in rows]),
        "compressor_power": np.array([row["compressor_power_W"] for row in rows]),
        "evaporating_temperature": evaporating,
        "condensing_temperature": condensing,
        "superheat": np.array([row["suction_T_C"] + 273.15 for row in rows]) - evaporating,
        "subcooling": condensing - np.array([row["cond_exit_T_C"] + 273.15 for row in rows]),
        "sensible_heat_ratio": np.array([row["shr"] for row in rows]),
        "discharge_temperature": np.array([row["discharge_T_C"] + 273.15 for row in rows]),
    }
