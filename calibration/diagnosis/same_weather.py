"""Two visits in different weather moved to the same conditions, so that a before and after means something.

A measured figure is moved by the ratio of what the model says at the common conditions to what it says at
the visit's own. A visit of a unit as it was found is moved with the fault that goes best with its readings,
because a starved condenser answers to weather otherwise than a clean one; suspect readings are replaced by
the values that the others support. What the model says wrongly at both places cancels; what is left of its
error grows with the distance between them. Airflow and blower stay as they were at each visit: they are the
unit, not the weather.

The raw difference is the first visit's figure less the second's. What remains of it at common conditions is
not weather; the rest was.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np

from calibration.case.meters import Instruments, standard_accuracies
from calibration.case.records import Case, Visit
from calibration.clean_fit.baseline import Baseline, baseline_of
from calibration.clean_fit.observation import conditions, observation
from calibration.clean_fit.parameters import adjusted
from calibration.clean_fit.sensitivities import moved_readings
from calibration.diagnosis.finding import Finding, find
from calibration.diagnosis.hypotheses import NO_FAULT
from calibration.diagnosis.impact import FoundLevel
from calibration.estimate import Estimate, with_error
from calibration.measured.performance import NEEDS, figures_of_readings, missing_readings
from calibration.said import said
from model.arrays import Array
from model.components.unit import Unit
from model.cycle.boundary import Conditions
from model.cycle.faults import HEALTHY, Faults
from model.cycle.sizing import RATING_OUTDOOR, RATING_RETURN, RATING_RETURN_WET_BULB
from model.cycle.solve import OperatingPoint, solve
from model.properties import moist_air
from model.properties.moist_air import STANDARD_PRESSURE

Where = Literal["rating", "hotter"]

FIGURES = ("net_capacity", "gross_capacity", "outdoor_power", "total_power", "eer")
"""Measured figures that are moved; pressures are moved as they were read."""
PRESSURES = ("suction_pressure", "liquid_pressure")
MOVING_SPREAD = {
    "net_capacity": 0.02,
    "gross_capacity": 0.02,
    "outdoor_power": 0.015,
    "total_power": 0.015,
    "eer": 0.025,
    "suction_pressure": 0.008,
    "liquid_pressure": 0.01,
}
"""Standard deviation of a figure moved to conditions far apart, model alone [-]: of the size of the errors
that are left when published tests (NISTIR 7350) are moved to one another's conditions."""
FAR_OUTDOOR, FAR_WET_BULB = 10.0, 5.0
"""Distances, in outdoor air and in return wet bulb, at which that is reached [K]."""


@dataclass(frozen=True)
class CommonConditions:
    """Conditions that both visits are moved to.

    Attributes
    ----------
    words : str
        Where they come from.
    outdoor, returned : float
        Outdoor and return dry bulb [K].
    humidity_ratio : float
        Of the return air [kg/kg].
    ambient_pressure : float
        [Pa]
    compressor_speed, outdoor_fan_speed : float
        Over full speed [-].
    """

    words: str
    outdoor: float
    returned: float
    humidity_ratio: float
    ambient_pressure: float = STANDARD_PRESSURE
    compressor_speed: float = 1.0
    outdoor_fan_speed: float = 1.0


@dataclass(frozen=True)
class Moved:
    """One figure of two visits, as measured and at common conditions, all [SI].

    Attributes
    ----------
    figure : str
        Name of the figure or key of the reading.
    first, second : Estimate
        As measured.
    first_moved, second_moved : Estimate
        At the common conditions.
    raw, remaining : Estimate
        First less second: as measured, and at the common conditions.
    """

    figure: str
    first: Estimate
    second: Estimate
    first_moved: Estimate
    second_moved: Estimate
    raw: Estimate
    remaining: Estimate

    @property
    def weather(self) -> float:
        """Part of the raw difference that was only weather [SI]."""
        return self.raw.value - self.remaining.value

    @property
    def weather_share(self) -> float | None:
        """That part over the raw difference [-]; None where the raw difference itself is within its error."""
        if abs(self.raw.value) < self.raw.standard_error:
            return None
        return self.weather / self.raw.value

    @property
    def excludes_zero(self) -> bool:
        """Whether the 90 % range of what remains leaves out zero."""
        return self.remaining.excludes_zero


@dataclass(frozen=True)
class LikeForLike:
    """Two visits at the same conditions.

    Attributes
    ----------
    first, second : str
        Labels of the visits.
    common : CommonConditions
    faults : tuple of tuples of FoundLevel
        Faults with which each was moved; none for a unit without fault.
    suspects : tuple of tuples of str
        Suspect readings of each; the values that the others support were used in their place.
    rows : tuple of Moved
        Every figure that both visits have.
    """

    first: str
    second: str
    common: CommonConditions
    faults: tuple[tuple[FoundLevel, ...], tuple[FoundLevel, ...]]
    suspects: tuple[tuple[str, ...], tuple[str, ...]]
    rows: tuple[Moved, ...]

    def row(self, figure: str) -> Moved:
        """Row of one figure.

        Raises
        ------
        KeyError
            Where a visit has it not.
        """
        for row in self.rows:
            if row.figure == figure:
                return row
        raise KeyError(f"{figure} is not among {', '.join(row.figure for row in self.rows)}")


def rating(ambient_pressure: float = STANDARD_PRESSURE) -> CommonConditions:
    """The rating conditions (AHRI 210/240 A).

    Parameters
    ----------
    ambient_pressure : float
        Barometric pressure [Pa].

    Returns
    -------
    CommonConditions
        Outdoor 95 degF, return 80 degF dry and 67 degF wet bulb [SI].
    """
    humidity = moist_air.humidity_ratio_from_wet_bulb(RATING_RETURN, RATING_RETURN_WET_BULB, ambient_pressure)
    return CommonConditions(
        said("rating conditions"), RATING_OUTDOOR, RATING_RETURN, float(humidity), ambient_pressure
    )


def conditions_of(visit: Visit) -> CommonConditions:
    """A visit's own conditions; the assumed humidity where none was read.

    Parameters
    ----------
    visit : Visit
        Its readings [SI].

    Returns
    -------
    CommonConditions
        Weather, return air and speeds; the assumed humidity where none was read.
    """
    weather = _weather_of(visit)
    return CommonConditions(
        said("conditions of {visit}", visit=visit.label),
        visit.outdoor_db,
        visit.return_db,
        float(np.asarray(weather.return_humidity_ratio)),
        visit.ambient_pressure,
        visit.compressor_speed,
        visit.outdoor_fan_speed,
    )


def like_for_like(
    case: Case,
    first: Visit,
    second: Visit,
    where: Where | CommonConditions = "hotter",
    baseline: Baseline | None = None,
    findings: Mapping[str, Finding] | None = None,
) -> LikeForLike:
    """Two visits moved to the same conditions.

    Parameters
    ----------
    case : Case
        Nameplate, meters and clean visits.
    first, second : Visit
        Of the same unit; differences are first less second.
    where : "rating", "hotter" or CommonConditions
        Rating conditions, those of the visit in the hotter outdoor air, or any.
    baseline : Baseline, optional
        `calibration.clean_fit.baseline.baseline_of(case)`.
    findings : mapping of str to Finding, optional
        What is already known of the visits, by their labels.

    Returns
    -------
    LikeForLike
    """
    baseline = baseline or baseline_of(case)
    common = _common(case, first, second, where)
    known = findings or {}
    found = [_found(case, visit, baseline, known.get(visit.label)) for visit in (first, second)]
    benches = [_moved_figures(case, baseline, common, one) for one in found]
    shared = [name for name in (*FIGURES, *PRESSURES) if all(name in bench for bench in benches)]
    rows = tuple(_row(name, benches[0][name], benches[1][name], baseline) for name in shared)
    faults = (found[0].levels, found[1].levels)
    suspects = (found[0].suspects, found[1].suspects)
    return LikeForLike(first.label, second.label, common, faults, suspects, rows)


def _common(case: Case, first: Visit, second: Visit, where: Where | CommonConditions) -> CommonConditions:
    if isinstance(where, CommonConditions):
        return where
    if where == "rating":
        return rating(case.unit.ambient_pressure)
    return conditions_of(first if first.outdoor_db >= second.outdoor_db else second)


class _Found(NamedTuple):
    """A visit as it is moved: readings as supported, faults, their levels, and suspect readings.

    errors: standard errors of the values that stand in for suspect readings [SI].
    """

    visit: Visit
    faults: Faults
    levels: tuple[FoundLevel, ...]
    errors: Mapping[str, float]

    @property
    def suspects(self) -> tuple[str, ...]:
        return tuple(self.errors)


def _found(case: Case, visit: Visit, baseline: Baseline, finding: Finding | None) -> _Found:
    """Likeliest faults of a visit as found, none of one after cleaning."""
    if not observation(visit, case.instruments).names:
        return _Found(visit, HEALTHY, (), {})
    finding = finding or find(case, visit, baseline=baseline)
    errors = finding.supported_errors
    first = finding.explained[0]
    if visit.coil == "clean" or first.probability < finding.probability(NO_FAULT):
        return _Found(finding.visit_as_supported, HEALTHY, (), errors)
    return _Found(finding.visit_as_supported, first.faults, first.levels, errors)


class _Carried(NamedTuple):
    """A figure as measured and moved, with what each reading's and parameter's error does to both.

    `values` (2,); `by_reading` (2, readings) in standard errors; `by_parameter` (2, parameters); `own`
    standard deviation of the moved one that is the model's own.
    """

    values: Array
    by_reading: Array
    by_parameter: Array
    own: float

    def estimate(self, which: int, baseline: Baseline) -> Estimate:
        slopes = self.by_parameter[which]
        variance = np.sum(self.by_reading[which] ** 2) + slopes @ baseline.covariance @ slopes
        return with_error(float(self.values[which]), float(np.sqrt(variance + which * self.own**2)))


def _row(name: str, first: _Carried, second: _Carried, baseline: Baseline) -> Moved:
    differences = []
    for which in (0, 1):
        slopes = first.by_parameter[which] - second.by_parameter[which]
        variance = np.sum(first.by_reading[which] ** 2) + np.sum(second.by_reading[which] ** 2)
        variance += slopes @ baseline.covariance @ slopes + which * (first.own**2 + second.own**2)
        value = first.values[which] - second.values[which]
        differences.append(with_error(float(value), float(np.sqrt(variance))))
    return Moved(
        name,
        first.estimate(0, baseline),
        second.estimate(0, baseline),
        first.estimate(1, baseline),
        second.estimate(1, baseline),
        *differences,
    )


def _moved_figures(
    case: Case, baseline: Baseline, common: CommonConditions, one: _Found
) -> dict[str, _Carried]:
    """Every figure of one visit as measured and moved, from one call of the cycle at each place."""
    visit = one.visit
    seen = observation(visit, case.instruments)
    values = {**visit.readings(), **seen.settings}
    spreads = standard_accuracies(visit.readings(), case.instruments) | dict(seen.setting_spreads)
    spreads |= dict(one.errors)
    moved = moved_readings(values, spreads, baseline.values)
    unit = adjusted(baseline.generic, moved.parameters)
    own, there = _both_places(unit, moved.readings, visit, seen.settings, common, one.faults)
    far = _distance(visit, common)
    carried = {}
    for name, measured in _measured(case, visit, moved.readings).items():
        both = np.stack([measured, measured * getattr(there, name) / getattr(own, name)])
        carried[name] = _Carried(
            both[:, 0],
            *moved.carried(both),
            far * MOVING_SPREAD[name] * abs(float(both[1, 0])),
        )
    return carried


def _measured(case: Case, visit: Visit, readings: Mapping[str, Array]) -> dict[str, Array]:
    missing = missing_readings(visit.readings())
    names = [name for name in FIGURES if name in NEEDS and name not in missing]
    figures = figures_of_readings(readings, visit.ambient_pressure, case.unit.refrigerant, names)
    return figures | {name: readings[name] for name in PRESSURES if name in visit.readings()}


def _both_places(
    unit: Unit,
    readings: Mapping[str, Array],
    visit: Visit,
    settings: Mapping[str, float],
    common: CommonConditions,
    faults: Faults,
) -> tuple[OperatingPoint, OperatingPoint]:
    """The unit at the visit's conditions and at the common ones, with the visit's airflow and blower."""
    weather = conditions(
        {name: readings[name] for name in settings},
        visit.ambient_pressure,
        visit.compressor_speed,
        visit.outdoor_fan_speed,
    )
    moved = Conditions(
        outdoor_temperature=common.outdoor,
        return_temperature=common.returned,
        return_humidity_ratio=common.humidity_ratio,
        ambient_pressure=common.ambient_pressure,
        indoor_airflow=weather.indoor_airflow,
        indoor_power=weather.indoor_power,
        compressor_speed=common.compressor_speed,
        outdoor_fan_speed=common.outdoor_fan_speed,
    )
    own = solve(unit, weather, faults)
    return own, solve(unit, moved, faults, own.unknowns)


def _weather_of(visit: Visit) -> Conditions:
    seen = observation(visit, Instruments())
    return conditions(seen.settings, seen.ambient_pressure, seen.compressor_speed, seen.outdoor_fan_speed)


def _distance(visit: Visit, common: CommonConditions) -> float:
    """How far a visit is moved, 1 for far [-]."""
    weather = _weather_of(visit)
    own = moist_air.wet_bulb(visit.return_db, weather.return_humidity_ratio, visit.ambient_pressure)
    there = moist_air.wet_bulb(common.returned, common.humidity_ratio, common.ambient_pressure)
    outdoor = (visit.outdoor_db - common.outdoor) / FAR_OUTDOOR
    return float(np.hypot(outdoor, (float(own) - float(there)) / FAR_WET_BULB))
