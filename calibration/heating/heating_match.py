"""What is wrong with a heat pump by its readings in heating: a few faults, "none of these", or no fault.

Weighed are no fault, a fouled outdoor coil, low indoor airflow, too little and too much refrigerant, each
over a grid of levels, and each with all readings right or one of them grossly wrong. For one explanation and
level the readings are normal around what the heating cycle expects. Their covariance holds the heating fit's
uncertainty, errors of outdoor and return air, each meter's error, and the model's own error in heating; a
reading that is grossly wrong scatters as many times wider as its meter's and the model's error allow.
"None of these" is no fault with all of it several times as large: it wins where nothing explains the
readings.

References
----------
Form as in `calibration.diagnosis.evidence`. Odds beforehand and the model's own errors in heating: judgement,
no source; no heating test of a whole unit was readable to check them with.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from calibration.case.records import Case, Visit
from calibration.clean_fit.baseline import Baseline
from calibration.estimate import Estimate, of_weighted
from calibration.heating.heating_fit import HEATING_PARAMETERS, HeatingFit, adjusted_pump, heating_fit_of
from calibration.heating.heating_readings import READINGS, common_errors, expected_readings, heating_readings
from model.arrays import Array
from model.cycle.faults import FAULTS, Faults, at_level

HEATING_FAULTS = {
    "condenser_blocked": 0.22,
    "indoor_airflow_low": 0.12,
    "undercharge": 0.10,
    "overcharge": 0.06,
}
"""Faults that are weighed, and their probability beforehand [-]; the rest is no fault (judgement)."""
NO_FAULT, NONE_OF_THESE = "no_fault", "none_of_these"
UNEXPLAINED, WIDER = 0.05, (2.0, 4.0)
"""Probability beforehand that something else is wrong, and how much wider its readings scatter [-]."""
GROSS_ERROR, GROSS_SIZE = 0.02, 10.0
"""Probability that one reading is grossly wrong, and its scatter then over the usual one [-]; judgement."""
SUSPECT = 0.5
"""Probability of a gross error from which on a reading is suspect [-], as in cooling."""
WORST_MISFIT = 2.0
"""Squared differences over their covariance, per reading, beyond which no verdict is given [-]: a suspect
reading is to be repeated first."""
LEVELS: Array = np.linspace(0.1, 1.0, 10)
"""Levels of each fault, over its largest [-]."""
CLAIMED = 2.0 / 3.0
"""Probability from which on a fault is claimed [-], as in cooling."""


@dataclass(frozen=True)
class HeatingFinding:
    """What the readings of one visit in heating point to.

    Attributes
    ----------
    label : str
        The visit's.
    ambient_pressure : float
        Its barometer [Pa], to show gauge pressures by.
    probabilities : dict of str to float
        By the key of a fault, `NO_FAULT` or `NONE_OF_THESE`; they add to one.
    verdict : str
        "fault", "no_fault", "none_of_these" or "inconclusive".
    claimed : str
        Key of the fault that is claimed; empty without one.
    level : Estimate or None
        Of the likeliest fault, in the unit of its field: blocked share, share of the airflow, of the charge.
    likeliest : str
        Key of the likeliest fault.
    expected : dict of str to float
        What the fitted unit would show without a fault, of the readings that were taken [SI].
    measured : dict of str to float
        The readings.
    errors : dict of str to float
        Standard deviations of the differences [SI].
    suspects : dict of str to float
        Probability of each reading to be grossly wrong [-].
    misfit : float
        Squared differences of the best explanation over their covariance, over the number of readings [-].
    blocked : Estimate
        Blocked share of the outdoor coil's face, supposing that it is fouled [-].
    """

    label: str
    ambient_pressure: float
    probabilities: dict[str, float]
    verdict: str
    claimed: str
    level: Estimate | None
    likeliest: str
    expected: dict[str, float]
    measured: dict[str, float]
    errors: dict[str, float]
    suspects: dict[str, float]
    misfit: float
    blocked: Estimate


def heating_findings(case: Case, baseline: Baseline, visits: Sequence[Visit]) -> list[HeatingFinding]:
    """What the readings of some visits in heating point to, with one fit of the heating side.

    Parameters
    ----------
    case : Case
        Nameplate and meters.
    baseline : Baseline
        Fit of the cooling side.
    visits : sequence of Visit
        Of its `heating_visits`; without any nothing is fitted.

    Returns
    -------
    list of HeatingFinding
        One for each visit.

    Raises
    ------
    ValueError
        Where the unit has no heating figures on its nameplate, or a visit no reading.
    """
    if not visits:
        return []
    fit = heating_fit_of(case, baseline)
    return [find_in_heating(case, one, baseline, fit) for one in visits]


def find_in_heating(
    case: Case, visit: Visit, baseline: Baseline, fit: HeatingFit | None = None
) -> HeatingFinding:
    """What the readings of one visit in heating point to.

    Parameters
    ----------
    case : Case
        Nameplate and meters.
    visit : Visit
        One of its `heating_visits`.
    baseline : Baseline
        Fit of the cooling side.
    fit : HeatingFit, optional
        Of the heating side, where it is there already.

    Returns
    -------
    HeatingFinding

    Raises
    ------
    ValueError
        Where no reading was taken that the model could explain.
    """
    known = fit or heating_fit_of(case, baseline)
    measured, errors = heating_readings(visit, case.instruments)
    names = [name for name in READINGS if name in measured]
    if not names:
        raise ValueError(f"{visit.label}: no reading that the heating cycle could explain; one is expected")
    y = np.array([measured[name] for name in names])
    expected, covariance = _clean(known, visit, names)
    own = np.array([errors[name] ** 2 for name in names])
    covariance = covariance + np.diag(own)
    tables = {NO_FAULT: _with_gross_errors((y - expected)[:, None], covariance, own)}
    for key in HEATING_FAULTS:
        means = expected_readings(known.pump, visit, names, _faults(key))
        tables[key] = _with_gross_errors(y[:, None] - means, covariance, own) - np.log(LEVELS.size)
    logs = {key: float(np.logaddexp.reduce(table, axis=None)) for key, table in tables.items()}
    wider = [_log_density(y - expected, scale**2 * covariance) for scale in WIDER]
    logs[NONE_OF_THESE] = float(np.logaddexp.reduce(wider) - np.log(len(WIDER)))
    prior = {**HEATING_FAULTS, NONE_OF_THESE: UNEXPLAINED}
    prior[NO_FAULT] = 1.0 - sum(prior.values())
    probabilities = _normalised({key: logs[key] + np.log(prior[key]) for key in prior})
    return _finding(visit, probabilities, tables, (names, y, expected, covariance))


def _with_gross_errors(off: Array, covariance: Array, own: Array) -> Array:
    """Logarithm of prior and density, all readings right or one wrong, shape (readings + 1, levels)."""
    rows = [_log_density(off, covariance) + np.log(1.0 - GROSS_ERROR * len(own))]
    for place, variance in enumerate(own):
        wider = covariance.copy()
        wider[place, place] += GROSS_SIZE**2 * variance
        rows.append(_log_density(off, wider) + np.log(GROSS_ERROR))
    return np.array(rows)


def _finding(
    visit: Visit,
    probabilities: dict[str, float],
    tables: dict[str, Array],
    seen: tuple[list[str], Array, Array, Array],
) -> HeatingFinding:
    names, y, expected, covariance = seen
    faults = [key for key in tables if key != NO_FAULT]
    likeliest = max(faults, key=lambda key: probabilities[key])
    top = max(probabilities, key=lambda key: probabilities[key])
    suspects = _suspects(names, probabilities, tables)
    # How well the best explanation fits: its density against that of readings right on it.
    size = np.linalg.slogdet(covariance)[1] + y.size * np.log(2.0 * np.pi)
    plain = max(float(table[0].max()) for table in tables.values())
    misfit = float((-2.0 * (plain - np.log(1.0 - GROSS_ERROR * y.size)) - size) / y.size)
    verdict = "inconclusive"
    if probabilities[top] >= CLAIMED and (misfit <= WORST_MISFIT or top == NONE_OF_THESE):
        verdict = top if top in (NO_FAULT, NONE_OF_THESE) else "fault"
    claimed = top if verdict == "fault" else ""
    return HeatingFinding(
        label=visit.label,
        ambient_pressure=visit.ambient_pressure,
        probabilities=probabilities,
        verdict=verdict,
        claimed=claimed,
        level=_level(likeliest, tables),
        blocked=_level("condenser_blocked", tables),
        suspects=suspects,
        likeliest=likeliest,
        expected=dict(zip(names, map(float, expected), strict=True)),
        measured=dict(zip(names, map(float, y), strict=True)),
        errors=dict(zip(names, map(float, np.sqrt(np.diag(covariance))), strict=True)),
        misfit=misfit,
    )


def _level(key: str, tables: dict[str, Array]) -> Estimate:
    """Level of a fault, supposing that it is the one, in the unit of its field."""
    by_level = np.logaddexp.reduce(tables[key], axis=0)
    largest = next(fault for fault in FAULTS if fault.key == key).largest
    return of_weighted(largest * LEVELS, np.exp(by_level - by_level.max()))


def _faults(key: str) -> Faults:
    """The fault at every level of the grid."""
    return at_level(next(fault for fault in FAULTS if fault.key == key), LEVELS)


def _clean(fit: HeatingFit, visit: Visit, names: list[str]) -> tuple[Array, Array]:
    """Readings of the fitted unit, and their covariance by fit, weather, return air and its own airflow."""
    count = len(HEATING_PARAMETERS)
    moved = fit.values[:, None] + np.concatenate([np.zeros((count, 1)), 1e-3 * np.eye(count)], axis=1)
    shown = expected_readings(adjusted_pump(fit.generic, moved), visit, names)
    slopes = (shown[:, 1:] - shown[:, :1]) / 1e-3
    return shown[:, 0], slopes @ fit.covariance @ slopes.T + common_errors(fit.pump, visit, names)


def _suspects(
    names: list[str], probabilities: dict[str, float], tables: dict[str, Array]
) -> dict[str, float]:
    """Probability of each reading to be grossly wrong, over all explanations but "none of these"."""
    total = np.zeros(len(names))
    for key, table in tables.items():
        by_reading = np.logaddexp.reduce(table, axis=1)
        total += probabilities[key] * np.exp(by_reading[1:] - np.logaddexp.reduce(by_reading))
    return dict(zip(names, map(float, total), strict=True))


def _log_density(off: Array, covariance: Array) -> Array:
    """Logarithm of the normal density of differences (readings, ...), of the further shape."""
    solved = np.linalg.solve(covariance, off.reshape(len(off), -1)).reshape(off.shape)
    size = np.linalg.slogdet(covariance)[1] + len(off) * np.log(2.0 * np.pi)
    return np.asarray(-0.5 * (np.sum(off * solved, axis=0) + size))


def _normalised(logs: dict[str, float]) -> dict[str, float]:
    values = np.array(list(logs.values()))
    weights = np.exp(values - values.max())
    return dict(zip(logs, map(float, weights / weights.sum()), strict=True))
