"""One joint posterior over faults, their levels, and gross errors of the readings.

Every explanation (no fault, each fault at each level, the likely pairs) stands with every reading right, with
one reading grossly wrong, and with two; "none of these" is every explanation at once with all errors several
times what meters and model claim. Bayes' rule gives each its share. Whatever is said about a visit, which
fault, which reading, how large a loss, is a sum over these shares, so that no two answers can disagree.

References
----------
Gelman et al., Bayesian Data Analysis, 3rd ed. 2013, ch. 7 (comparison by marginal likelihood; from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from calibration.diagnosis.corrected_settings import with_corrected_settings
from calibration.diagnosis.evidence import Inquiry, Weighed, weighed
from calibration.diagnosis.gross_errors import FREE, GrossErrors, gross_errors
from calibration.diagnosis.hypotheses import Hypotheses
from calibration.diagnosis.likelihood import error_pairs, reading_covariance
from calibration.diagnosis.visit_model import Scene
from model.arrays import Array, IndexArray

SCATTER = 2.0**-40
"""Smallest share that is followed any further [-]."""


class Supported(NamedTuple):
    """What the other readings support for one.

    probability: that it is grossly wrong [-]; error, spread: mean and standard deviation of its error, in
    standard errors of the reading [-].
    """

    probability: float
    error: float
    spread: float


@dataclass(frozen=True)
class Posterior:
    """Shares of all explanations of one visit.

    Attributes
    ----------
    place : Scene
    errors : GrossErrors
    explanations : tuple of Weighed
        No fault first.
    shares : ndarray, shape (explanations,)
        Probability of each [-].
    none_of_these : float
        Probability that it is none of them [-]; all add to one.
    """

    place: Scene
    errors: GrossErrors
    explanations: tuple[Weighed, ...]
    shares: Array
    none_of_these: float

    def number(self, key: str) -> int:
        """Place of the explanation with that key."""
        return [one.hypothesis.key for one in self.explanations].index(key)

    def supported(self) -> tuple[Supported, ...]:
        """Each gross error: how probable it is, and what the other readings say its size is."""
        count = len(self.errors.names)
        pairs = error_pairs(count)
        weight, first, second = np.zeros(count), np.zeros(count), np.zeros(count)
        for share, one in zip(self.shares, self.explanations, strict=True):
            if share < SCATTER:
                continue
            single, double = _error_shares(one)
            weight += share * single.sum(axis=0)
            first += share * (single * one.size).sum(axis=0)
            second += share * (single * (one.size**2 + one.variance)).sum(axis=0)
            if double.size:
                sizes, variances = _sizes_of_two(one, pairs)
                for side in (0, 1):
                    at = pairs[:, side]
                    np.add.at(weight, at, share * double.sum(axis=0))
                    np.add.at(first, at, share * (double * sizes[side]).sum(axis=0))
                    np.add.at(second, at, share * (double * (sizes[side] ** 2 + variances[side])).sum(axis=0))
        mean = first / np.maximum(weight, 1e-300)
        spread = np.sqrt(np.maximum(second / np.maximum(weight, 1e-300) - mean**2, 0.0))
        explained = 1.0 - self.none_of_these
        probability = weight / explained if explained > 0.0 else weight
        return tuple(Supported(*map(float, row)) for row in zip(probability, mean, spread, strict=True))

    def wrong_set(self, number: int, point: int) -> IndexArray:
        """The gross errors that go best with one level of one explanation: none, one or two."""
        one = self.explanations[number]
        best = [float(one.right[point]), float(one.one_wrong[point].max(initial=-np.inf))]
        best.append(float(one.two_wrong[point].max(initial=-np.inf)))
        kind = int(np.argmax(best))
        if kind == 0:
            return np.zeros(0, dtype=np.intp)
        if kind == 1:
            return np.array([np.argmax(one.one_wrong[point])])
        return np.asarray(error_pairs(len(self.errors.names))[int(np.argmax(one.two_wrong[point]))])


def posterior_of(place: Scene, weights: Hypotheses, rounds: int = 2) -> Posterior:
    """Shares of all explanations of a visit.

    Parameters
    ----------
    place : Scene
        The visit and everything uncertain about it.
    weights : Hypotheses
        Explanations with their prior probabilities.
    rounds : int
        How often slopes are taken, see `calibration.diagnosis.evidence.weighed`.

    Returns
    -------
    Posterior
    """
    return posteriors([place], [weights], rounds)[0]


def posteriors(places: Sequence[Scene], weights: Sequence[Hypotheses], rounds: int = 2) -> list[Posterior]:
    """Shares of all explanations of several visits of one unit, which are solved together.

    Parameters
    ----------
    places : sequence of Scene
        Any number.
    weights : sequence of Hypotheses
        Of each; the same explanations, their prior probabilities may differ.
    rounds : int
        As for `posterior_of`.

    Returns
    -------
    list of Posterior
        One a visit.
    """
    if not places:
        return []
    asked = [
        Inquiry(place, gross_errors(place), each.all) for place, each in zip(places, weights, strict=True)
    ]
    found = with_corrected_settings(asked, weighed(asked, rounds))
    return [
        _shared(one.place, one.errors, each, explained)
        for one, each, explained in zip(asked, weights, found, strict=True)
    ]


def _shared(place: Scene, errors: GrossErrors, weights: Hypotheses, found: tuple[Weighed, ...]) -> Posterior:
    """Explanations with the share of each."""
    if not any(np.any(one.possible) for one in found):
        return Posterior(place, errors, found, np.zeros(len(found)), 1.0)
    logs = np.array([one.evidence for one in found])
    loose = float(np.logaddexp.reduce([one.loose for one in found]))
    none = loose + float(np.log(weights.none_prior) - np.log1p(-weights.none_prior))
    shares = np.exp(np.append(logs, none) - max(float(logs.max()), none))
    shares /= shares.sum()
    return Posterior(place, errors, found, shares[:-1], float(shares[-1]))


def _error_shares(one: Weighed) -> tuple[Array, Array]:
    """Probability of each level with each gross error, and with each two, under one explanation."""
    whole = one.evidence
    return np.exp(one.one_wrong - whole), np.exp(one.two_wrong - whole)


def _sizes_of_two(one: Weighed, pairs: IndexArray) -> tuple[tuple[Array, Array], tuple[Array, Array]]:
    """Size of each of two errors that the other readings support, and its variance (points, pairs)."""
    first, second = pairs[:, 0], pairs[:, 1]
    own = np.diagonal(one.information, axis1=1, axis2=2)
    g11, g22, g12 = own[:, first], own[:, second], one.information[:, first, second]
    b1, b2 = one.pull[:, first], one.pull[:, second]
    # Errors that the readings cannot tell apart, or say nothing of, keep the spread of those set free.
    g11, g22 = g11 + FREE**-2, g22 + FREE**-2
    determinant = g11 * g22 - g12**2
    sizes = ((g22 * b1 - g12 * b2) / determinant, (g11 * b2 - g12 * b1) / determinant)
    return sizes, (g22 / determinant, g11 / determinant)


def freed_covariance(found: Posterior, number: int, points: IndexArray, wrong: Sequence[IndexArray]) -> Array:
    """Covariance of measured less expected at some levels, with their gross errors set free.

    Parameters
    ----------
    found : Posterior
    number : int
        Place of the explanation.
    points : ndarray of int, shape (n,)
        Levels of it.
    wrong : sequence of ndarray of int
        Gross errors of each level.

    Returns
    -------
    ndarray, shape (n, readings, readings)
        Product of the units of two rows [SI].
    """
    place, one = found.place, found.explanations[number]
    taken = place.readings
    slopes = one.slopes[points][:, taken]
    covariance = reading_covariance(place, slopes, one.own[points][:, taken], place.meter[taken])
    moved = FREE * found.errors.directions(taken, slopes)
    for place_in, chosen in enumerate(wrong):
        part = moved[place_in][:, chosen]
        covariance[place_in] += part @ part.T
    return covariance
