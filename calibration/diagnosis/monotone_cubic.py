"""Curves through given values that rise and fall only where the values do.

Piecewise cubics whose slope at an inner node is the weighted harmonic mean of the two secants beside it, and
none where these differ in sign. SciPy has the same curve; its import takes longer than all else that needs it
here.

References
----------
Fritsch and Butland, A method for constructing local monotone piecewise cubic interpolants, SIAM Journal on
Scientific and Statistical Computing 5, 1984. Ends: Moler, Numerical computing with MATLAB, 2004, ch. 3.6
(three-point formula, kept from overshooting). Both from memory; tested against SciPy.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


def monotone_cubic(nodes: ArrayLike, values: Array, points: Array) -> Array:
    """Values between nodes, along the first axis.

    Parameters
    ----------
    nodes : array_like (n,)
        Rising, at least 3.
    values : ndarray (n, ...)
        At the nodes.
    points : ndarray (m,)
        Where values are wanted; beyond the ends the end cells' cubics go on.

    Returns
    -------
    ndarray (m, ...)
        In the unit of `values`.

    Raises
    ------
    ValueError
        Where there are fewer than 3 nodes.
    """
    x = np.asarray(nodes, dtype=float)
    if x.size < 3:
        raise ValueError(f"nodes must be at least 3, got {x.size}")
    along = (-1,) + (1,) * (values.ndim - 1)
    widths = np.diff(x).reshape(along)
    secants = np.diff(values, axis=0) / widths
    slopes = _slopes(widths, secants)
    cell = np.clip(np.searchsorted(x, points, side="right") - 1, 0, x.size - 2)
    step, width = (points - x[cell]).reshape(along), widths[cell]
    first, last, secant = slopes[cell], slopes[cell + 1], secants[cell]
    bend = (3.0 * secant - 2.0 * first - last) / width
    turn = (first + last - 2.0 * secant) / (width * width)
    return np.asarray(values[cell] + step * (first + step * (bend + step * turn)))


def _slopes(widths: Array, secants: Array) -> Array:
    """Slope of the curve at every node, shape (n, ...)."""
    slopes = np.zeros((len(secants) + 1, *secants.shape[1:]))
    before, after = secants[:-1], secants[1:]
    alike = before * after > 0.0
    early, late = 2.0 * widths[1:] + widths[:-1], widths[1:] + 2.0 * widths[:-1]
    one = np.ones(())
    inverse = early / np.where(alike, before, one) + late / np.where(alike, after, one)
    slopes[1:-1] = np.where(alike, (early + late) / inverse, 0.0)
    slopes[0] = _end_slope(widths[0], widths[1], secants[0], secants[1])
    slopes[-1] = _end_slope(widths[-1], widths[-2], secants[-1], secants[-2])
    return slopes


def _end_slope(own: Array, next_one: Array, secant: Array, next_secant: Array) -> Array:
    """Slope at an end: of the parabola through three nodes, neither against nor too far beyond the secant."""
    slope = ((2.0 * own + next_one) * secant - own * next_secant) / (own + next_one)
    slope = np.where(slope * secant > 0.0, slope, 0.0)
    beyond = (secant * next_secant <= 0.0) & (np.abs(slope) > 3.0 * np.abs(secant))
    return np.where(beyond, 3.0 * secant, slope)
