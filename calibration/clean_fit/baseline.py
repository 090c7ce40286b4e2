"""The clean-coil fit: what this unit is, from its nameplate and whatever clean visits there are.

Maximum a posteriori. The parameters of `calibration.clean_fit.parameters` start from the nameplate with their
spreads as a normal prior; every clean visit adds its readings, each over its standard error: the meter's, the
model's own, and what the errors of the settings (weather, return air, airflow) do to the reading, which makes
the errors of one visit's readings correlated. Gauss-Newton with a Levenberg damping; all columns of all
visits' Jacobians are solved in one call of the cycle. The posterior covariance is Laplace's, the inverse of
the curvature at the maximum. With no clean visit the answer is the prior itself: the nameplate with the wide
interval that it deserves.

References
----------
Gelman et al., Bayesian Data Analysis, 3rd ed. 2013, ch. 4 (normal approximation; from memory). Levenberg
1944, Marquardt 1963 (from memory).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from calibration.case.meters import Instruments
from calibration.case.records import Case, UnitDescription, Visit
from calibration.clean_fit.observation import (
    HUMIDITIES,
    Observation,
    conditions,
    model_spreads,
    observation,
    point_readings,
)
from calibration.clean_fit.parameters import NAMES, SPREADS, adjusted, generic_unit
from model.components.unit import Unit
from model.cycle.faults import HEALTHY, Faults
from model.cycle.solve import solve

Array = NDArray[np.float64]

PARAMETER_STEP = 0.02
"""Step of a parameter's slope, in prior spreads [-]."""
SETTING_STEP = 0.1
"""Step of a setting's slope, in standard errors [-]."""
WORST_BOUND = 4.0
"""No parameter may leave its prior by more than this many spreads [-]."""
MOST_STEPS = 25
SETTLED = 1e-4
"""The fit ends where a step lowers the misfit by less than this [-]."""


@dataclass(frozen=True)
class Residual:
    """One reading of a clean visit beside the fit: values [SI], difference over its standard error [-]."""

    visit: str
    reading: str
    measured: float
    fitted: float
    standard_error: float

    @property
    def standardised(self) -> float:
        """Measured less fitted over its standard error [-]."""
        return (self.measured - self.fitted) / self.standard_error


@dataclass(frozen=True)
class Baseline:
    """A fitted clean unit.

    Attributes
    ----------
    unit : Unit
        The most likely one.
    generic : Unit
        The nameplate's, which the parameters move.
    values : array (parameters,)
        Most likely parameters, in the order of `calibration.clean_fit.parameters.PARAMETERS`.
    covariance : array (parameters, parameters)
        Of their posterior.
    residuals : tuple of Residual
        Every reading used.
    visits : tuple of str
        Labels of the clean visits used; empty for the nameplate alone.
    misfit : float
        Sum of squared standardised residuals, correlations taken into account [-].
    readings : int
        Number of readings used.
    settled : bool
        Whether the fit ended because it could not be improved.
    ambient_pressures : mapping of str to float
        Of each visit used [Pa], to show gauge pressures by.
    """

    unit: Unit
    generic: Unit
    values: Array
    covariance: Array
    residuals: tuple[Residual, ...]
    visits: tuple[str, ...]
    misfit: float
    readings: int
    settled: bool
    ambient_pressures: Mapping[str, float] = field(default_factory=dict)

    @property
    def spreads(self) -> Array:
        """Posterior standard deviation of each parameter."""
        return np.sqrt(np.diag(self.covariance))


def baseline_of(case: Case) -> Baseline:
    """Fit of a case's clean visits; from its nameplate alone where it has none.

    Parameters
    ----------
    case : Case
        Nameplate, meters and visits.

    Returns
    -------
    Baseline
        The fitted clean unit.
    """
    return fit_baseline(case.unit, case.clean_visits, case.instruments)


def baseline_without(case: Case, visit: Visit, baseline: Baseline | None = None) -> Baseline:
    """Fit of the clean visits other than one, which is to be held against them.

    Parameters
    ----------
    case : Case
        Nameplate, meters and visits.
    visit : Visit
        Left out where it is a clean one.
    baseline : Baseline, optional
        `baseline_of(case)` where it is there already.

    Returns
    -------
    Baseline
        The given one where nothing had to be left out.
    """
    rest = tuple(one for one in case.clean_visits if one != visit)
    if baseline is not None and len(rest) == len(case.clean_visits):
        return baseline
    return baseline_of(replace(case, visits=rest))


def fit_baseline(
    description: UnitDescription, visits: Sequence[Visit] = (), instruments: Instruments | None = None
) -> Baseline:
    """Fit a unit to its clean visits.

    Parameters
    ----------
    description : UnitDescription
    visits : sequence of Visit
        Visits with a clean condenser; none gives the nameplate's unit.
    instruments : Instruments or None
        Meters; None for the documented defaults.

    Returns
    -------
    Baseline

    Raises
    ------
    ValueError
        Where the nameplate is out of range.
    """
    generic = generic_unit(description, visits)
    observations = [observation(visit, instruments or Instruments()) for visit in visits]
    observations = [seen for seen in observations if seen.names]
    if not observations:
        zero = np.zeros(len(NAMES))
        return Baseline(generic, generic, zero, np.diag(SPREADS**2), (), (), 0.0, 0, True)
    values, information, linear, settled = _most_likely(generic, observations)
    covariance = np.linalg.inv(information)
    residuals, misfit = _residuals(linear, observations)
    return Baseline(
        unit=adjusted(generic, values),
        generic=generic,
        values=values,
        covariance=0.5 * (covariance + covariance.T),
        residuals=residuals,
        visits=tuple(seen.label for seen in observations),
        misfit=misfit,
        readings=sum(len(seen.names) for seen in observations),
        settled=settled,
        ambient_pressures={seen.label: seen.ambient_pressure for seen in observations},
    )


@dataclass(frozen=True)
class Linearised:
    """Readings of one visit around given parameters.

    expected (readings,), slopes (readings, parameters), noise: covariance of the readings (readings,
    readings).
    """

    expected: Array
    slopes: Array
    noise: Array


def linearised(
    generic: Unit, values: Array, seen: Observation, faults: Faults = HEALTHY, start: Array | None = None
) -> tuple[Linearised, Array]:
    """Expected readings of one visit around given parameters, and the solver's unknowns to start again from.

    Parameters
    ----------
    generic : Unit
        The nameplate's unit.
    values : ndarray, shape (parameters,)
        Where the slopes are taken.
    seen : Observation
        Settings and readings of the visit.
    faults : Faults
        Of no shape.
    start : ndarray, shape (3, 1), optional
        Unknowns of a neighbouring point.

    Returns
    -------
    (Linearised, ndarray)
        Readings, slopes and noise; and the solver's unknowns.
    """
    lines, unknowns = linearised_for(generic, values, seen, faults, start)
    return Linearised(lines.expected[0], lines.slopes[0], lines.noise[0]), unknowns[:, 0]


def linearised_for(
    generic: Unit, values: Array, seen: Observation, faults: Faults, start: Array | None = None
) -> tuple[Linearised, Array]:
    """The same for many faults at once; every array of the result has a first axis for them.

    One call of the cycle: the point itself, a column a parameter, a column a setting.

    Parameters
    ----------
    generic : Unit
        The nameplate's unit.
    values : ndarray, shape (parameters,)
        Where the slopes are taken.
    seen : Observation
        Settings and readings of the visit.
    faults : Faults
        Of shape (n, 1).
    start : ndarray, shape (3, n, 1), optional
        Unknowns of neighbouring points.

    Returns
    -------
    (Linearised, ndarray)
        Readings, slopes and noise of each; and the solver's unknowns.
    """
    parameters, settings = len(NAMES), list(seen.settings)
    columns = 1 + parameters + len(settings)
    table = np.repeat(values[:, None], columns, axis=1)
    steps = PARAMETER_STEP * SPREADS
    table[np.arange(parameters), 1 + np.arange(parameters)] += steps
    moved = {name: np.full(columns, value) for name, value in seen.settings.items()}
    spread = np.array([seen.setting_spreads[name] for name in settings])
    # Towards drier air: a humidity already at saturation must not be moved beyond it.
    signs = np.array([-1.0 if name in HUMIDITIES else 1.0 for name in settings])
    setting_steps = signs * np.maximum(SETTING_STEP * spread, 1e-9)
    for index, name in enumerate(settings):
        moved[name][1 + parameters + index] += setting_steps[index]
    weather = conditions(moved, seen.ambient_pressure, seen.compressor_speed, seen.outdoor_fan_speed)
    family = adjusted(generic, table[:, None, :])
    point = solve(family, weather, faults, start)
    shown = np.moveaxis(point_readings(point, seen.names, seen.ambient_pressure), 0, 1)
    expected = shown[..., 0]
    slopes = (shown[..., 1 : 1 + parameters] - expected[..., None]) / steps
    setting_slopes = (shown[..., 1 + parameters :] - expected[..., None]) / setting_steps
    own = seen.spreads**2 + model_spreads(seen.names, seen.values) ** 2
    noise = np.diag(own) + (setting_slopes * spread**2) @ np.swapaxes(setting_slopes, -1, -2)
    return Linearised(expected, slopes, noise), point.unknowns[:, :, :1]


def _most_likely(
    generic: Unit, observations: list[Observation]
) -> tuple[Array, Array, list[Linearised], bool]:
    values = np.zeros(len(NAMES))
    prior = np.diag(1.0 / SPREADS**2)
    starts: list[Array | None] = [None] * len(observations)
    lines, starts = _around(generic, values, observations, starts)
    cost = _cost(values, lines, observations)
    damping, settled = 0.0, False
    for _ in range(MOST_STEPS):
        information, pull = prior.copy(), -prior @ values
        for line, seen in zip(lines, observations, strict=True):
            weighted = np.linalg.solve(line.noise, line.slopes)
            information += line.slopes.T @ weighted
            pull += weighted.T @ (seen.values - line.expected)
        step = np.linalg.solve(information + damping * prior, pull)
        trial = np.clip(values + step, -WORST_BOUND * SPREADS, WORST_BOUND * SPREADS)
        trial_lines, trial_starts = _around(generic, trial, observations, starts)
        trial_cost = _cost(trial, trial_lines, observations)
        if not trial_cost < cost:
            if damping > 1e3 or cost - trial_cost > -SETTLED:
                settled = True
                break
            damping = max(4.0 * damping, 1.0)
            continue
        gain, values, lines, starts, cost = cost - trial_cost, trial, trial_lines, trial_starts, trial_cost
        damping = damping / 4.0 if damping > 0.3 else 0.0
        if gain < SETTLED:
            settled = True
            break
    information = prior + sum(line.slopes.T @ np.linalg.solve(line.noise, line.slopes) for line in lines)
    return values, information, lines, settled


def _around(
    generic: Unit, values: Array, observations: list[Observation], starts: list[Array | None]
) -> tuple[list[Linearised], list[Array | None]]:
    pairs = [
        linearised(generic, values, seen, HEALTHY, start)
        for seen, start in zip(observations, starts, strict=True)
    ]
    return [line for line, _ in pairs], [start for _, start in pairs]


def _cost(values: Array, lines: list[Linearised], observations: list[Observation]) -> float:
    """Twice the negative logarithm of the posterior but for constants; the noise's change counts too."""
    total = float(np.sum((values / SPREADS) ** 2))
    for line, seen in zip(lines, observations, strict=True):
        off = seen.values - line.expected
        total += float(off @ np.linalg.solve(line.noise, off)) + float(np.linalg.slogdet(line.noise)[1])
    return total


def _residuals(
    lines: list[Linearised], observations: list[Observation]
) -> tuple[tuple[Residual, ...], float]:
    rows, misfit = [], 0.0
    for line, seen in zip(lines, observations, strict=True):
        off = seen.values - line.expected
        misfit += float(off @ np.linalg.solve(line.noise, off))
        spreads = np.sqrt(np.diag(line.noise))
        rows += [
            Residual(seen.label, *row)
            for row in zip(
                seen.names,
                map(float, seen.values),
                map(float, line.expected),
                map(float, spreads),
                strict=True,
            )
        ]
    return tuple(rows), misfit
