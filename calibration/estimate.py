"""A number that is not known exactly: its value and 90 % range, the form in which all inference returns it.

Ranges come from a standard error, errors taken as normal, or from draws. The value of draws is their median,
or their mean where they have weights: the median of explanations that differ may be what none of them says.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ndtri

from model.arrays import Array
from model.maintenance.growth import NORMAL_95

ENDS = (0.05, 0.95)
"""Probability below each end of a range [-]."""
MANY, ABOUT_AN_END = 64, 0.5
"""So many draws are smoothed about the ends of their range; how far about an end, in normal scores [-]."""


@dataclass(frozen=True)
class Estimate:
    """A value and the two ends of its 90 % range, in one unit."""

    value: float
    low: float
    high: float

    @property
    def ends(self) -> tuple[float, float]:
        """Both ends of the range."""
        return self.low, self.high

    @property
    def standard_error(self) -> float:
        """Standard deviation of the normal error whose 90 % range is as wide."""
        return (self.high - self.low) / (2.0 * NORMAL_95)

    @property
    def excludes_zero(self) -> bool:
        """Whether zero lies outside the range."""
        return self.low > 0.0 or self.high < 0.0

    def times(self, factor: float) -> Estimate:
        """The same in another unit, or as a change instead of a loss.

        Parameters
        ----------
        factor : float
            New unit over old; a negative one turns the range round.

        Returns
        -------
        Estimate
            In the new unit.
        """
        low, high = sorted((self.low * factor, self.high * factor))
        return Estimate(self.value * factor, low, high)


def with_error(value: float, standard_error: float) -> Estimate:
    """Value with a normal error.

    Parameters
    ----------
    value, standard_error : float
        In one unit; an error of NaN, where none is known, gives ends of NaN.

    Returns
    -------
    Estimate
        In the same unit.
    """
    reach = NORMAL_95 * standard_error
    return Estimate(value, value - reach, value + reach)


def of_draws(draws: ArrayLike) -> Estimate:
    """Median and 90 % range of equally likely draws; one draw has no width.

    Parameters
    ----------
    draws : array_like, any shape
        In any unit; may be infinite (a unit that never trips).

    Returns
    -------
    Estimate
        In the same unit.
    """
    values = np.asarray(draws, dtype=float)
    # Between two infinite draws there is nothing to interpolate.
    method: Literal["linear", "inverted_cdf"] = "linear" if np.all(np.isfinite(values)) else "inverted_cdf"
    low, middle, high = (float(v) for v in np.quantile(values, [ENDS[0], 0.5, ENDS[1]], method=method))
    return Estimate(middle, low, high)


def of_many_draws(draws: ArrayLike) -> Estimate:
    """Median and 90 % range of draws, its ends smoothed so that they move less with the draws.

    The logarithm of the draws about an end lies near a straight line over their normal scores, and the end is
    read off that line: more draws have a say in it than the two on either side. Where one of them is not
    above zero, and of fewer draws than `MANY`, it is as in `of_draws`.

    Parameters
    ----------
    draws : array_like, shape (n,)
        In any unit.

    Returns
    -------
    Estimate
        In the same unit.
    """
    values = np.sort(np.ravel(np.asarray(draws, dtype=float)))
    plain = of_draws(values)
    if values.size < MANY or not np.all(np.isfinite(values)):
        return plain
    scores = ndtri((np.arange(values.size) + 0.5) / values.size)
    low, high = (
        _smoothed(values, scores, float(score), end)
        for score, end in zip(ndtri(ENDS), plain.ends, strict=True)
    )
    return Estimate(plain.value, min(low, plain.value), max(high, plain.value))


def _smoothed(values: Array, scores: Array, score: float, plain: float) -> float:
    """Value at a normal score on a straight line of logarithms about it; where there is none, as it is."""
    near = np.abs(scores - score) < ABOUT_AN_END
    if values[near].min() <= 0.0:
        return plain
    away = (scores[near] - score) / ABOUT_AN_END
    line = np.stack([np.ones(away.size), away])
    weighted = line * (1.0 - away**2)
    found = np.linalg.solve(weighted @ line.T, weighted @ np.log(values[near]))
    return float(np.exp(found[0]))


def of_weighted(draws: Array, weights: Array) -> Estimate:
    """Mean and 90 % range of draws that do not all weigh the same.

    Parameters
    ----------
    draws, weights : ndarray, shape (n,)
        Draws in any unit, and their weights [-], not all 0.

    Returns
    -------
    Estimate
        In the unit of the draws; the mean lies inside its range.
    """
    order = np.argsort(draws)
    held = np.cumsum(weights[order])
    ends = np.searchsorted(held, np.array(ENDS) * held[-1])
    low, high = (float(draws[order[min(end, len(order) - 1)]]) for end in ends)
    mean = float(np.average(draws, weights=weights))
    return Estimate(mean, min(low, mean), max(high, mean))
