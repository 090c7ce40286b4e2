"""Capacity of one visit by every route its readings allow, whether the routes agree, and the loss by each.

Routes to the capacity of the coil (blower's heat left out):

* air side: dry-air flow times the fall of its enthalpy, plus the blower's power;
* refrigerant side: the compressor's flow at the measured suction and discharge states (its displacement is
  the fitted unit's, or the generic one's where no clean visit was made) times the rise of enthalpy in the
  coil;
* compressor balance: the same rise, with the flow that the compressor's power and the heating of the gas
  give;
* condenser: heat taken up by the condenser's air, less what the compressor puts in. It supposes the clean
  airflow, so a visit as found gives instead the airflow that would carry the refrigerant side's heat away.

Every route, and the clean unit's capacity at the same weather, is worked out for all slightly changed
readings and parameters in one call, so that what they share cancels in their differences and ratios.

A leaking compressor moves less than its displacement: then the refrigerant side is too high and the
compressor balance is not.

References
----------
ANSI/ASHRAE 37 (air and refrigerant enthalpy methods and their agreement; form from memory). JCGM 100:2008,
eq. (13) (correlated inputs).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from calibration.case.meters import standard_accuracies
from calibration.case.records import Case, Visit
from calibration.clean_fit.baseline import Baseline, baseline_without
from calibration.clean_fit.observation import (
    Observation,
    conditions,
    observation,
)
from calibration.clean_fit.parameters import adjusted, rated_standard_airflow, standard_airflow
from calibration.clean_fit.sensitivities import moved_readings
from calibration.diagnosis.capacity_routes import Routes
from calibration.diagnosis.visit_model import blower_power
from calibration.estimate import Estimate, with_error
from calibration.measured.performance import missing_readings
from model.arrays import Array
from model.components.unit import Unit
from model.cycle.solve import solve
from model.properties import moist_air
from model.properties.refrigerant import refrigerant

AIR, REFRIGERANT, COMPRESSOR, CONDENSER = "air side", "refrigerant side", "compressor balance", "condenser"
CLEAN, AIRFLOW = "clean unit", "condenser airflow"
POWER_READ, POWER_OF_STATES = "power read", "power of its states"
METHOD_SPREAD = {
    AIR: 0.01,
    REFRIGERANT: 0.02,
    COMPRESSOR: 0.02,
    CONDENSER: 0.03,
    CLEAN: 0.02,
    AIRFLOW: 0.03,
    POWER_READ: 0.0,
    POWER_OF_STATES: 0.015,
}
"""Standard deviation of each route's own simplifications [-]: the two laboratory methods of NISTIR 7350
disagree by 3 % in the mean square; the condenser's is common practice, no source."""
UNREAD_BLOWER_SPREAD = 0.35
"""Standard deviation of a blower's power that was not read [-]."""
CONTRADICTION = 2.58
"""Joint standard errors from which two routes contradict each other [-]: one in a hundred by chance."""
NEARLY_SATURATED = 1.0
"""Superheat or subcooling under which a pipe probe cannot tell one phase from two [K]."""

NEEDS: dict[str, tuple[str, ...]] = {
    AIR: (),
    REFRIGERANT: ("suction_pressure", "suction_temperature", "liquid_pressure", "liquid_temperature"),
    COMPRESSOR: (
        "suction_pressure",
        "suction_temperature",
        "liquid_pressure",
        "liquid_temperature",
        "discharge_temperature",
        "outdoor_power",
    ),
    CONDENSER: ("condenser_leaving_db", "outdoor_power"),
}
"""Readings of each route; the air side's are those of `gross_capacity`, blower left out."""


@dataclass(frozen=True)
class Difference:
    """Two routes beside each other.

    Attributes
    ----------
    first, second : str
        Names of the routes.
    difference : Estimate
        First less second [W], with the standard error of the difference.
    """

    first: str
    second: str
    difference: Estimate

    @property
    def errors(self) -> float:
        """Difference in joint standard errors [-], with its sign."""
        return self.difference.value / self.difference.standard_error

    @property
    def agrees(self) -> bool:
        """Whether chance alone could make this difference."""
        return abs(self.errors) < CONTRADICTION


@dataclass(frozen=True)
class HeatBalance:
    """Capacity by every route of one visit.

    Attributes
    ----------
    visit : str
        Its label.
    capacities : dict of str to Estimate
        Coil's capacity by route [W], blower's heat left out.
    clean : Estimate
        Coil's capacity of the clean unit at the visit's weather [W].
    losses : dict of str to Estimate
        One less capacity over the clean unit's, by route [-].
    differences : tuple of Difference
        Every pair of routes.
    power : Difference or None
        Compressor's power as read and as its states say [W].
    condenser_airflow : Estimate or None
        Condenser's airflow over the clean one's, from the heat it has to carry [-].
    missing : dict of str to tuple of str
        Readings that the other routes wait for.
    fitted_to : tuple of str
        Clean visits behind the compressor; empty for the generic one of the nameplate.
    remarks : tuple of str
        What makes a route less certain than its standard error says.
    """

    visit: str
    capacities: dict[str, Estimate]
    clean: Estimate
    losses: dict[str, Estimate]
    differences: tuple[Difference, ...]
    power: Difference | None
    condenser_airflow: Estimate | None
    missing: dict[str, tuple[str, ...]]
    fitted_to: tuple[str, ...]
    remarks: tuple[str, ...]

    @property
    def worst(self) -> Difference | None:
        """Pair of routes that agree least; None with less than two."""
        pairs = [*self.differences, *([self.power] if self.power else [])]
        return max(pairs, key=lambda pair: abs(pair.errors), default=None)


def heat_balance_of(
    case: Case,
    visit: Visit,
    baseline: Baseline | None = None,
    errors: Mapping[str, float] | None = None,
) -> HeatBalance:
    """Heat balance of a visit of a case, with the unit as it is known without that visit.

    Parameters
    ----------
    case : Case
        Nameplate, meters and all visits.
    visit : Visit
        The one to balance.
    baseline : Baseline, optional
        `calibration.clean_fit.baseline.baseline_of(case)` if it is there already; the visit itself is always
        left out of it.
    errors : mapping of str to float, optional
        Standard errors of values that stand in for suspect readings [SI], in the place of the meters'.

    Returns
    -------
    HeatBalance
        Capacity by every route, and whether the routes agree.
    """
    seen = observation(visit, case.instruments)
    errors = errors or {}
    accuracies = standard_accuracies(visit.readings(), case.instruments) | dict(errors)
    spreads = {name: errors.get(name, spread) for name, spread in seen.setting_spreads.items()}
    seen = replace(seen, setting_spreads=spreads)
    return heat_balance(visit, accuracies, seen, baseline_without(case, visit, baseline))


def heat_balance(
    visit: Visit, accuracies: Mapping[str, float], seen: Observation, baseline: Baseline
) -> HeatBalance:
    """Capacity by every route with standard errors, their differences, and the loss by each.

    Parameters
    ----------
    visit : Visit
    accuracies : mapping of str to float
        Standard error of each reading [SI].
    seen : Observation
        The same visit as settings and readings.
    baseline : Baseline
        The unit as it is known without this visit.

    Returns
    -------
    HeatBalance
    """
    bench = _Bench(visit, accuracies, seen, baseline)
    values, covariance = bench.estimates()
    joint = _Joint(tuple(values), np.array(list(values.values())), covariance)
    routes = [name for name in NEEDS if name in values]
    pairs = [(a, b) for i, a in enumerate(routes) for b in routes[i + 1 :]]
    return HeatBalance(
        visit=visit.label,
        capacities={name: joint.estimate(name) for name in routes},
        clean=joint.estimate(CLEAN),
        losses={name: joint.loss(name) for name in routes},
        differences=tuple(joint.difference(*pair) for pair in pairs),
        power=joint.difference(POWER_READ, POWER_OF_STATES) if POWER_READ in values else None,
        condenser_airflow=joint.estimate(AIRFLOW) if AIRFLOW in values else None,
        missing=bench.missing,
        fitted_to=baseline.visits,
        remarks=bench.remarks(),
    )


@dataclass(frozen=True)
class _Joint:
    """Figures with their covariance."""

    names: tuple[str, ...]
    values: Array
    covariance: Array

    def estimate(self, name: str) -> Estimate:
        place = self.names.index(name)
        return with_error(float(self.values[place]), float(np.sqrt(self.covariance[place, place])))

    def difference(self, first: str, second: str) -> Difference:
        row = self._row({first: 1.0, second: -1.0})
        return Difference(first, second, with_error(float(row @ self.values), self._spread(row)))

    def loss(self, name: str) -> Estimate:
        clean, value = self.values[self.names.index(CLEAN)], self.values[self.names.index(name)]
        row = self._row({name: 1.0 / clean, CLEAN: -value / clean**2})
        return with_error(float(1.0 - value / clean), self._spread(row))

    def _row(self, weights: Mapping[str, float]) -> Array:
        return np.array([weights.get(name, 0.0) for name in self.names])

    def _spread(self, row: Array) -> float:
        return float(np.sqrt(row @ self.covariance @ row))


class _Bench:
    """One visit and its reference unit, for many slightly changed readings and parameters at once."""

    def __init__(
        self, visit: Visit, accuracies: Mapping[str, float], seen: Observation, baseline: Baseline
    ) -> None:
        self.visit, self.seen, self.baseline = visit, seen, baseline
        self.readings = {**visit.readings(), **seen.settings}
        self.spreads = {**accuracies, **seen.setting_spreads}
        if "indoor_power" not in self.readings:
            rated = rated_standard_airflow(baseline.generic) * moist_air.STANDARD_AIR_DENSITY
            flow = (standard_airflow(visit) or 0.0) * moist_air.STANDARD_AIR_DENSITY or rated
            power = float(blower_power(baseline.generic, visit.ambient_pressure, flow))
            self.readings["indoor_power"] = power
            self.spreads["indoor_power"] = UNREAD_BLOWER_SPREAD * power
        self.missing = self._missing()

    def _missing(self) -> dict[str, tuple[str, ...]]:
        taken = set(self.readings)
        if "compressor_power" in taken:
            taken.add("outdoor_power")
        lacking = {
            route: tuple(name for name in needed if name not in taken) for route, needed in NEEDS.items()
        }
        lacking[AIR] = missing_readings(self.readings).get("gross_capacity", ())
        return {route: names for route, names in lacking.items() if names}

    def estimates(self) -> tuple[dict[str, float], Array]:
        """Every figure, and the covariance of all."""
        moved = moved_readings(self.readings, self.spreads, self.baseline.values)
        figures = self._figures(moved.readings, adjusted(self.baseline.generic, moved.parameters))
        values = np.stack(list(figures.values()))
        by_reading, by_parameter = moved.carried(values)
        own = np.array([METHOD_SPREAD[name] for name in figures]) * values[:, 0]
        covariance = by_reading @ by_reading.T + by_parameter @ self.baseline.covariance @ by_parameter.T
        named = {name: float(value) for name, value in zip(figures, values[:, 0], strict=True)}
        return named, covariance + np.diag(own**2)

    def _figures(self, readings: dict[str, Array], unit: Unit) -> dict[str, Array]:
        seen = self.seen
        speeds = (seen.compressor_speed, seen.outdoor_fan_speed)
        settings = {name: readings[name] for name in seen.settings}
        weather = conditions(settings, seen.ambient_pressure, *speeds)
        routes = Routes(readings, unit, seen.ambient_pressure, *speeds)
        figures = {CLEAN: np.asarray(solve(unit, weather).gross_capacity)}
        if AIR not in self.missing:
            figures[AIR] = routes.air_side
        if COMPRESSOR not in self.missing:
            figures[COMPRESSOR] = routes.compressor_balance
        if REFRIGERANT not in self.missing:
            figures[REFRIGERANT] = routes.refrigerant_side
            if {"outdoor_power", "compressor_power"} & set(readings):
                figures[POWER_READ] = routes.power_read
                figures[POWER_OF_STATES] = routes.flow_and_power[1]
        if CONDENSER not in self.missing:
            if self.visit.coil == "clean":
                figures[CONDENSER] = routes.condenser_side
            if REFRIGERANT not in self.missing:
                figures[AIRFLOW] = routes.condenser_airflow
        return figures

    def remarks(self) -> tuple[str, ...]:
        """What the refrigerant-side routes assume and the readings put in doubt."""
        if REFRIGERANT in self.missing:
            return ()
        r, fluid = self.readings, refrigerant(self.baseline.generic.refrigerant)
        superheat = r["suction_temperature"] - float(fluid.dew_temperature(r["suction_pressure"]))
        subcooling = float(fluid.bubble_temperature(r["liquid_pressure"])) - r["liquid_temperature"]
        told = []
        if superheat < NEARLY_SATURATED:
            told.append("the suction may carry liquid: then the refrigerant side says too much")
        if subcooling < NEARLY_SATURATED:
            told.append("the liquid line may carry gas: then the refrigerant side says too much")
        return tuple(told)
