"""Draws of many independent quantities at once, spread evenly over all that they can be together.

A shifted rank-1 lattice: point i of n has the coordinates frac(i z_j / n + shift_j). Every quantity taken by
itself runs through n equal parts of its distribution, and the generating numbers z_j are chosen one after
another so that the first quantities, those that matter most, are spread evenly in pairs and triples too.
Every second, third or fourth point is a lattice again.

References
----------
Sloan, I. H. and Reztsov, A. V., Component-by-component construction of good lattice rules, Mathematics of
Computation 71, 2002 (from memory). Cranley, R. and Patterson, T. N. L., Randomization of number theoretic
methods for multiple integration, SIAM Journal on Numerical Analysis 13, 1976, for the shift (from memory).
"""

from __future__ import annotations

from functools import lru_cache
from math import gcd

import numpy as np
from scipy.special import ndtri

from model.arrays import Array

MOST_CANDIDATES = 128
"""Generating numbers tried for each quantity [-]."""
WEIGHT = 0.8
"""Weight of each quantity over that of the one before it [-]; a choice."""


def evenly_spread(quantities: int, count: int, state: int) -> Array:
    """Probabilities of many independent quantities, evenly spread together.

    Parameters
    ----------
    quantities : int
        How many, those that matter most first.
    count : int
        How many draws of each, 2 or more.
    state : int
        Decides the shift; the same state gives the same draws.

    Returns
    -------
    ndarray, shape (quantities, count)
        Between 0 and 1, both left out.

    Raises
    ------
    ValueError
        Where `count` is below 2.
    """
    if count < 2:
        raise ValueError(f"count must be 2 or more, got {count}")
    shift = np.random.default_rng(state).random((quantities, 1))
    place = np.arange(count) * np.array(_generators(quantities, count))[:, None] % count
    return np.asarray((place / count + shift) % 1.0).clip(1e-9, 1.0 - 1e-9)


def normal_scores(probability: Array) -> Array:
    """Standard normal numbers of given probability.

    Parameters
    ----------
    probability : ndarray
        Between 0 and 1.

    Returns
    -------
    ndarray
        Scores [-], of the same shape.
    """
    return np.asarray(ndtri(probability))


@lru_cache(maxsize=16)
def _generators(quantities: int, count: int) -> tuple[int, ...]:
    """Generating numbers, each the best in company with those before it by the weighted P2 criterion."""
    prime = [z for z in range(1, count) if gcd(z, count) == 1]
    tried = np.array(prime)[np.unique(np.linspace(0, len(prime) - 1, MOST_CANDIDATES).astype(np.int64))]
    point = np.arange(count)
    apart = point / count
    kernel = 2.0 * np.pi**2 * (apart * (apart - 1.0) + 1.0 / 6.0)
    product, chosen = np.ones(count), []
    for quantity in range(quantities):
        table = kernel[tried[:, None] * point % count]
        best = int(np.argmin(table @ product)) if quantity else 0
        product = product * (1.0 + WEIGHT**quantity * table[best])
        chosen.append(int(tried[best]))
    return tuple(chosen)
