"""Draws of levels and of everything not exactly known, from what the readings of a visit leave open.

References
----------
McKay, Beckman, Conover, A comparison of three methods for selecting values of input variables, Technometrics
21, 1979 (Latin hypercube, from memory).
"""

from __future__ import annotations

from statistics import NormalDist

import numpy as np

from calibration.diagnosis.evidence import Weighed
from calibration.diagnosis.gross_errors import FREE
from calibration.diagnosis.posterior import Posterior, freed_covariance
from model.arrays import Array, IndexArray

DRAWS = 96
"""Draws of level and unit; ends of 90 % ranges scatter by about a tenth of the range."""


def likeliest_latent(found: Posterior, number: int, point: int) -> Array:
    """Likeliest latent numbers at one level of an explanation, suspect readings set free.

    Parameters
    ----------
    found : Posterior
    number : int
        Place of the explanation.
    point : int
        Place of the level in it.

    Returns
    -------
    ndarray, shape (latents,)
        In the unit of each latent number.

    References
    ----------
    The conditional mean of jointly normal numbers; Rasmussen and Williams, Gaussian Processes for Machine
    Learning, 2006, eq. (A.6) (from memory).
    """
    place, one, points = found.place, found.explanations[number], np.array([point])
    taken = place.readings
    covariance = freed_covariance(found, number, points, [found.wrong_set(number, point)])[0]
    slopes = one.slopes[point][taken]
    off = place.values[taken] - one.expected[point][taken]
    return np.asarray(place.prior_mean + place.prior_covariance @ slopes.T @ np.linalg.solve(covariance, off))


def drawn_states(found: Posterior, number: int, count: int = DRAWS) -> tuple[Array, Array]:
    """Levels and latent numbers drawn from what the readings leave open under one explanation.

    A latent vector drawn from the prior, with readings drawn for it, is corrected by the difference between
    the readings that were taken and the drawn ones: what comes out is a draw from the posterior (Matheron's
    rule). Readings that are grossly wrong at a level are drawn with an error of that kind, so they say
    nothing.

    Parameters
    ----------
    found : Posterior
    number : int
        Place of the explanation.
    count : int
        How many draws, 1 or more; always the same ones.

    Returns
    -------
    levels : ndarray, shape (faults, count)
        [-], 0 to 1.
    latent : ndarray, shape (latents, count)
        In the unit of each latent number.

    References
    ----------
    Journel and Huijbregts, Mining Geostatistics, 1978 (the rule, from memory).
    """
    draw = np.random.default_rng(0)
    place, one = found.place, found.explanations[number]
    points = level_points(one, count)
    taken, prior = place.readings, place.prior_covariance
    slopes, own, meter = one.slopes[points][:, taken], one.own[points][:, taken], place.meter[taken]
    wrong = [found.wrong_set(number, int(point)) for point in points]
    root = np.linalg.cholesky(prior + 1e-12 * np.diag(np.maximum(np.diag(prior), 1e-18)))
    moved = (root @ normal_draws(draw, len(prior), count)).T
    errors = np.hypot(own, meter) * normal_draws(draw, own.shape[1], count).T
    scores = normal_draws(draw, max(len(found.errors.names), 1), count).T
    ways = FREE * found.errors.directions(taken, slopes)
    for number_of_draw, chosen in enumerate(wrong):
        errors[number_of_draw] += ways[number_of_draw][:, chosen] @ scores[number_of_draw, chosen]
    covariance = freed_covariance(found, number, points, wrong)
    off = (
        place.values[taken] - one.expected[points][:, taken] - np.einsum("prl,pl->pr", slopes, moved) - errors
    )
    pull = np.linalg.solve(covariance, off[..., None])[..., 0]
    latent = place.prior_mean + moved + np.einsum("pr,prl->pl", pull, slopes @ prior)
    return _within_cells(one, points), np.ascontiguousarray(latent.T)


def _within_cells(one: Weighed, points: IndexArray) -> Array:
    """Levels at some points; those of a pair, which lie far apart, drawn evenly from around their points."""
    levels = one.levels[:, points]
    if len(levels) < 2:
        return levels
    line = np.unique(one.levels[0])
    edges = np.concatenate([line[:1], 0.5 * (line[1:] + line[:-1]), line[-1:]])
    place = np.searchsorted(line, levels)
    even = np.tile((np.arange(points.size) + 0.5) / points.size, (len(levels), 1))
    share = np.random.default_rng(2).permuted(even, axis=1)
    return np.asarray(edges[place] + share * (edges[place + 1] - edges[place]))


def normal_draws(draw: np.random.Generator, rows: int, count: int) -> Array:
    """Standard normal numbers, each row the same evenly probable ones in an order of its own.

    Parameters
    ----------
    draw : numpy.random.Generator
        Decides the orders.
    rows : int
        How many independent quantities.
    count : int
        How many draws of each, 2 or more.

    Returns
    -------
    ndarray, shape (rows, count)
        [-], with mean 0 and standard deviation 1 in every row.

    References
    ----------
    McKay, Beckman, Conover 1979, Technometrics 21, 239-245 (Latin hypercube, from memory).
    """
    scores = np.array([NormalDist().inv_cdf((place + 0.5) / count) for place in range(count)])
    scores /= np.sqrt(np.mean(scores**2))
    return draw.permuted(np.tile(scores, (rows, 1)), axis=1)


def level_points(one: Weighed, count: int = DRAWS) -> IndexArray:
    """Places of levels that stand for what the readings leave open, each for the same probability.

    Parameters
    ----------
    one : Weighed
        The explanation.
    count : int
        How many, 1 or more.

    Returns
    -------
    ndarray of int, shape (count,)
        Into the last axis of `one.levels`, in rising order.
    """
    held = np.cumsum(one.posterior)
    return np.asarray(np.searchsorted(held, (np.arange(count) + 0.5) / count * held[-1]))
