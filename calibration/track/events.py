"""Changes that begin on a day: cleanings, bursts of dirt, sensors, other faults, weighed on one footing.

Every change is one direction of the readings, from a day on, with a spread of its size. By the determinant
lemma its evidence over "nothing changed" follows from one factor of the normal equations, for every day at
once: with b the change's projection on what is left and g its length after everything else has been fitted,
the gain is (k² b² / (1 + k² g) - ln(1 + k² g)) / 2, as for gross errors of a visit
(`calibration.diagnosis.likelihood`). With the prior rate of each kind these add up to a probability. The
most probable change joins the explanation and all is fitted again, until none is probable enough. Kinds whose
evidence is alike on the same days cannot be told apart, and the event says so.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.linalg import solve_triangular
from scipy.special import log_ndtr

from calibration.case.meters import METER_OF_READING
from calibration.track.smoother import DatedChange, Smoothed
from calibration.track.system import AIRFLOW, System
from model.arrays import Array
from model.season.weather_year import DAYS_PER_YEAR

CLAIM = 0.98
"""Probability from which on a change counts as found [-]; a choice."""
MOST_EVENTS = 10
FEWEST_AFTER = 3
"""Days with readings that a change must be seen on [-]."""
ALIKE = 0.2
"""Probability of a rival kind from which on it is named [-]; a choice."""


@dataclass(frozen=True)
class Kind:
    """One kind of change: key, direction, form, sign (0 for either), spread of its size, rate [1/a].

    Sizes: of the level; standard accuracies for sensors; logarithms for parameters (each a year for ramps).
    Rates are judgement, no source.
    """

    key: str
    direction: str
    form: str
    sign: int
    size: float
    rate: float


LEVEL_KINDS = (
    Kind("cleaned", "", "step", -1, 0.3, 0.6),
    Kind("burst", "", "step", 1, 0.15, 0.2),
    Kind("leak", "charge", "ramp", -1, 0.3, 0.05),
    Kind("charge_added", "charge", "step", 1, 0.15, 0.05),
    Kind("condenser_fan", "condenser_airflow", "step", -1, 0.3, 0.03),
    Kind("low_indoor_airflow", AIRFLOW, "step", -1, 0.25, 0.05),
    Kind("indoor_filter", AIRFLOW, "ramp", -1, 0.4, 0.1),
)
SENSOR_STEP, SENSOR_DRIFT = (10.0, 0.02), (10.0, 0.02)
"""Size in standard accuracies (a year), and rate of each sensor [1/a]."""


@dataclass(frozen=True)
class Found:
    """A change that is probable, and what else it may be.

    Attributes
    ----------
    change : DatedChange
    probability : float
        That something changed about then [-].
    kinds : tuple of (str, float)
        Kinds and their probabilities, given that something changed; the most probable first.
    first, last : float
        90 % range of the day, years since 1970 [a].
    """

    change: DatedChange
    probability: float
    kinds: tuple[tuple[str, float], ...]
    first: float
    last: float


def kinds(system: System) -> tuple[Kind, ...]:
    """Kinds of change that the readings of a log could show.

    Parameters
    ----------
    system : System
        For its readings.

    Returns
    -------
    tuple of Kind
        Level and faults, then two for each sensor.
    """
    sensors = [name for name in system.directions if name in METER_OF_READING]
    return (
        *LEVEL_KINDS,
        *(Kind(f"step:{name}", name, "step", 0, *SENSOR_STEP) for name in sensors),
        *(Kind(f"drift:{name}", name, "ramp", 0, *SENSOR_DRIFT) for name in sensors),
    )


def most_probable(system: System, answer: Smoothed) -> Found | None:
    """The most probable change that is not yet part of the explanation; None where none is probable.

    Parameters
    ----------
    system : System
        As it was solved.
    answer : Smoothed
        Of that system.

    Returns
    -------
    Found or None
    """
    all_kinds = kinds(system)
    logs = np.stack([_log_odds(system, answer, kind) for kind in all_kinds])
    _, starts = np.unique(system.node, return_index=True)
    logs = logs[:, starts]
    logs[:, 0] = -np.inf
    logs[:, len(starts) - FEWEST_AFTER + 1 :] = -np.inf
    if not np.isfinite(logs).any():
        return None
    evidence = np.logaddexp.reduce(logs, axis=1)
    best = int(np.argmax(evidence))
    days = np.exp(logs[best] - evidence[best])
    place = int(np.argmax(days))
    total = float(np.logaddexp.reduce(evidence))
    probability = 1.0 / (1.0 + np.exp(-min(total, 700.0)))
    if probability < CLAIM:
        return None
    shares = np.exp(evidence - total)
    order = np.argsort(-shares)
    named = tuple((all_kinds[number].key, float(shares[number])) for number in order[:4])
    kind, years = all_kinds[best], system.years[starts]
    held = np.cumsum(days)
    ends = np.searchsorted(held, [0.05, 0.95]).clip(0, len(years) - 1)
    begin = float(0.5 * (years[place] + years[place - 1]))
    change = DatedChange(kind.key, kind.direction, kind.form, begin, kind.size)
    return Found(change, float(probability), named, float(years[max(ends[0] - 1, 0)]), float(years[ends[1]]))


def _log_odds(system: System, answer: Smoothed, kind: Kind) -> Array:
    """Logarithm of prior odds and gain of a change that begins with each entry of the system."""
    aimed = system.directions[kind.direction] if kind.direction else system.slope
    years = system.years
    since = years - years[0]

    def after(values: Array) -> Array:
        return np.cumsum(values[::-1], axis=0)[::-1]

    pull = np.sum(aimed * answer.residual, axis=1)
    square = np.sum(aimed**2, axis=1)
    on_rest = np.einsum("nr,nrq->nq", aimed, answer.whole)
    on_node = np.zeros((len(years), int(system.node.max()) + 1))
    on_node[np.arange(len(years)), system.node] = np.sum(aimed * system.slope, axis=1)
    crossed = np.concatenate([on_node, on_rest], axis=1)
    if kind.form == "step":
        b, length, crossed = after(pull), after(square), after(crossed)
    else:
        start = since
        b = after(pull * since) - start * after(pull)
        length = after(square * since**2) - 2 * start * after(square * since) + start**2 * after(square)
        crossed = after(crossed * since[:, None]) - start[:, None] * after(crossed)
    fitted = solve_triangular(answer.factor, crossed.T, lower=True)
    g = np.maximum(length - np.sum(fitted**2, axis=0), 0.0)
    wide = kind.size**2
    gain = 0.5 * (wide * b**2 / (1.0 + wide * g) - np.log1p(wide * g))
    if kind.sign:
        gain = gain + np.log(2.0) + log_ndtr(kind.sign * kind.size * b / np.sqrt(1.0 + wide * g))
    # a change between two days is as probable as the time between them is long
    width = np.maximum(np.diff(years, prepend=years[0]), 1.0 / DAYS_PER_YEAR)
    return np.asarray(gain + np.log(kind.rate * width))
