"""Draws of many independent quantities at once, spread evenly over all that they can be together.

A digital net in base two: Sobol's sequence, scrambled by a random linear map of the digits and a random
shift. Taken by itself every quantity runs through as many equal parts of its distribution as there are draws;
the first quantities, those that matter most, are spread evenly in pairs and triples too. The first half,
quarter or eighth of the draws is a net again.

References
----------
Sobol, I. M., On the distribution of points in a cube and the approximate evaluation of integrals, USSR
Computational Mathematics and Mathematical Physics 7, 1967. Joe, S. and Kuo, F. Y., Constructing Sobol
sequences with better two-dimensional projections, SIAM Journal on Scientific Computing 30(5), 2008, for the
polynomials and first direction numbers. Matousek, J., On the L2-discrepancy for anchored boxes, Journal of
Complexity 14, 1998, for the scrambling. All from memory; a test holds the numbers against another
implementation.
"""

from __future__ import annotations

import numpy as np
from scipy.special import ndtri

from model.arrays import Array

DIGITS = 24
"""Binary digits of a coordinate."""
_DIRECTIONS: tuple[tuple[int, tuple[int, ...]], ...] = (
    (0, (1,)),
    (1, (1, 3)),
    (1, (1, 3, 1)),
    (2, (1, 1, 1)),
    (1, (1, 1, 3, 3)),
    (4, (1, 3, 5, 13)),
    (2, (1, 1, 5, 5, 17)),
    (4, (1, 1, 5, 5, 5)),
    (7, (1, 1, 7, 11, 19)),
    (11, (1, 1, 5, 1, 1)),
    (13, (1, 1, 1, 3, 11)),
    (14, (1, 3, 5, 5, 31)),
    (1, (1, 3, 3, 9, 7, 49)),
    (13, (1, 1, 1, 15, 21, 21)),
    (16, (1, 3, 1, 13, 27, 49)),
    (19, (1, 1, 1, 15, 7, 5)),
    (22, (1, 3, 1, 15, 13, 25)),
    (25, (1, 1, 5, 5, 19, 61)),
    (1, (1, 3, 7, 11, 23, 15, 103)),
    (4, (1, 3, 7, 13, 13, 15, 69)),
)
"""Inner coefficients of each primitive polynomial and its first direction numbers, from the second quantity
on (Joe and Kuo 2008)."""
NET = len(_DIRECTIONS) + 1
"""Quantities that are spread evenly together; further ones each by itself."""


def evenly_spread(quantities: int, count: int, state: int) -> Array:
    """Probabilities of many independent quantities, evenly spread together.

    Parameters
    ----------
    quantities : int
        How many, those that matter most first.
    count : int
        How many draws of each, 2 or more.
    state : int
        Decides the scrambling; the same state gives the same draws.

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
    rows = []
    for quantity in range(quantities):
        # A state for each: further quantities leave the draws of the first ones as they are.
        draw = np.random.default_rng([state, quantity])
        order = _scrambled(quantity, count, draw) if quantity < NET else draw.random(count)
        rows.append((np.argsort(np.argsort(order)) + draw.random(count)) / count)
    return np.array(rows).clip(1e-9, 1.0 - 1e-9)


def _scrambled(quantity: int, count: int, draw: np.random.Generator) -> Array:
    """One coordinate of the net, its digits mixed from the first to the last, and shifted."""
    digits = sobol_digits(quantity, count)
    mixed = np.tril(draw.integers(0, 2, (DIGITS, DIGITS)), -1) + np.eye(DIGITS, dtype=np.int64)
    scrambled = (mixed @ digits + draw.integers(0, 2, (DIGITS, 1))) % 2
    return np.asarray(0.5 ** np.arange(1, DIGITS + 1) @ scrambled)


def sobol_digits(quantity: int, count: int) -> Array:
    """Binary digits of one coordinate of the first points of Sobol's sequence.

    Parameters
    ----------
    quantity : int
        Which coordinate, from 0, below `NET`.
    count : int
        How many points.

    Returns
    -------
    ndarray of int, shape (`DIGITS`, count)
        The first digit counts a half.
    """
    point = np.arange(count)
    bits = np.array([(point >> place) & 1 for place in range(DIGITS)])
    if quantity == 0:
        return bits
    coefficients, first = _DIRECTIONS[quantity - 1]
    degree, numbers = len(first), list(first)
    for place in range(degree, DIGITS):
        number = numbers[place - degree] ^ (numbers[place - degree] << degree)
        for back in range(1, degree):
            if (coefficients >> (degree - 1 - back)) & 1:
                number ^= numbers[place - back] << back
        numbers.append(number)
    # Direction number m of place k (from 1) is the fraction m / 2**k.
    columns = np.array(
        [
            [(m >> (place - row)) & 1 if row <= place else 0 for place, m in enumerate(numbers)]
            for row in range(DIGITS)
        ]
    )
    return np.asarray((columns @ bits) % 2)


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
