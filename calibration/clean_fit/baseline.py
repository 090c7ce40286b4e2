"""The clean-coil fit: what this unit is, from its nameplate and whatever clean visits there are.

Maximum a posteriori. The parameters of `calibration.clean_fit.parameters` start from the nameplate with their
spreads as a normal prior, or with what other units of the same nameplate show of them. The nameplate's rated
capacity and EER are two readings at the rating point, lines of the maker's capacity table further ones
(`calibration.clean_fit.nameplate`). Every clean visit adds its readings, each over its standard error: the
meter's, the model's own, and what the errors of the settings (weather, return air, airflow) do to the
reading, which makes the errors of one visit's readings correlated. Gauss-Newton with a Levenberg damping; all
columns of all visits' Jacobians are solved in one call of the cycle. The posterior covariance is Laplace's,
the inverse of the curvature at the maximum. With no clean visit the answer rests on the nameplate alone.

A visit is judged by the fit of the others. Few are fitted again without it; of many, one more step from the
fit of all takes its part out of the curvature (case deletion), so that judging every visit costs one fit and
not as many as there are visits.

References
----------
Cook and Weisberg, Residuals and Influence in Regression, 1982, ch. 2 (case deletion; from memory).
Gelman et al., Bayesian Data Analysis, 3rd ed. 2013, ch. 4 (normal approximation; from memory). Levenberg
1944, Marquardt 1963 (from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.linalg import block_diag

from calibration.case.meters import Instruments
from calibration.case.records import Case, UnitDescription, Visit
from calibration.clean_fit.nameplate import (
    RatedFigure,
    nameplate_observation,
    rated_figures,
    table_observations,
)
from calibration.clean_fit.observation import (
    Observation,
    conditions,
    model_spreads,
    observation,
    point_readings,
)
from calibration.clean_fit.parameter_prior import PLAIN, ParameterPrior
from calibration.clean_fit.parameters import NAMES, SPREADS, adjusted, generic_unit
from calibration.clean_fit.sensitivities import PARAMETER_STEPS, setting_steps, stepped
from model.arrays import Array
from model.components.unit import Unit
from model.cycle.faults import HEALTHY
from model.cycle.solve import solve

WORST_BOUND = 4.0
"""No parameter may leave its prior by more than this many spreads [-]."""
MOST_STEPS = 25
SETTLED = 1e-4
"""The fit ends where a step lowers the misfit by less than this [-]."""
MOST_FITTED_AGAIN = 8
"""From more clean visits than this one is taken out by a step from the fit of all [-]."""
LONGEST_STEP_OUT = 0.2
"""Longest such step that is trusted, in prior spreads [-]: within a tenth of a standard error (own trials).
A visit that contradicts all others takes a longer one, and they are fitted again."""


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
class Linearised:
    """Readings of one visit around given parameters.

    expected (readings,), slopes (readings, parameters), noise: covariance of the readings (readings,
    readings).
    """

    expected: Array
    slopes: Array
    noise: Array

    def information(self) -> Array:
        """What the readings say about the parameters, shape (parameters, parameters)."""
        return np.asarray(self.slopes.T @ np.linalg.solve(self.noise, self.slopes))

    def pull(self, measured: Array) -> Array:
        """Slope of half the squared misfit, downhill, shape (parameters,)."""
        return np.asarray(self.slopes.T @ np.linalg.solve(self.noise, measured - self.expected))

    def moved(self, step: Array) -> Linearised:
        """The same readings around parameters that lie a step (parameters,) further."""
        return replace(self, expected=self.expected + self.slopes @ step)


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
    observations : tuple of Observation
        Clean visits used; empty for the nameplate alone.
    lines : tuple of Linearised
        What each should show around `values`.
    settled : bool
        Whether the fit ended because it could not be improved.
    nameplate : tuple of RatedFigure
        The nameplate's figures beside the fit; they count neither in `misfit` nor in `readings`.
    prior : ParameterPrior
        Of the parameters, before any visit.
    """

    unit: Unit
    generic: Unit
    values: Array
    covariance: Array
    observations: tuple[Observation, ...] = ()
    lines: tuple[Linearised, ...] = ()
    settled: bool = True
    nameplate: tuple[RatedFigure, ...] = ()
    prior: ParameterPrior = PLAIN

    @property
    def spreads(self) -> Array:
        """Posterior standard deviation of each parameter."""
        return np.sqrt(np.diag(self.covariance))

    @property
    def visits(self) -> tuple[str, ...]:
        """Labels of the clean visits used; empty for the nameplate alone."""
        return tuple(seen.label for seen in self.observations)

    @property
    def readings(self) -> int:
        """Number of readings used."""
        return sum(len(seen.names) for seen in self.observations)

    @property
    def ambient_pressures(self) -> dict[str, float]:
        """Of each visit used [Pa], to show gauge pressures by."""
        return {seen.label: seen.ambient_pressure for seen in self.observations}

    @property
    def residuals(self) -> tuple[Residual, ...]:
        """Every reading used beside the fit."""
        rows = []
        for line, seen in zip(self.lines, self.observations, strict=True):
            spreads = np.sqrt(np.diag(line.noise))
            columns = (map(float, column) for column in (seen.values, line.expected, spreads))
            rows += [Residual(seen.label, *row) for row in zip(seen.names, *columns, strict=True)]
        return tuple(rows)

    @property
    def misfit(self) -> float:
        """Sum of squared standardised residuals, correlations taken into account [-]."""
        total = 0.0
        for line, seen in zip(self.lines, self.observations, strict=True):
            off = seen.values - line.expected
            total += float(off @ np.linalg.solve(line.noise, off))
        return total

    def visits_alone(self) -> tuple[Array, Array]:
        """What the clean visits say of the parameters without nameplate and prior.

        Returns
        -------
        (ndarray, ndarray)
            Information J, shape (parameters, parameters), and h, shape (parameters,): the logarithm of their
            likelihood is h θ - θ J θ / 2 but for a constant, around the fit.
        """
        information, pull = np.zeros((len(NAMES), len(NAMES))), np.zeros(len(NAMES))
        for line, seen in zip(self.lines, self.observations, strict=True):
            information += line.information()
            pull += line.pull(seen.values)
        return 0.5 * (information + information.T), pull + information @ self.values


def baseline_of(case: Case, prior: ParameterPrior = PLAIN) -> Baseline:
    """Fit of a case's clean visits; from its nameplate alone where it has none.

    Parameters
    ----------
    case : Case
        Nameplate, meters and visits.
    prior : ParameterPrior
        What other units of the nameplate show of its parameters.

    Returns
    -------
    Baseline
        The fitted clean unit.
    """
    return fit_baseline(case.unit, case.clean_visits, case.instruments, prior=prior)


def baseline_without(case: Case, visit: Visit, baseline: Baseline | None = None) -> Baseline:
    """Fit of the clean visits other than one, which is to be judged by them.

    Parameters
    ----------
    case : Case
        Nameplate, meters and visits.
    visit : Visit
        Left out where it is a clean one.
    baseline : Baseline, optional
        `baseline_of(case)` where it is there already, or the fit of the others itself; its prior stays.

    Returns
    -------
    Baseline
        The given one where nothing had to be left out.
    """
    rest = tuple(one for one in case.clean_visits if one != visit)
    if baseline is not None and (len(rest) == len(case.clean_visits) or visit.label not in baseline.visits):
        return baseline
    if baseline is not None and len(baseline.observations) > MOST_FITTED_AGAIN:
        stepped = _taken_out(baseline, visit.label, generic_unit(case.unit, rest))
        if np.all(np.abs(stepped.values - baseline.values) <= LONGEST_STEP_OUT * SPREADS):
            return stepped
    prior = PLAIN if baseline is None else baseline.prior
    return fit_baseline(case.unit, rest, case.instruments, prior=prior)


def _taken_out(baseline: Baseline, label: str, generic: Unit) -> Baseline:
    """A fit of many visits less one of them: a step with that visit's part out of curvature and slope.

    Parameters keep their meaning while the nameplate's unit takes the fans of the other visits.
    """
    parts = tuple(zip(baseline.observations, baseline.lines, strict=True))
    information, pull = np.linalg.inv(baseline.covariance), np.zeros(len(NAMES))
    for seen, line in parts:
        if seen.label == label:
            information = information - line.information()
            pull = pull - line.pull(seen.values)
    covariance = np.linalg.inv(information)
    values = _bounded(baseline.values + covariance @ pull)
    kept = [(seen, line) for seen, line in parts if seen.label != label]
    return replace(
        baseline,
        unit=adjusted(generic, values),
        generic=generic,
        values=values,
        covariance=0.5 * (covariance + covariance.T),
        observations=tuple(seen for seen, _ in kept),
        lines=tuple(line.moved(values - baseline.values) for _, line in kept),
    )


def fit_baseline(
    description: UnitDescription,
    visits: Sequence[Visit] = (),
    instruments: Instruments | None = None,
    *,
    rated: bool = True,
    prior: ParameterPrior = PLAIN,
) -> Baseline:
    """Fit a unit to its clean visits.

    Parameters
    ----------
    description : UnitDescription
    visits : sequence of Visit
        Visits with a clean condenser; none gives the nameplate's unit.
    instruments : Instruments or None
        Meters; None for the documented defaults.
    rated : bool
        Whether capacity and EER are a rating, which is evidence; False for a nominal size, which is none.
    prior : ParameterPrior
        Of the parameters: the plain one, or what the clean visits to others of the nameplate show.

    Returns
    -------
    Baseline

    Raises
    ------
    ValueError
        Where the nameplate is out of range, or that of several circuits together.
    """
    if (description.circuits or 1) > 1:
        raise ValueError(
            f"[unit] circuits is {description.circuits}; one is expected here: `coiltoll measure`, `match`, "
            "`season` and `interval` take each circuit for itself and add them up"
        )
    generic = generic_unit(description, visits)
    observations = [observation(visit, instruments or Instruments()) for visit in visits]
    observations = [seen for seen in observations if seen.names]
    printed = [nameplate_observation(description), *table_observations(description)] if rated else []
    values, information, lines, settled = _most_likely(generic, printed, observations, prior)
    covariance = np.linalg.inv(information)
    return Baseline(
        unit=adjusted(generic, values),
        generic=generic,
        values=values,
        covariance=0.5 * (covariance + covariance.T),
        observations=tuple(observations),
        lines=tuple(lines[1:] if printed else lines),
        settled=settled,
        nameplate=_rated_figures(printed, lines[0], information) if printed else (),
        prior=prior,
    )


def _rated_figures(
    printed: list[Observation], line: Linearised, information: Array
) -> tuple[RatedFigure, ...]:
    """The nameplate's figures, the first of what is printed, beside the fit and without it."""
    plate, measured = printed[0], np.concatenate([seen.values for seen in printed])
    first = slice(len(plate.names))
    without = (information - line.information(), line.pull(measured))
    return rated_figures(plate, line.expected[first], line.slopes[first], without)


def _most_likely(
    generic: Unit, printed: list[Observation], visits: list[Observation], before: ParameterPrior
) -> tuple[Array, Array, list[Linearised], bool]:
    """Parameters, information, what is printed (in one, where anything is) and visits around them, ending."""
    values, prior = _bounded(before.mean), before.precision
    measured = [np.concatenate([seen.values for seen in printed])] if printed else []
    measured += [seen.values for seen in visits]

    def around(values: Array, starts: Sequence[Array] = ()) -> tuple[list[Linearised], list[Array]]:
        lines, ends = linearised(generic, values, [*printed, *visits], starts)
        count = len(printed)
        return [*([_joined(lines[:count], printed)] if count else []), *lines[count:]], ends

    lines, starts = around(values)
    cost = _cost(values - before.mean, prior, lines, measured)
    damping, settled = 0.0, False
    for _ in range(MOST_STEPS):
        information = prior + sum(line.information() for line in lines)
        pull = -prior @ (values - before.mean)
        for line, seen in zip(lines, measured, strict=True):
            pull += line.pull(seen)
        step = np.linalg.solve(information + damping * prior, pull)
        trial = _bounded(values + step)
        trial_lines, trial_starts = around(trial, starts)
        trial_cost = _cost(trial - before.mean, prior, trial_lines, measured)
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
    return values, prior + sum(line.information() for line in lines), lines, settled


def _joined(lines: list[Linearised], observations: list[Observation]) -> Linearised:
    """Several observations as one, with the errors that they have in common."""
    common = np.concatenate([np.asarray(seen.common) for seen in observations])
    return Linearised(
        np.concatenate([line.expected for line in lines]),
        np.concatenate([line.slopes for line in lines]),
        block_diag(*(line.noise for line in lines)) + common @ common.T,
    )


def _bounded(values: Array) -> Array:
    return np.clip(values, -WORST_BOUND * SPREADS, WORST_BOUND * SPREADS)


def linearised(
    generic: Unit, values: Array, observations: Sequence[Observation], starts: Sequence[Array] = ()
) -> tuple[list[Linearised], list[Array]]:
    """Expected readings of clean visits around given parameters.

    Visits with the same settings are solved in one call of the cycle: for each the point itself, a column a
    parameter, a column a setting.

    Parameters
    ----------
    generic : Unit
        The nameplate's unit.
    values : ndarray, shape (parameters,)
        Where the slopes are taken.
    observations : sequence of Observation
        Settings and readings of the visits.
    starts : sequence of ndarray, each of shape (3,)
        The solver's unknowns of neighbouring points, one a visit; none to begin from the weather.

    Returns
    -------
    (list of Linearised, list of ndarray)
        One a visit; and its unknowns, shape (3,), to start again from.
    """
    alike: dict[tuple[str, ...], list[int]] = {}
    for place, seen in enumerate(observations):
        alike.setdefault(tuple(seen.settings), []).append(place)
    found: dict[int, tuple[Linearised, Array]] = {}
    for places in alike.values():
        start = np.stack([starts[place] for place in places], axis=-1)[..., None] if starts else None
        lines = _solved_together(generic, values, [observations[place] for place in places], start)
        found.update(zip(places, lines, strict=True))
    return [found[place][0] for place in sorted(found)], [found[place][1] for place in sorted(found)]


def _solved_together(
    generic: Unit, values: Array, group: list[Observation], start: Array | None
) -> list[tuple[Linearised, Array]]:
    """Readings and unknowns of visits that have the same settings."""
    parameters, settings = len(NAMES), list(group[0].settings)
    columns = 1 + parameters + len(settings)
    table = stepped(values, PARAMETER_STEPS, columns=columns)
    spreads = np.array([[seen.setting_spreads[name] for name in settings] for seen in group])
    steps = setting_steps(settings, spreads)
    moved = {name: np.repeat([[seen.settings[name]] for seen in group], columns, axis=1) for name in settings}
    for index, name in enumerate(settings):
        moved[name][:, 1 + parameters + index] += steps[:, index]
    pressure, speed, fan = np.array(
        [[seen.ambient_pressure, seen.compressor_speed, seen.outdoor_fan_speed] for seen in group]
    ).T[..., None]
    point = solve(adjusted(generic, table[:, None]), conditions(moved, pressure, speed, fan), HEALTHY, start)
    names = tuple(dict.fromkeys(name for seen in group for name in seen.names))
    shown = np.moveaxis(point_readings(point, names, pressure), 0, 1)
    expected, others = shown[..., 0], shown[..., 1:] - shown[..., :1]
    slopes = others[..., :parameters] / PARAMETER_STEPS
    moves = others[..., parameters:] / steps[:, None] * spreads[:, None]
    found = []
    for place, seen in enumerate(group):
        rows = [names.index(name) for name in seen.names]
        own = seen.spreads**2 + model_spreads(seen.names, seen.values) ** 2
        noise = np.diag(own) + moves[place, rows] @ moves[place, rows].T
        line = Linearised(expected[place, rows], slopes[place, rows], noise)
        found.append((line, point.unknowns[:, place, 0]))
    return found


def _cost(off_prior: Array, prior: Array, lines: list[Linearised], measured: list[Array]) -> float:
    """Twice the negative logarithm of the posterior but for constants; the noise's change counts too."""
    total = float(off_prior @ prior @ off_prior)
    for line, seen in zip(lines, measured, strict=True):
        off = seen - line.expected
        total += float(off @ np.linalg.solve(line.noise, off)) + float(np.linalg.slogdet(line.noise)[1])
    return total
