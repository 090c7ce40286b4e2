"""Density of a visit's readings under one explanation, and its gain with readings grossly wrong.

A gross error widens V by k^2 d d', a matrix of rank one. With b = d' V^-1 r and g = d' V^-1 d for the
residuals r, the determinant lemma and the formula of Sherman and Morrison give the gain in the logarithm of
the density as (k^2 b^2 / (1 + k^2 g) - ln(1 + k^2 g)) / 2, and the error that the other readings support as b
/ g: one factor of V serves every reading, and every two of them with 2 by 2 matrices in the place of g.

References
----------
Golub and Van Loan, Matrix Computations, 4th ed. 2013, sec. 2.1.4 (Sherman-Morrison-Woodbury; from memory).
"""

from __future__ import annotations

from itertools import combinations

import numpy as np
from scipy.special import ndtr

from calibration.diagnosis.gross_errors import SIZES, GrossErrors
from calibration.diagnosis.visit_model import Scene
from model.arrays import Array, IndexArray

LOOSE_SCALES = (3.0, 8.0)
"""Errors of "none of these" over those that meters and model claim [-], each as likely as the other."""


class Likelihood:
    """Densities of the readings at some levels, from one factor of their covariance."""

    def __init__(self, place: Scene, errors: GrossErrors, expected: Array, slopes: Array, own: Array) -> None:
        taken = place.readings
        covariance = reading_covariance(place, slopes[:, taken], own[:, taken], place.meter[taken])
        off = place.values[taken] - expected[:, taken]
        moved = errors.directions(taken, slopes[:, taken])
        factor = np.linalg.cholesky(covariance)
        both = np.linalg.solve(factor, np.concatenate([off[..., None], moved], axis=2))
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
        self.positive = errors.positive

    def loose(self) -> Array:
        """Logarithm of the density with all errors several times as large (points,)."""
        wide = np.array(LOOSE_SCALES)[:, None]
        logs = -0.5 * self.square / wide**2 - self.width - self.count * np.log(wide)
        return np.asarray(np.logaddexp.reduce(logs, axis=0) - np.log(len(LOOSE_SCALES)))

    def one_wrong(self) -> Array:
        """Logarithm of odds and gain of each gross error (points, errors)."""
        own = np.diagonal(self.information, axis1=1, axis2=2)
        gains = []
        for size in SIZES:
            wide = size**2
            gain = 0.5 * (wide * self.pull**2 / (1.0 + wide * own) - np.log1p(wide * own))
            score = size * self.pull / np.sqrt(1.0 + wide * own)
            gains.append(gain + _sign_factor(score, self.positive))
        return np.asarray(np.logaddexp.reduce(np.stack(gains), axis=0) - np.log(len(SIZES)) + self.odds)

    def two_wrong(self) -> Array:
        """Logarithm of odds and gain of every two gross errors (points, pairs), first of two slowest."""
        pairs = error_pairs(len(self.odds))
        first, second = pairs[:, 0], pairs[:, 1]
        own = np.diagonal(self.information, axis1=1, axis2=2)
        g11, g22, g12 = own[:, first], own[:, second], self.information[:, first, second]
        b1, b2 = self.pull[:, first], self.pull[:, second]
        gains = []
        for one in SIZES:
            for other in SIZES:
                # ln det(1 + K G) and b' (K^-1 + G)^-1 b for K = diag(one^2, other^2).
                m11, m22 = g11 + one**-2, g22 + other**-2
                determinant = m11 * m22 - g12**2
                sizes = (m22 * b1 - g12 * b2) / determinant, (m11 * b2 - g12 * b1) / determinant
                gain = 0.5 * (sizes[0] * b1 + sizes[1] * b2 - np.log(determinant * (one * other) ** 2))
                gain += _sign_factor(sizes[0] * np.sqrt(determinant / m22), self.positive[first])
                gain += _sign_factor(sizes[1] * np.sqrt(determinant / m11), self.positive[second])
                gains.append(gain)
        logs = np.logaddexp.reduce(np.stack(gains), axis=0) - 2.0 * np.log(len(SIZES))
        return np.asarray(logs + self.odds[first] + self.odds[second])


def _sign_factor(score: Array, positive: Array) -> Array:
    """Logarithm of how much more probable an error is for the side that its kind prefers.

    score: supported size over its standard deviation, shape (points, errors) [-]; positive: probability of
    the positive side, shape (errors,) [-]. Most kinds prefer none.
    """
    factor = np.zeros_like(score)
    sided = np.flatnonzero(positive != 0.5)
    above, side = ndtr(score[..., sided]), positive[sided]
    factor[..., sided] = np.log(2.0 * (side * above + (1.0 - side) * (1.0 - above)))
    return factor


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
    covariance = slopes @ place.prior_covariance @ np.swapaxes(slopes, -1, -2)
    places = np.arange(slopes.shape[-2])
    covariance[..., places, places] += own**2 + meter**2
    return np.asarray(covariance)
