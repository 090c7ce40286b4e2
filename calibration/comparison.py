"""An as-found visit beside the clean unit at the same weather, and the fouling that explains it best.

The fouling is a blocked share of the condenser's face. Its likelihood is computed on a grid: at each share
the expected readings, their slopes by parameter and their noise; the clean fit's own uncertainty is carried
as slopes times posterior covariance, so that a badly known unit gives a wide answer. Between grid points the
misfit is a smooth curve (monotone-safe cubic through the points); mode and interval are read from the density
that follows with a flat prior between 0 and the largest share.

Whether the readings are those of a fouled coil at all is `calibration.match`'s question.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from calibration.baseline import Baseline, linearised_for
from calibration.case import Case, Visit
from calibration.expected import Observation, conditions, observation
from calibration.monotone_cubic import monotone_cubic
from calibration.parameters import adjusted
from calibration.performance import MeasuredPerformance, measured_performance
from calibration.prediction import Change, Prediction, predicted_beside_clean
from model import fans
from model.causes import Causes

Array = NDArray[np.float64]

SHARES = np.array([0.0, 0.08, 0.16, 0.24, 0.32, 0.4, 0.48, 0.56, 0.64, 0.72, 0.8, 0.86])
"""Blocked shares of the face at which the cycle is solved [-]."""
FINE = np.linspace(0.0, float(SHARES[-1]), 431)
"""Shares at which the density is summed [-]."""


@dataclass(frozen=True)
class Severity:
    """A severity with its 90 % interval, all [-]: most likely value, lower and upper bound."""

    value: float
    low: float
    high: float


@dataclass(frozen=True)
class Row:
    """One reading [SI]: measured, expected clean, expected fouled, standard error of measured less clean."""

    reading: str
    measured: float
    clean: float
    fouled: float
    standard_error: float

    @property
    def standardised(self) -> float:
        """Measured less clean, over its standard error [-]."""
        return (self.measured - self.clean) / self.standard_error


@dataclass(frozen=True)
class Comparison:
    """An as-found visit against the clean unit.

    Attributes
    ----------
    visit : Visit
    measured : MeasuredPerformance
    clean, fouled : Prediction
        The clean unit at the visit's weather, and with the best fouling.
    blocked : Severity
        Blocked share of the condenser's face.
    airflow_lost : Severity
        Share of the condenser's airflow that this costs.
    change : Change
        What the fouling takes from the clean unit at this weather.
    rows : tuple of Row
        Reading by reading.
    clean_misfit, fouled_misfit : float
        Sum of squared standardised differences without and with the fouling, correlations taken into account
        [-].
    readings : int
        How many readings these sums have.
    """

    visit: Visit
    measured: MeasuredPerformance
    clean: Prediction
    fouled: Prediction
    blocked: Severity
    airflow_lost: Severity
    change: Change
    rows: tuple[Row, ...]
    clean_misfit: float
    fouled_misfit: float
    readings: int


def compare_visit(case: Case, visit: Visit, baseline: Baseline) -> Comparison:
    """One visit against a fitted clean unit.

    Parameters
    ----------
    case : Case
        For nameplate and meters.
    visit : Visit
        As found, or any other.
    baseline : Baseline
        `calibration.baseline.baseline_of(case)`.

    Returns
    -------
    Comparison

    Raises
    ------
    ValueError
        Where the visit has no reading that the model could explain.
    """
    seen = observation(visit, case.instruments)
    if not seen.names:
        raise ValueError(
            f"visit {visit.label}: has no pressure, pipe temperature, supply air or power; "
            "at least one is expected"
        )
    grid = _misfit(baseline, seen, SHARES)
    blocked = _severity(grid.cost)
    best = _misfit(baseline, seen, np.array([blocked.value]))
    weather = conditions(seen.settings, seen.ambient_pressure, seen.compressor_speed, seen.outdoor_fan_speed)
    causes = Causes(condenser_blocked=blocked.value)
    both = predicted_beside_clean(baseline, weather, causes)
    columns = (seen.values, grid.expected[0], best.expected[0], grid.spreads[0])
    rows = zip(seen.names, *(map(float, column) for column in columns), strict=True)
    return Comparison(
        visit=visit,
        measured=measured_performance(visit, case.unit, case.instruments),
        clean=both.clean,
        fouled=both.changed,
        blocked=blocked,
        airflow_lost=_airflow_lost(baseline, blocked),
        change=both.change,
        rows=tuple(Row(*row) for row in rows),
        clean_misfit=float(grid.squares[0]),
        fouled_misfit=float(best.squares[0]),
        readings=len(seen.names),
    )


class _Misfit(NamedTuple):
    """Of each share: twice the negative log likelihood, its squares, expected readings, their spreads."""

    cost: Array
    squares: Array
    expected: Array
    spreads: Array


def _misfit(baseline: Baseline, seen: Observation, shares: Array) -> _Misfit:
    causes = Causes(condenser_blocked=shares[:, None])
    lines, _ = linearised_for(baseline.generic, baseline.values, seen, causes)
    spread = lines.noise + lines.slopes @ baseline.covariance @ np.swapaxes(lines.slopes, -1, -2)
    off = (seen.values - lines.expected)[..., None]
    squares = (np.swapaxes(off, -1, -2) @ np.linalg.solve(spread, off))[:, 0, 0]
    cost = squares + np.linalg.slogdet(spread)[1]
    return _Misfit(cost, squares, lines.expected, np.sqrt(np.diagonal(spread, axis1=-2, axis2=-1)))


def _severity(costs: Array) -> Severity:
    curve = monotone_cubic(SHARES, costs, FINE)
    density = np.exp(-0.5 * (curve - curve.min()))
    held = np.cumsum(density)
    held /= held[-1]
    low, high = np.interp([0.05, 0.95], held, FINE)
    value = float(FINE[int(np.argmin(curve))])
    return Severity(value, min(float(low), value), max(float(high), value))


def _airflow_lost(baseline: Baseline, blocked: Severity) -> Severity:
    fan = adjusted(baseline.generic, baseline.values).outdoor_fan
    lost = 1.0 - fans.airflow_ratio(fan, np.array([blocked.value, blocked.low, blocked.high]))
    return Severity(*map(float, lost))
