"""Systems of four equations for many points at once: damped Newton steps with Broyden updates between Jacobians.

A Jacobian costs one call with all its columns stacked, so that one point costs hardly more than ten. Between Jacobians
the inverse is corrected by Broyden's rank-one update, which needs no further calls. Points that have converged leave the
array.

References
----------
Broyden, A class of methods for solving nonlinear simultaneous equations, Mathematics of Computation 19, 1965 (from
memory).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
System = Callable[[Array, NDArray[np.intp]], Array]
"""Residuals (4, …, m) of unknowns (4, …, m) for the points with these m indices."""

DIFFERENCE_STEP = 1e-6
"""Step of the forward differences [-]: all unknowns are logarithms or of order one."""
PATIENCE = 0.4
"""A point whose residual does not fall to this share in a step gets a new Jacobian [-]."""


class Solution(NamedTuple):
    """Unknowns (4, n), largest residual (n,), whether it is under the tolerance (n,), steps taken (n,)."""

    unknowns: Array
    residual: Array
    converged: NDArray[np.bool_]
    steps: NDArray[np.int64]


def solve(system: System, start: Array, largest_step: Array, tolerance: float = 1e-9, most_steps: int = 40) -> Solution:
    """Roots of a system of four equations for n points.

    Parameters
    ----------
    system : callable
        Residuals of unknowns for points with given indices.
    start : array (4, n)
        Where to begin.
    largest_step : array (4,)
        Largest change of each unknown in a step; longer steps are shortened as a whole.
    tolerance : float
        On the largest absolute residual [-].
    most_steps : int
        Points that need more are returned as not converged, at their best unknowns.

    Returns
    -------
    Solution
    """
    count = start.shape[1]
    best, best_norm = start.copy(), np.full(count, np.inf)
    steps = np.full(count, most_steps, dtype=np.int64)
    active = np.arange(count)
    x = start.copy()
    f = system(x, active)
    norm = _norm(f)
    inverse = _inverse_jacobian(system, x, f, active)
    for step in range(most_steps):
        better = norm < best_norm[active]
        best[:, active[better]], best_norm[active[better]] = x[:, better], norm[better]
        going = norm > tolerance
        steps[active[~going]] = step
        if not np.any(going):
            break
        if not np.all(going):
            active, x, f, norm, inverse = active[going], x[:, going], f[:, going], norm[going], inverse[going]
        x, f, norm, inverse = _advance(system, x, f, norm, inverse, active, largest_step)
    return Solution(best, best_norm, best_norm <= tolerance, steps)


def _norm(f: Array) -> Array:
    size = np.max(np.abs(f), axis=0)
    return np.where(np.isfinite(size), size, np.inf)


def _advance(
    system: System, x: Array, f: Array, norm: Array, inverse: Array, active: NDArray[np.intp], largest_step: Array
) -> tuple[Array, Array, Array, Array]:
    move = -np.einsum("nij,jn->in", inverse, f)
    move /= np.maximum(np.max(np.abs(move) / largest_step[:, None], axis=0), 1.0)
    trial = x + move
    g = system(trial, active)
    size = _norm(g)
    change = g - f
    back = np.einsum("nij,jn->in", inverse, change)
    weight = np.einsum("in,nij->jn", move, inverse)
    scale = np.sum(move * back, axis=0)
    usable = np.abs(scale) > 1e-30
    correction = np.where(usable, (move - back) / np.where(usable, scale, 1.0), 0.0)
    inverse = inverse + np.einsum("in,jn->nij", correction, weight)
    stalled = ~(size < PATIENCE * norm) & (size > 0)
    worse = ~(size < 1.5 * norm)
    # A step that made things clearly worse is taken back to a third of its length.
    trial[:, worse] = x[:, worse] + move[:, worse] / 3.0
    if np.any(stalled):
        points = np.flatnonzero(stalled)
        chosen = active[points]
        at = trial[:, points]
        value = np.where(worse[points], system(at, chosen), g[:, points]) if np.any(worse) else g[:, points]
        g[:, points], size[points] = value, _norm(value)
        inverse[points] = _inverse_jacobian(system, at, value, chosen)
    return trial, g, size, inverse


def _inverse_jacobian(system: System, x: Array, f: Array, active: NDArray[np.intp]) -> Array:
    shifted = x[:, None, :] + DIFFERENCE_STEP * np.eye(4)[:, :, None]
    columns = (system(shifted, active) - f[:, None, :]) / DIFFERENCE_STEP
    jacobian = np.moveaxis(columns, -1, 0)
    jacobian = np.where(np.isfinite(jacobian), jacobian, 0.0)
    # A tenth of a billionth on the diagonal keeps a singular trial point from stopping all the others.
    return np.linalg.inv(jacobian + 1e-10 * np.eye(4))
