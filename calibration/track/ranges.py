"""Level and growth rate with 90 % ranges, summed over rates, bounds of the level and explanations.

The normal answer of `calibration.track.smoother` is for a rate with a normal prior. Here that is replaced by
the published span in part and an even one in the rest; the level, linear in the rate, follows. A level below
zero or above `MOST_LEVEL` has no probability. Where a change is possible but not claimed, the answers with
and without it are weighed by their probabilities.

References
----------
Hoeting, J. A. et al., Bayesian model averaging: a tutorial, Statistical Science 14(4), 1999 (from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from calibration.track.smoother import WIDE_RATE, Smoothed
from model.arrays import Array
from model.maintenance.growth import CONDENSER_RATE_HIGH, CONDENSER_RATE_LOW, NORMAL_95

MOST_LEVEL = 0.95
"""Largest blocked share of a face [-]."""
RATES: Array = np.geomspace(0.002, 3.0, 600)
"""Rates over which the sums go [1/a]."""
PUBLISHED_SHARE = 0.5
"""Share of units whose rate lies in the published span [-]; that of the others is even in its logarithm over
`RATES`: coils beside trees, kitchens or dusty roads foul several times faster than any published mean.
Judgement, no source."""
HALVINGS = 24
"""Halvings of the interval in which a level's bound lies [-]: to 1e-7."""
SHARES = (0.5, 0.05, 0.95)


@dataclass(frozen=True)
class Ranges:
    """Medians and 90 % ranges of the level (n,) [-] and of the growth rate [1/a]."""

    level: Array
    low: Array
    high: Array
    rate: float
    rate_low: float
    rate_high: float


def ranges(answers: Sequence[Smoothed], shares: Sequence[float]) -> Ranges:
    """Level and rate over several explanations.

    Parameters
    ----------
    answers : sequence of Smoothed
        Of the same days.
    shares : sequence of float
        Probability of each [-], together 1.

    Returns
    -------
    Ranges
    """
    weights = [_rate_weights(one) for one in answers]
    held = np.cumsum(sum(share * one for share, one in zip(shares, weights, strict=True)))
    rates = [float(np.interp(share, held, RATES)) for share in SHARES]
    centres, spreads = zip(
        *(_level(one, own) for one, own in zip(answers, weights, strict=True)), strict=True
    )
    levels = _bounds(np.stack(centres), np.stack(spreads), np.asarray(shares)[:, None])
    return Ranges(levels[0], levels[1], levels[2], rates[0], rates[1], rates[2])


def _rate_weights(answer: Smoothed) -> Array:
    """Probability of each of `RATES`."""
    rate, own = answer.rate, answer.rate_variance
    middle = 0.5 * np.log(CONDENSER_RATE_LOW * CONDENSER_RATE_HIGH)
    spread = 0.5 * np.log(CONDENSER_RATE_HIGH / CONDENSER_RATE_LOW) / NORMAL_95
    published = np.exp(-0.5 * ((np.log(RATES) - middle) / spread) ** 2)  # the grid is geometric
    logs = np.log(PUBLISHED_SHARE * published / published.sum() + (1.0 - PUBLISHED_SHARE) / len(RATES))
    logs += -0.5 * (RATES - rate) ** 2 / own + 0.5 * ((RATES - WIDE_RATE[0]) / WIDE_RATE[1]) ** 2
    weights = np.exp(logs - logs.max())
    return np.asarray(weights / weights.sum())


def _level(answer: Smoothed, weights: Array) -> tuple[Array, Array]:
    """Mean and standard deviation of the level (n,) under the weights of the rate."""
    mean = float(weights @ RATES)
    spread = float(weights @ (RATES - mean) ** 2)
    by_rate = answer.with_rate / answer.rate_variance
    centre = answer.middle + by_rate * (mean - answer.rate)
    wide = answer.variance + by_rate**2 * (spread - answer.rate_variance)
    return centre, np.sqrt(np.maximum(wide, 1e-8))


def _bounds(centre: Array, wide: Array, shares: Array) -> list[Array]:
    """Quantiles `SHARES` of mixed normals (explanations, n) between 0 and `MOST_LEVEL`."""
    bottom = ndtr(-centre / wide)
    part = np.maximum(ndtr((MOST_LEVEL - centre) / wide) - bottom, 1e-12)
    found = []
    for share in SHARES:
        low, high = np.zeros(centre.shape[1]), np.full(centre.shape[1], MOST_LEVEL)
        for _ in range(HALVINGS):
            middle = 0.5 * (low + high)
            held = np.sum(shares * (ndtr((middle - centre) / wide) - bottom) / part, axis=0)
            low, high = np.where(held < share, middle, low), np.where(held < share, high, middle)
        found.append(0.5 * (low + high))
    return found
