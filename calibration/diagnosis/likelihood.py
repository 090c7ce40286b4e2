"""Density of a visit's readings under one explanation, and its gain with readings grossly wrong.

A gross error of normal size widens V by s^2 d d', a matrix of rank one. With b = d' V^-1 r and g = d' V^-1 d
for the residuals r, the determinant lemma and the formula of Sherman and Morrison give the gain in the
logarithm of the density as (m b - ln(1 + s^2 g)) / 2, where the size is normal around m = v b with the
variance v = 1 / (g + 1 / s^2), and the error that the other readings support as b / g: one factor of V serves
every reading, and every two of them with 2 by 2 matrices in the place of g. The density of a gross error's
size has the square of the size as a factor, which multiplies the density by (m^2 + v) / s^2.

References
----------
Golub and Van Loan, Matrix Computations, 4th ed. 2013, sec. 2.1.4 (Sherman-Morrison-Woodbury); Johnson and
Rossell, On the use of non-local prior densities in Bayesian hypothesis tests, Journal of the Royal
Statistical Society B 72, 2010 (the square as a factor); both from memory.
"""

from __future__ import annotations

from itertools import combinations, product

import numpy as np
from scipy.special import ndtr

from calibration.diagnosis.gross_errors import SIZES, GrossErrors
from calibration.diagnosis.visit_model import Scene
from model.arrays import Array, IndexArray

LOOSE_SCALES = (3.0, 8.0)
"""Errors of "none of these" over those that meters and model claim [-], each as likely as the other."""

LEAST_SHARE = 1e-12
"""Least factor for an error on the wrong side of what is usual or possible [-]."""


class Likelihood:
    """Densities of the readings at some levels, from one factor of their covariance."""

    def __init__(self, place: Scene, errors: GrossErrors, expected: Array, slopes: Array, own: Array) -> None:
        taken = place.readings
        slopes = slopes[:, taken]
        covariance = reading_covariance(place, slopes, own[:, taken], place.meter[taken])
        off = place.values[taken] - expected[:, taken]
        moved = errors.directions(taken, slopes)
        factor = np.asarray(np.linalg.cholesky(covariance), dtype=float)
        both = _forward(factor, np.concatenate([off[..., None], moved], axis=2))
        scaled, moved = both[..., 0], both[..., 1:]
        self.count = len(taken)
        self.square = np.sum(scaled**2, axis=1)
        self.width = np.log(np.diagonal(factor, axis1=-2, axis2=-1)).sum(axis=1) + 0.5 * self.count * np.log(
            2 * np.pi
        )
        self.right = -0.5 * self.square - self.width
        self.pull = np.einsum("pne,pn->pe", moved, scaled)
        self.information = np.swapaxes(moved, 1, 2) @ moved
        self.odds = np.log(errors.odds)
        self.positive, self.ends = errors.positive, errors.ends

    def loose(self) -> Array:
        """Logarithm of the density with all errors several times as large (points,)."""
        wide = np.array(LOOSE_SCALES)[:, None]
        logs = -0.5 * self.square / wide**2 - self.width - self.count * np.log(wide)
        return np.asarray(np.logaddexp.reduce(logs, axis=0) - np.log(len(LOOSE_SCALES)))

    def one_wrong(self) -> Array:
        """Logarithm of odds and gain of each gross error (points, errors)."""
        own = np.diagonal(self.information, axis1=1, axis2=2)
        size, share = (np.array(each)[:, None, None] for each in zip(*SIZES.items(), strict=True))
        precision = own + size**-2
        mean = self.pull / precision
        weight = (mean**2 + 1.0 / precision) / np.sqrt(precision) * (share / size**3)
        weight *= self._sides(mean, 1.0 / precision)
        return np.asarray(_log_of_weighted_sum(0.5 * mean * self.pull, weight) + self.odds)

    def two_wrong(self) -> Array:
        """Logarithm of odds and gain of every two gross errors (points, pairs), first of two slowest."""
        first, second = error_pairs(len(self.odds)).T
        own = np.diagonal(self.information, axis1=1, axis2=2)
        g12, b1, b2 = self.information[:, first, second], self.pull[:, first], self.pull[:, second]
        one, other = np.array(list(product(SIZES, repeat=2))).T[..., None, None]
        share = np.array(list(product(SIZES.values(), repeat=2))).prod(axis=1)[:, None, None]
        # With K = diag(one^2, other^2): det(K^-1 + G), and the mean and covariance of the two sizes.
        m11, m22 = own[:, first] + one**-2, own[:, second] + other**-2
        determinant = m11 * m22 - g12**2
        inverse = 1.0 / determinant
        v1, v2, between = m22 * inverse, m11 * inverse, -g12 * inverse
        mean1, mean2 = v1 * b1 + between * b2, v2 * b2 + between * b1
        # The mean of the product of two squares of jointly normal numbers.
        both = mean1 * mean2
        weight = (mean1**2 + v1) * (mean2**2 + v2) + between * (4.0 * both + 2.0 * between)
        weight *= np.sqrt(inverse) * (share / (one * other) ** 3)
        weight *= self._sides(mean1, v1, first)
        weight *= self._sides(mean2, v2, second)
        gain = _log_of_weighted_sum(0.5 * (mean1 * b1 + mean2 * b2), weight)
        return np.asarray(gain + self.odds[first] + self.odds[second])

    def _sides(self, mean: Array, variance: Array, which: IndexArray | None = None) -> Array:
        """How much the side that a kind of error prefers, and what the air allows, count [-].

        mean, variance: of the size, its density before the square is counted, shape (…, errors) [-];
        which: the errors that they are of. Most kinds prefer no side and have no ends.
        """
        which = np.arange(len(self.odds)) if which is None else which
        positive, ends = self.positive[which], self.ends[which]
        factor = np.ones_like(mean)
        sided = np.flatnonzero((positive != 0.5) | np.isfinite(ends).any(axis=1))
        middle, wide, side = mean[..., sided], np.sqrt(variance[..., sided]), positive[sided]
        negative = _share_of_square(np.zeros(sided.size), middle, wide)
        until_low, until_high = np.zeros_like(middle), np.ones_like(middle)
        for until, end in (
            (until_low, np.minimum(ends[sided, 0], 0.0)),
            (until_high, np.maximum(ends[sided, 1], 0.0)),
        ):
            ended = np.flatnonzero(np.isfinite(end))
            until[..., ended] = _share_of_square(end[ended], middle[..., ended], wide[..., ended])
        share = side * (until_high - negative) + (1.0 - side) * (negative - until_low)
        factor[..., sided] = 2.0 * np.clip(share, LEAST_SHARE, 1.0)
        return factor


def _forward(factor: Array, columns: Array) -> Array:
    """Inverse of lower triangular matrices (points, n, n) times columns (points, n, m), row after row."""
    found = np.empty_like(columns)
    for row in range(factor.shape[1]):
        known = (factor[:, row, None, :row] @ found[:, :row])[:, 0]
        found[:, row] = (columns[:, row] - known) / factor[:, row, row, None]
    return found


def _share_of_square(end: Array, mean: Array, wide: Array) -> Array:
    """Share of a normal density times the square of its number that lies below some end."""
    score = (end - mean) / wide
    density = np.exp(-0.5 * score**2) / np.sqrt(2.0 * np.pi)
    return np.asarray(ndtr(score) - wide * density * (mean + end) / (mean**2 + wide**2))


def _log_of_weighted_sum(logs: Array, weights: Array) -> Array:
    """Logarithm of a sum over the first axis of numbers by their logarithms, times positive weights."""
    largest = logs.max(axis=0)
    return np.asarray(largest + np.log((weights * np.exp(logs - largest)).sum(axis=0)))


def log_of_sum(logs: Array, axis: int) -> Array:
    """Logarithm of a sum of numbers that are given by their logarithms.

    Parameters
    ----------
    logs : ndarray
        Finite, any shape.
    axis : int
        Over which they are added up.

    Returns
    -------
    ndarray
        Of the shape without that axis.
    """
    largest = logs.max(axis=axis, keepdims=True)
    return np.asarray(largest.squeeze(axis) + np.log(np.exp(logs - largest).sum(axis=axis)))


def error_pairs(count: int) -> IndexArray:
    """Every two of some gross errors.

    Parameters
    ----------
    count : int
        How many errors there are.

    Returns
    -------
    ndarray of int, shape (pairs, 2)
        Places of the two, in the order of `Weighed.two_wrong`.
    """
    return np.array(list(combinations(range(count), 2)), dtype=np.intp).reshape(-1, 2)


def reading_covariance(place: Scene, slopes: Array, own: Array, meter: Array) -> Array:
    """Covariance of rows: through the latent numbers, the rows' own and the meters'.

    Parameters
    ----------
    place : Scene
        Its prior covariance of the latent numbers is taken.
    slopes : ndarray, shape (…, rows, latents)
        Of each row by each latent number, in their units [SI].
    own, meter : ndarray, shape (…, rows) and (rows,)
        Standard deviations, in the units of the rows [SI].

    Returns
    -------
    ndarray, shape (…, rows, rows)
        Product of the units of two rows.
    """
    # One product of two matrices is quicker than one for each of many small ones.
    moved = (slopes.reshape(-1, slopes.shape[-1]) @ place.prior_covariance).reshape(slopes.shape)
    covariance = moved @ np.swapaxes(slopes, -1, -2)
    places = np.arange(slopes.shape[-2])
    covariance[..., places, places] += own**2 + meter**2
    return np.asarray(covariance)
