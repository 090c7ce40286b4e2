"""The next reading: what each reading still to take would say about the faults.

A reading to come has a distribution under each explanation, what is not known yet included; the readings
already taken narrow it. Mixed over the explanations by their probabilities it says how much the reading would
lower the entropy of those probabilities on average: the expected information, in bits. One bit halves two
equally likely faults to one.

References
----------
Lindley, On a measure of the information provided by an experiment, Annals of Mathematical Statistics 27, 1956
(from memory).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from calibration.diagnosis.evidence import Weighed
from calibration.diagnosis.likelihood import reading_covariance
from calibration.diagnosis.posterior import Posterior
from calibration.diagnosis.visit_model import STANDING, Scene
from model.arrays import Array
from model.properties.moist_air import STANDARD_AIR_DENSITY

BETTER = 3.0
"""A reading is repeated with a meter this many times as accurate as the one of the visit [-]."""
GRID = 400
"""Values at which a reading's distributions are compared."""
REACH = 5.0
"""How far the values go beyond the outermost means [standard deviations]."""
NEGLIGIBLE = 2e-3
"""Explanations and levels of less probability are left out [-]."""
LEAST_BITS = 0.02
"""A reading that tells less is not worth a word [bit]."""
REPEATED_FIRST = 0.25
"""A reading that is wrong with this probability is repeated before anything else is read [-]."""
MOST = 5

EASE: dict[str, float] = {
    STANDING: 0.7,
    "discharge_pressure": 0.7,
    "compressor_power": 0.7,
    "outdoor_fan_power": 0.8,
    "outdoor_power": 0.9,
    "suction_pressure": 0.9,
    "liquid_pressure": 0.9,
}
"""Weight of what a reading says where it takes an hour, an open panel or a hose on the circuit [-]:
judgement, no source; all others 1."""


@dataclass(frozen=True)
class Suggestion:
    """One reading to take.

    Attributes
    ----------
    reading : str
        Key of `calibration.case.keys`.
    again : bool
        Whether it was taken already and should be repeated, `BETTER` times as accurately.
    information : float
        Expected [bit].
    share : float
        Of the entropy that is left [-].
    separates : tuple of str
        The two explanations that it would tell apart best.
    values : tuple of float
        What each of these two would make it show [SI].
    """

    reading: str
    again: bool
    information: float
    share: float
    separates: tuple[str, str]
    values: tuple[float, float]


def suggestions(found: Posterior, most: int = MOST) -> tuple[Suggestion, ...]:
    """Readings by what they would say about what a person should do, the most telling first.

    A reading that may be grossly wrong also says whether it is, when it is repeated: the entropy of that
    question counts for it. Readings that open no circuit and no panel come first among equals (`EASE`).

    Parameters
    ----------
    found : Posterior
    most : int
        How many to name.

    Returns
    -------
    tuple of Suggestion
        Fewer, or none, where little is open or nothing would say more.
    """
    place, explanations = found.place, found.explanations
    keep = np.flatnonzero(found.shares > NEGLIGIBLE)
    if not len(keep):
        return ()
    share = found.shares[keep] / found.shares[keep].sum()
    works = [explanations[number].hypothesis.treatments for number in keep]
    groups = np.array([[work == other for other in dict.fromkeys(works)] for work in works], dtype=float)
    ahead = [_ahead(place, explanations[number]) for number in keep]
    keys = [explanations[number].hypothesis.key for number in keep]
    wrong = {name: one.probability for name, one in zip(found.errors.names, found.supported(), strict=True)}
    open_question = _entropy(share @ groups) + sum(map(_doubt, wrong.values()))
    rows = [_suggestion(place, row, ahead, share, keys, groups) for row in range(len(place.names))]
    rows = [replace(one, information=one.information + _doubt(wrong.get(one.reading, 0.0))) for one in rows]
    useful = [
        one for one in rows if one.information > LEAST_BITS or wrong.get(one.reading, 0.0) >= REPEATED_FIRST
    ]
    # A reading that is probably wrong is repeated before anything else is read.
    useful.sort(
        key=lambda one: (
            -wrong.get(one.reading, 0.0) if wrong.get(one.reading, 0.0) >= REPEATED_FIRST else 0.0,
            -one.information * EASE.get(one.reading, 1.0),
        )
    )
    return tuple(replace(one, share=min(one.information / open_question, 1.0)) for one in useful[:most])


def _entropy(shares: Array) -> float:
    """Of probabilities that add to one [bit]."""
    positive = shares[shares > 0.0]
    return -float(np.sum(positive * np.log2(positive)))


def _doubt(probability: float) -> float:
    """Entropy of whether a reading is wrong [bit]."""
    return _entropy(np.array([probability, 1.0 - probability]))


class _Ahead(NamedTuple):
    """Rows as one explanation expects them, given the readings.

    mean and spread (points, rows), the meter's error left out; weight (points,): probability of each point
    under the explanation.
    """

    mean: Array
    spread: Array
    weight: Array


def _ahead(place: Scene, one: Weighed) -> _Ahead:
    weight = one.posterior
    points = np.flatnonzero(weight > NEGLIGIBLE * weight.max())
    weight = weight[points] / weight[points].sum()
    taken = place.readings
    slopes, expected, own = one.slopes[points], one.expected[points], one.own[points]
    covariance = reading_covariance(place, slopes, own, np.zeros(len(place.names)))
    among = covariance[:, taken[:, None], taken].copy()
    among[:, range(len(taken)), range(len(taken))] += place.meter[taken] ** 2
    across = covariance[:, :, taken]
    off = place.values[taken] - expected[:, taken]
    gain = np.swapaxes(np.linalg.solve(among, np.swapaxes(across, 1, 2)), 1, 2)
    mean = expected + np.einsum("prt,pt->pr", gain, off)
    variance = np.diagonal(covariance, axis1=1, axis2=2) - np.einsum("prt,prt->pr", gain, across)
    return _Ahead(mean, np.sqrt(np.maximum(variance, 0.0)), weight)


def _suggestion(
    place: Scene, row: int, ahead: list[_Ahead], share: Array, keys: list[str], groups: Array
) -> Suggestion:
    again = bool(place.taken[row])
    meter = place.meter[row] / (BETTER if again else 1.0)
    spreads = [np.maximum(np.hypot(one.spread[:, row], meter), 1e-9) for one in ahead]
    means = [one.mean[:, row] for one in ahead]
    low = min(float(np.min(mean - REACH * spread)) for mean, spread in zip(means, spreads, strict=True))
    high = max(float(np.max(mean + REACH * spread)) for mean, spread in zip(means, spreads, strict=True))
    grid = np.linspace(low, high, GRID)
    spreads = [np.maximum(spread, grid[1] - grid[0]) for spread in spreads]  # no narrower than a cell
    density = np.stack(
        [
            _mixture(grid, mean, spread, one.weight)
            for mean, spread, one in zip(means, spreads, ahead, strict=True)
        ]
    )
    density /= density.sum(axis=1, keepdims=True)
    # What separates two explanations that ask for the same work is not worth a reading.
    weight = share @ groups
    together = (groups * share[:, None]).T @ density / weight[:, None]
    both = share @ density
    gains = np.sum(
        np.where(
            together > 0.0, together * np.log2(np.maximum(together, 1e-300) / np.maximum(both, 1e-300)), 0.0
        ),
        axis=1,
    )
    pair = _best_separated(density, share) if len(share) > 1 else (0, 0)
    centres = [float(one.weight @ mean) for one, mean in zip(ahead, means, strict=True)]
    return Suggestion(
        reading=place.names[row],
        again=again,
        information=float(weight @ gains),
        share=0.0,
        separates=(keys[pair[0]], keys[pair[1]]),
        values=(_as_read(place, row, centres[pair[0]]), _as_read(place, row, centres[pair[1]])),
    )


def _mixture(grid: Array, mean: Array, spread: Array, weight: Array) -> Array:
    score = (grid[:, None] - mean) / spread
    return np.asarray(np.exp(-0.5 * score**2) @ (weight / spread))


def _best_separated(density: Array, share: Array) -> tuple[int, int]:
    """The two explanations that the reading would separate best, weighed by their share."""
    best, pair = -1.0, (0, 1)
    for first in range(len(share)):
        for second in range(first + 1, len(share)):
            part = share[[first, second]] / (share[first] + share[second])
            both = part @ density[[first, second]]
            ratio = np.maximum(density[[first, second]], 1e-300) / np.maximum(both, 1e-300)
            gained = float(part @ np.sum(density[[first, second]] * np.log2(ratio), axis=1))
            gained *= share[first] + share[second]
            if gained > best:
                order = (first, second) if share[first] >= share[second] else (second, first)
                best, pair = gained, order
    return pair


def _as_read(place: Scene, row: int, value: float) -> float:
    """A row's value in the unit of the reading [SI]."""
    if row != place.airflow_row:
        return value
    read = getattr(place.visit, place.names[row])
    if read is not None:
        return float(read * np.exp(value - place.values[row]))
    return float(place.own_airflow * np.exp(value) / STANDARD_AIR_DENSITY)
